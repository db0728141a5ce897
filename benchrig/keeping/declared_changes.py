"""What two airframe files declare differently, key by key."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

_ABSENT: Final = object()
_DERIVED: Final = "effect"
"""Follows from the other keys of an actuator, unless ``drives = "other"`` leaves nothing else to declare it."""


@dataclass(frozen=True, slots=True)
class DeclaredChange:
    """One declared fact that differs; `before` and `after` are None where it was not declared.

    Attributes
    ----------
    key : tuple of str
        From the table down: ``("sensor", "axes", "x")``.
    """

    key: tuple[str, ...]
    before: Any
    after: Any

    @property
    def table(self) -> str:
        """The table it stands in."""
        return self.key[0]


def declared_changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[DeclaredChange, ...]:
    """Compare what two airframe files declare, as `declaration.content` gives it.

    A table, or an actuator, that only one of them declares is one change.

    Examples
    --------
    >>> declared_changes({"sensor": {"axes": {"x": "aft"}}}, {"sensor": {"axes": {"x": "forward"}}})
    (DeclaredChange(key=('sensor', 'axes', 'x'), before='aft', after='forward'),)
    """
    return tuple(_drop_derived(list(_changes((), before, after))))


def _changes(key: tuple[str, ...], before: Any, after: Any) -> Iterator[DeclaredChange]:  # noqa: ANN401 - JSON values
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        for name in dict.fromkeys((*before, *after)):
            yield from _changes((*key, name), before.get(name, _ABSENT), after.get(name, _ABSENT))
    elif before != after:
        yield DeclaredChange(key, *(None if value is _ABSENT else value for value in (before, after)))


def _drop_derived(changes: list[DeclaredChange]) -> Iterator[DeclaredChange]:
    """Leave out what follows: from another key of the same actuator, or from the sense of the main rotor."""
    told = {change.key[:2] for change in changes if _DERIVED not in change.key}
    rotor = any(change.table == "rotor" for change in changes)
    for change in changes:
        if _DERIVED not in change.key or not (rotor or change.key[:2] in told):
            yield change
