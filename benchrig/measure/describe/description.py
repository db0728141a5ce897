"""What an unknown stream was found to hold: a proposal, group by group, with how sure and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from benchrig.measure.describe.clock import FoundClock
from benchrig.measure.describe.unknown import Unknown

NEEDED = ("time", "gyro", "accelerometer")
"""The groups without which nothing can be checked."""


@dataclass(frozen=True, slots=True)
class Proposed:
    """A group of columns as the manifest would name it.

    Attributes
    ----------
    group : str
        ``time``, ``gyro``, ``accelerometer``, ``magnetometer``, ``unit_attitude`` or ``temperature``.
    names : tuple of str
        In the order of the axes.
    unit : str
        Its word; of raw counts, of what `count` of them make one.
    count : float or None
    is_sure : bool
    why : str
    lead : float or None
        Over the next choice of columns, as a log-likelihood; None where there is no such number.
    next_names : tuple of str
        That next choice; fewer than three where turning about an axis was left out; empty where there is none.
    surer : str
        What would make it surer; empty where it is sure.
    """

    group: str
    names: tuple[str, ...]
    unit: str
    count: float | None
    is_sure: bool
    why: str
    lead: float | None = None
    next_names: tuple[str, ...] = ()
    surer: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Description:
    """What a stream holds.

    Attributes
    ----------
    unknown : Unknown
    clock : FoundClock
    groups : tuple of Proposed
        Needed ones first; what was not found is not among them.
    agree : bool or None
        Whether gyro and accelerometer agree in order and signs; None where the stream does not show it.
    agreement : str
        The same in words.
    pulses : tuple of str
        Columns that look like servo pulses in µs.
    others : mapping of str to str
        Every other column, and what can be said of it.
    notes : tuple of str
        What `check` would need changed, and what was noted in reading.
    """

    unknown: Unknown
    clock: FoundClock
    groups: tuple[Proposed, ...]
    agree: bool | None
    agreement: str
    pulses: tuple[str, ...] = ()
    others: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    def group(self, name: str) -> Proposed | None:
        """Give a group, or None where it was not found."""
        return next((g for g in self.groups if g.group == name), None)

    @property
    def is_sure(self) -> bool:
        """Whether every group that is needed was found surely."""
        found = [self.group(name) for name in NEEDED]
        return all(group is not None and group.is_sure for group in found)
