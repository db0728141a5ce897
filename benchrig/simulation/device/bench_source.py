"""A simulated bench as a source of samples, in simulated time: nothing waits, and the same calls give the same rows."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from benchrig.capture.device.samples import Samples, Trouble
from benchrig.geometry.directions import Vector
from benchrig.simulation.live_bench import LiveBench

LINK_S = 0.004
"""From the unit to this computer."""


class BenchSource:
    """The rows of a `LiveBench`, at its own pace: a `take` that may wait for a second lets a second pass.

    Parameters
    ----------
    bench : LiveBench
    until : float, s
        How long it goes on after it was opened.

    Attributes
    ----------
    columns : tuple of str
        Of the bench; the unit's own time is one of them.
    now : float, s
        Since it was opened.
    """

    def __init__(self, bench: LiveBench, until: float = np.inf) -> None:
        self.bench, self._until = bench, until
        self.columns = bench.columns
        self.clock = "the unit's own time, simulated"
        self.notes: tuple[str, ...] = ()
        self._begun = bench.now
        self._first: float | None = None
        self._closed = False

    @property
    def opened(self) -> float:
        """Arrivals count from here, and the clock is its own."""
        return 0.0

    @property
    def now(self) -> float:
        """How much simulated time has passed since it was opened, s."""
        return self.bench.now - self._begun

    @property
    def ended(self) -> bool:
        """Whether its time is over, or it was closed."""
        return self._closed or self.now >= self._until

    def open(self) -> None:
        """Begin with the row that comes next."""
        self._begun = self.bench.now

    def take(self, timeout: float) -> tuple[Samples | Trouble, ...]:
        """Let `timeout` s of simulated time pass, and give their rows."""
        if self.ended:
            return ()
        rows = self.bench.rows(min(timeout, self._until - self.now))
        if not len(rows):
            return ()
        stamped = rows[:, 0] * 1e-6
        if self._first is None:
            self._first = float(stamped[0])
        # what the unit's clock shows, which a fault may let run at another speed than this computer's
        arrival: Vector = stamped / self.bench.faults.number("clock", 1.0) - self._begun + LINK_S
        return (Samples(stamped - self._first, arrival, rows),)

    def close(self) -> None:
        """Give nothing more."""
        self._closed = True


def manifest_columns(bench: LiveBench, named: Callable[[str], str] = str) -> dict[str, object]:
    """Give what stands under ``[columns]`` in the manifest of such a bench, but for the time.

    Parameters
    ----------
    named : callable
        Gives another name to a column.
    """
    tables: dict[str, dict[str, object]] = {"": {}, "actuator": {}, "command": {}}
    for group in bench.groups[1:]:
        role, _, name = group.role.partition(":")
        table = {"names": [named(each) for each in group.names], "unit": group.unit}
        tables[role if name else ""][name or role] = table
    result = dict(tables[""])
    if tables["actuator"]:
        result["actuators"] = tables["actuator"]
    if tables["command"]:
        result["commands"] = tables["command"]
    return result
