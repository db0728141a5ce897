"""Whole turns that a count has missed, or rows that nobody counted: settled by when the rows after them arrive.

A row that comes late has either waited, and the rows after it catch up; or something before it never came, and all the
rows after it are as late. So rows that come late are kept back for a moment, until that is settled.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from benchrig.capture.device.envelope import Envelope
from benchrig.capture.device.order import Batch

SETTLED: Final = 0.2
"""s of arrivals after which late rows that have not caught up are late for good."""

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

    Attributes
    ----------
    found : list of tuple
        For each gap that was put in: its `x` before and after.
    """

    def __init__(self, line: Envelope, turn: float | None, least: float, settled: float = SETTLED) -> None:
        self._line, self._least, self._settled = line, least, settled
        self.turn = turn
        self._missed = 0.0
        self._held: list[Batch] = []
        self._count = 0
        self._last = 0.0
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
        """Give what is kept back, as it stands."""
        held, self._held, self._count = self._held, [], 0
        return self._release(held)

    def _release(self, batches: list[Batch]) -> list[Batch]:
        for batch in batches:
            self._line.add(float(batch.x[-1]), float(batch.arrival[-1]))
            self._last = float(batch.x[-1])
        return batches

    def _lateness(self, batch: Batch) -> float:
        return float(batch.arrival[-1]) - self._line.at(float(batch.x[-1]))

    def _is_late(self, batch: Batch) -> bool:
        if self.turn is None:
            return False
        limit = max(self.turn * self._line.slope / 2, self._least, JITTERS * self._line.jitter)
        return self._lateness(batch) > limit

    def _settle(self) -> list[Batch]:
        settled: list[Batch] = []
        while self._held:
            if not self._is_late(self._held[-1]):
                # it has caught up: the rows before had only waited
                settled += self.finish()
                break
            waited = float(self._held[-1].arrival[-1] - self._held[0].arrival[0])
            if waited < self._settled and self._count < MOST_HELD:
                break
            self._put_in()
            first = self._held.pop(0)
            self._count -= len(first)
            settled += self._release([first])
        return settled

    def _put_in(self) -> None:
        """Shift the held rows by the turns that even the quickest of them lacks."""
        turn = self.turn or 1.0
        late = min(self._lateness(batch) for batch in self._held)
        missed = turn * round(late / self._line.slope / turn)
        if missed > 0:
            self.found.append((self._last, float(self._held[0].x[0]) + missed))
            self._missed += missed
            self._held = [replace(batch, x=batch.x + missed) for batch in self._held]
