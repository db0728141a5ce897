"""One figure at two benches: how far it moved, how surely, and whether that matters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import hypot, log
from typing import Final

from benchrig.keeping.allowances import SURE, Allowance, allowance_of
from benchrig.keeping.figures import Figure, Kind

EXACT: Final[frozenset[Kind]] = frozenset({"sample rate"})
"""What is counted, and needs no uncertainty of its own."""


class Weight(StrEnum):
    """What a change from the first bench to the second means."""

    NONE = "not moved"
    INSIDE = "moved inside the limits"
    MATTERS = "matters"
    OPEN = "cannot be compared"
    UNTOLD = "told by neither"
    CONTEXT = "for context"


@dataclass(frozen=True, slots=True)
class Moved:
    """One figure at both benches.

    Attributes
    ----------
    first, second : Figure
    change : float or None
        Second minus first, in the unit of the figure; second over first where the allowance is a ratio.
    uncertainty : float or None
        One standard deviation of `change`, of both benches together.
    allowed : Allowance or None
    limit : float or None
        What `change` may be, in its own unit.
    is_coarse : bool
        Whether a change of the limit's size could hide in the uncertainty.
    reason : str
        Why it cannot be compared; empty where it can.
    """

    first: Figure
    second: Figure
    weight: Weight
    change: float | None = None
    uncertainty: float | None = None
    allowed: Allowance | None = None
    limit: float | None = None
    is_coarse: bool = False
    reason: str = ""


def moved_figures(
    first: Sequence[Figure],
    second: Sequence[Figure],
    *,
    tolerance_mm: float | None = None,
    barred: Mapping[Kind, str] | None = None,
) -> tuple[Moved, ...]:
    """Hold every figure of the second bench against the first.

    Parameters
    ----------
    first, second : sequence of Figure
    tolerance_mm : float, optional
        Declared for the unit's place.
    barred : mapping of kind to str, optional
        Kinds that cannot be compared, each with the reason.

    Returns
    -------
    tuple of Moved
        In the order of the first bench; what only the second has, last.
    """
    there = {figure.name: figure for figure in second}
    here = {figure.name: figure for figure in first}
    pairs = [(figure, there.get(figure.name, _untold(figure))) for figure in first]
    pairs += [(_untold(figure), figure) for figure in second if figure.name not in here]
    sizes = _sizes([*first, *second])
    return tuple(
        _moved(one, two, allowance_of(one.kind, tolerance_mm), sizes, (barred or {}).get(one.kind, ""))
        for one, two in pairs
    )


def _untold(figure: Figure) -> Figure:
    return Figure(figure.kind, figure.name, None, None, figure.unit, figure.of)


def _sizes(figures: Sequence[Figure]) -> dict[tuple[str, str], float]:
    """Give the largest size of each kind and actuator, which a share is taken of."""
    sizes: dict[tuple[str, str], float] = {}
    for figure in figures:
        key = (figure.kind, figure.of)
        sizes[key] = max(sizes.get(key, 0.0), abs(figure.value or 0.0))
    return sizes


def _moved(
    one: Figure, two: Figure, allowed: Allowance | None, sizes: Mapping[tuple[str, str], float], barred: str
) -> Moved:
    if one.value is None and two.value is None:
        return Moved(one, two, Weight.UNTOLD, allowed=allowed)
    if one.value is None or two.value is None:
        which = "first" if one.value is None else "second"
        # what only explains the others is not missed
        weight = Weight.CONTEXT if allowed is None else Weight.OPEN
        return Moved(one, two, weight, allowed=allowed, reason=f"the {which} bench could not tell it")
    if allowed is None:
        return Moved(one, two, Weight.CONTEXT, change=two.value - one.value)
    if reason := barred or _unsure(one, two):
        return Moved(one, two, Weight.OPEN, allowed=allowed, reason=reason)
    if allowed.measure == "ratio":
        return _by_ratio(one, two, allowed)
    unit = sizes[one.kind, one.of] if allowed.measure == "share" else 1.0
    limit, repeat = allowed.limit * unit, allowed.repeat * unit
    spread = _spread(one.uncertainty, two.uncertainty, repeat, replaces=allowed.replaces)
    change = two.value - one.value
    weight = _weight(abs(change), spread, limit)
    return Moved(one, two, weight, change, spread, allowed, limit, is_coarse=spread * SURE > limit)


def _unsure(one: Figure, two: Figure) -> str:
    if one.kind in EXACT or (one.uncertainty is not None and two.uncertainty is not None):
        return ""
    return f"the {'first' if one.uncertainty is None else 'second'} bench does not say how sure it is"


def _spread(one: float | None, two: float | None, repeat: float, *, replaces: bool) -> float:
    stated = (0.0, 0.0) if replaces else (one or 0.0, two or 0.0)
    return hypot(*stated, repeat, repeat)


def _by_ratio(one: Figure, two: Figure, allowed: Allowance) -> Moved:
    """Hold the larger over the smaller against the limit; noise that doubles counts as noise that halves."""
    before, after = one.value or 0.0, two.value or 0.0
    if before <= 0 or after <= 0:
        return Moved(one, two, Weight.OPEN, allowed=allowed, reason="a noise of nothing has no ratio")
    relative = hypot((one.uncertainty or 0.0) / before, (two.uncertainty or 0.0) / after, allowed.repeat)
    ratio, limit = after / before, log(allowed.limit)
    weight = _weight(abs(log(ratio)), relative, limit)
    coarse = relative * SURE > limit
    return Moved(one, two, weight, ratio, ratio * relative, allowed, allowed.limit, is_coarse=coarse)


def _weight(size: float, spread: float, limit: float) -> Weight:
    if size <= SURE * spread:
        return Weight.NONE
    return Weight.MATTERS if size > limit else Weight.INSIDE
