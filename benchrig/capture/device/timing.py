"""From rows as they come to rows with times: which clock a device has, and what that clock went through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from benchrig.capture.device.clock import FittedClock
from benchrig.capture.device.clock_words import clock_breaks, clock_notes, clock_words, doubt_of_rate
from benchrig.capture.device.counter import RowCounter
from benchrig.capture.device.device_file import Device
from benchrig.capture.device.envelope import LEAST_SPAN, Envelope
from benchrig.capture.device.gaps import Gaps
from benchrig.capture.device.order import Order
from benchrig.capture.device.rows import Batch, Rows
from benchrig.capture.device.samples import Samples
from benchrig.capture.device.tally import Tally
from benchrig.errors import Problem

QUICK_SPAN: Final = 0.5
"""s of arrivals after which a slope that had to be guessed is replaced."""

LEAST_GAP: Final = 0.05
"""s that rows without a count must be late before any are taken to be missing."""

_SILENCE: Final = 5.0
"""Times the usual pause between two reads."""

SOME_PERIOD: Final = 0.001
"""s from row to row where nothing tells it, as when all rows are there at once."""

UNUSUAL: Final = (0.1, 10.0)
"""How many times too fast a device's clock must seem at the beginning before its unit is not believed."""


class Timing:
    """The times of a device's rows.

    Parameters
    ----------
    device : Device
    tally : Tally
    """

    def __init__(self, device: Device, tally: Tally) -> None:
        self._device, self._tally = device, tally
        time, counter = device.meaning.groups.get("time"), device.counter
        self.has_clock = time is not None
        self.has_counter = counter is not None
        self.line = Envelope(1.0, LEAST_SPAN if time else QUICK_SPAN)
        self.order: Order | None = None
        self.counter: RowCounter | None = None
        if time is not None:
            key = device.columns.index(time.names[0])
            self.order = Order(key, time.unit.factor, device.time_bits, line=self.line, tally=tally, reason="time")
        if counter is not None:
            key = device.columns.index(counter.name)
            if self.order is None:
                self.order = Order(key, 1.0, counter.bits, line=self.line, tally=tally, reason="counter")
            else:
                self.counter = RowCounter(key, counter.bits)
        least = 0.0 if self.order else LEAST_GAP
        self.gaps = Gaps(self.line, None if self.order else 1.0, least, is_count=not self.has_clock)
        self._fitted = None if self.has_clock else FittedClock(self.line)
        self._coarse: Gaps | None = None
        self._period = SOME_PERIOD
        self._doubts: tuple[Problem, ...] = ()
        self._last = (0, 0.0)  # piece and time of the row before

    @property
    def is_coarse(self) -> bool:
        """Whether the device's clock stood still between rows, so that times are fitted through its stamps."""
        return self._coarse is not None

    @property
    def clock(self) -> str:
        """Which clock the times are by, in words."""
        return clock_words(self._device, self.line, is_coarse=self.is_coarse)

    @property
    def notes(self) -> tuple[str, ...]:
        """What happened to clock and count, in words."""
        restarts = () if self.order is None else tuple(self.order.restarts)
        return clock_notes(
            self._device, self.line, restarts=restarts, gaps=self.gaps.found, tally=self._tally, counter=self.counter
        )

    @property
    def breaks(self) -> int:
        """How often clock or count began again or jumped; 0 where there is neither."""
        return 0 if self.order is None else len(self.order.restarts) + len(self.gaps.found)

    @property
    def break_words(self) -> tuple[str, ...]:
        """Where clock or count began again or jumped, in words."""
        restarts = () if self.order is None else tuple(self.order.restarts)
        return clock_breaks(self._device, self.line, restarts=restarts, gaps=self.gaps.found)

    @property
    def doubts(self) -> tuple[Problem, ...]:
        """What speaks against the declared unit of the clock; once told, it stays as it was."""
        if self.has_clock and not self._doubts:
            self._doubts = doubt_of_rate(self._device, self.line)
        return self._doubts

    def learn(self, batches: Sequence[tuple[Rows, float]]) -> None:
        """Learn the usual step from the first rows.

        Parameters
        ----------
        batches : sequence of (Rows, arrival in s)
        """
        period = _usual_period(batches)
        self._period = period or SOME_PERIOD
        if not self.has_clock:
            self.line.slope = self._period
            if self.order:
                self.order.step = 1.0
        elif self.order is not None:
            step = self.order.usual_step(np.concatenate([rows.values for rows, _ in batches]))
            self.order.step = step
            ratio = period / step if step > 0 and period > 0 else 1.0
            self.line.slope = 1.0 if UNUSUAL[0] < ratio < UNUSUAL[1] else ratio
        if self.counter is not None and self.order is not None:
            self.counter.step = self.order.step

    def place(self, rows: Rows, arrival: float) -> list[Samples]:
        """Give the rows whose times are settled by now."""
        if self.order is None:
            arrivals = np.full(len(rows.piece), arrival)
            batches = [Batch(rows.values, rows.piece.astype(np.float64), rows.piece, arrivals)]
        else:
            batches = self.order.place(rows.values, rows.piece, arrival)
            self.gaps.turn = self.order.turn
        return [self._timed(part) for batch in batches for part in self.gaps.pass_on(batch)]

    def finish(self) -> list[Samples]:
        """Give the rows that are kept back."""
        left = [] if self.order is None else self.order.finish()
        settled = [part for batch in left for part in self.gaps.pass_on(batch)]
        return [self._timed(part) for part in (*settled, *self.gaps.finish())]

    def _timed(self, batch: Batch) -> Samples:
        if self._fitted is None and self.order is not None and self.order.repeats:
            self._begin_coarse(self.order)
        x = batch.x
        if self._coarse is not None:
            (counted,) = self._coarse.pass_on(replace(batch, x=batch.piece.astype(np.float64), arrival=batch.x))
            x = counted.x
        time = x if self._fitted is None else self._fitted.place(x)
        self._last = (int(batch.piece[-1]), float(time[-1]))
        if self.counter is not None:
            self._tally.missing += self.counter.missing(batch.values, time)
        elif self.order is not None and not self.has_clock:
            self._tally.missing = round(self.order.missing + self.gaps.turned)
        return Samples(time, batch.arrival, batch.values)

    def _begin_coarse(self, order: Order) -> None:
        line = Envelope(order.step or self._period, QUICK_SPAN)
        self._coarse = Gaps(line, 1.0, LEAST_GAP, settled=0.0, is_count=True)
        self._fitted = FittedClock(line, origin=0.0)
        self._fitted.start_at(*self._last)


def _usual_period(batches: Sequence[tuple[Rows, float]]) -> float:
    """Give s from row to row by arrivals; zero where they do not tell it."""
    pauses = np.diff([arrival for _, arrival in batches])
    if not len(pauses):
        return 0.0
    # a silence at the beginning, as when a unit starts again, is no part of it
    usual = pauses <= _SILENCE * max(float(np.median(pauses)), LEAST_GAP)
    rows = int(np.diff([rows.piece[-1] for rows, _ in batches])[usual].sum())
    return float(pauses[usual].sum()) / rows if rows else 0.0
