"""Whole turns that a count has missed, or rows that nobody counted: settled by when the rows after them arrive.

A row that comes late has either waited, and the rows after it catch up; or something before it never came, and all the
rows after it are as late. So rows that come late are kept back for a moment, until that is settled.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from benchrig.capture.device.envelope import Envelope
from benchrig.capture.device.rows import Batch

SETTLED: Final = 0.2
"""s of arrivals after which late rows that have not caught up are late for good."""

BEGAN_AGAIN: Final = 1.0
"""s: rows that are later for good, though no whole turn explains it, come from a clock or count that began again."""

AGAIN_SETTLED: Final = 0.5
"""s of arrivals after which that is taken to be so."""

MOST_HELD: Final = 20_000
"""Rows."""

JITTERS: Final = 3.0
"""A row that is later than so many times the usual lateness is late."""


class Gaps:
    """Batches passed on with what was missed put in.

    Parameters
    ----------
    line : Envelope
        Of arrivals over `x`; rows that are passed on are added to it.
    turn : float or None
        By a whole number of which `x` may be short; None where it never is.
    least : float, s
        By how much rows must be late at least.
    settled : float, s
        After which late rows are late for good.
    is_count : bool
        Whether `x` counts rows.

    Attributes
    ----------
    found : list of tuple
        For each stretch that was put in: its `x` before and after.
    turned : float
        How much of whole turns was put in.
    """

    def __init__(
        self, line: Envelope, turn: float | None, least: float, settled: float = SETTLED, *, is_count: bool
    ) -> None:
        self._line, self._least, self._settled, self._is_count = line, least, settled, is_count
        self.turn = turn
        self._missed = 0.0
        self._held: list[Batch] = []
        self._count = 0
        self._last = 0.0
        self.turned = 0.0
        self.found: list[tuple[float, float]] = []

    def pass_on(self, batch: Batch) -> list[Batch]:
        """Give the batches that are settled by now."""
        if self._missed:
            batch = replace(batch, x=batch.x + self._missed)
        if not self._held and not self._is_late(batch):
            return self._release([batch])
        self._held.append(batch)
        self._count += len(batch)
        return self._settle()

    def finish(self) -> list[Batch]:
        """Give what is kept back, and take it to be late for good."""
        settled: list[Batch] = []
        while self._held:
            settled += self._settle_first()
        return settled

    def _release(self, batches: list[Batch]) -> list[Batch]:
        for batch in batches:
            self._line.add(float(batch.x[-1]), float(batch.arrival[-1]), float(batch.x[0]))
            self._last = float(batch.x[-1])
        return batches

    def _lateness(self, batch: Batch) -> float:
        return float(batch.arrival[-1]) - self._line.at(float(batch.x[-1]))

    def _limit(self) -> float:
        usual = max(self._least, JITTERS * self._line.jitter)
        turn = np.inf if self.turn is None else self.turn * self._line.slope / 2
        return float(min(max(turn, usual), max(BEGAN_AGAIN, usual)))

    def _is_late(self, batch: Batch) -> bool:
        return self._lateness(batch) > self._limit()

    def _settle(self) -> list[Batch]:
        settled: list[Batch] = []
        while self._held:
            if not self._is_late(self._held[-1]):
                # it has caught up: the rows before had only waited
                settled += self._release(self._held)
                self._held, self._count = [], 0
                break
            waited = float(self._held[-1].arrival[-1] - self._held[0].arrival[0])
            wanted = self._settled if self._missing() else max(self._settled, AGAIN_SETTLED)
            if waited < wanted and self._count < MOST_HELD:
                break
            settled += self._settle_first()
        return settled

    def _settle_first(self) -> list[Batch]:
        """Take the rows that are kept back to be late for good, and pass on the first of them."""
        late = min(self._lateness(batch) for batch in self._held)
        missed = self._missing()
        self.turned += missed
        if not missed and late > self._limit():
            missed = late / self._line.slope
            missed = float(round(missed)) if self._is_count else missed
        if missed > 0:
            self.found.append((self._last, float(self._held[0].x[0]) + missed))
            self._missed += missed
            self._held = [replace(batch, x=batch.x + missed) for batch in self._held]
        first = self._held.pop(0)
        self._count -= len(first)
        return self._release([first])

    def _missing(self) -> float:
        """Say how much of whole turns even the quickest of the rows that are kept back lacks."""
        if self.turn is None:
            return 0.0
        late = min(self._lateness(batch) for batch in self._held)
        return self.turn * max(0, round(late / self._line.slope / self.turn))
