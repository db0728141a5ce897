"""Rows in order by the device's own clock or count: copies left out, odd ones doubted, a restart joined on."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import Final

import numpy as np

from benchrig.capture.device.envelope import LEAST_SPAN, Envelope
from benchrig.capture.device.rows import Batch
from benchrig.capture.device.tally import Reason, Tally
from benchrig.geometry.directions import Vector

SLACK: Final = 0.25
"""s by which a row may lie ahead of its arrival before it is doubted: room for the first fits of the line."""

LONGEST_LOSS: Final = 0.5
"""s of rows that may be missing by their count though their arrival shows no silence."""

_ROUGHLY: Final = 3.0

UNKNOWN_BITS: Final = (16, 32)
"""The widths tried where a counter of unknown width goes back."""

_GAP_STEPS: Final = 10.0

USUAL_STEPS: Final = 3.0
"""Usual steps that a row may lie ahead of the row before without a doubt: a digit that noise changed shows beyond."""

AGREEING: Final = 4
"""Rows in line with each other by which a clock is believed at the beginning, and to have begun again later. Noise that
takes the same digit from two rows in a row is usual where lines have no check; from four it is not."""


@dataclass(frozen=True, slots=True, eq=False)
class _Row:
    values: Vector
    raw: float
    piece: int
    arrival: float


class Order:
    """Rows in the order of their key, a column that only grows but where it runs over.

    Parameters
    ----------
    key : int
        The column of `Rows.values` that is the key.
    scale : float
        `x` to one of the key.
    bits : int or None
        After which the key runs over; None where it is not known.
    line : Envelope
        Of arrivals over `x`.
    tally : Tally
    reason : Reason
        Under which doubted rows are counted.

    Attributes
    ----------
    step : float
        The usual step of `x` from row to row; to be set before the first row.
    repeats : bool
        Whether the key stood still while the values changed: it is too coarse.
    restarts : list of float
        The `x` at which the device began again.
    missing : float
        Where the key counts rows: how many it jumped over.
    """

    def __init__(
        self, key: int, scale: float, bits: int | None, *, line: Envelope, tally: Tally, reason: Reason
    ) -> None:
        self._key, self._scale, self._line = key, scale, line
        self._turn = None if bits is None else 2.0**bits
        self._may_turn = bits is None
        self._tally, self._reason = tally, reason
        self._last: _Row | None = None
        self._x = 0.0
        self._odd: list[_Row] = []
        self.missing = 0.0
        self.step = 0.0
        self.repeats = False
        self.may_repeat = reason == "time"
        self.restarts: list[float] = []

    @property
    def turn(self) -> float | None:
        """How far `x` goes until the key runs over; None where it does not."""
        return None if self._turn is None else self._turn * self._scale

    def place(self, values: Vector, piece: np.ndarray, arrival: float) -> list[Batch]:
        """Put rows that arrived together in order; an odd one is kept back until those after it explain it."""
        raw = values[:, self._key]
        if self._last is not None and not self._odd:
            steps = np.diff(raw, prepend=self._last.raw)
            if self._turn is not None:
                steps %= self._turn
            steps *= self._scale
            # steps of zero are looked at one by one: they are copies, or a clock too coarse
            if steps.min() > 0 and steps.max() <= self._usual and self._are_possible(steps, arrival):
                x = self._x + np.cumsum(steps)
                self.missing += float(x[-1]) - self._x - len(x)
                self._remember(_Row(values[-1], float(raw[-1]), int(piece[-1]), arrival), float(x[-1]))
                return [Batch(values, x, piece, np.full(len(x), arrival))]
        return self._place_each(values, piece, arrival)

    def usual_step(self, values: Vector) -> float:
        """Give the mean step of `x` among the first rows, those that stand still counted and gaps left out."""
        steps = np.diff(values[:, self._key])
        if self._turn is not None:
            steps %= self._turn
        grown = steps[steps > 0]
        if not len(grown):
            return 0.0
        usual = steps[(steps >= 0) & (steps <= _GAP_STEPS * np.median(grown))]
        return float(usual.mean()) * self._scale

    def finish(self) -> list[Batch]:
        """Give up odd rows that nothing explains, but for a beginning or a step too short to be doubted."""
        kept: list[tuple[_Row, float]] = []
        jump = self._step(self._last.raw, self._odd[0].raw) if self._last and self._odd else 0.0
        if self._last is None or 0 < jump <= _GAP_STEPS * self.step:
            self._take_odd(kept)
        self._give_up()
        return _batches(kept)

    def _remember(self, row: _Row, x: float) -> None:
        self._last, self._x = row, x

    def _place_each(self, values: Vector, piece: np.ndarray, arrival: float) -> list[Batch]:
        kept: list[tuple[_Row, float]] = []
        for row, number in zip(values, piece, strict=True):
            self._place_one(_Row(row, float(row[self._key]), int(number), arrival), kept)
        return _batches(kept)

    def _place_one(self, row: _Row, kept: list[tuple[_Row, float]]) -> None:
        if self._odd and self._explains_odd(row, kept):
            return
        if self._last is None:
            self._odd = [row]
            return
        step = self._step(self._last.raw, row.raw)
        if step == 0 and _is_copy(self._last, row):
            self._tally.duplicates += 1
        elif step == 0 and self.may_repeat:
            self.repeats = True
            self._keep(row, self._x, kept)
        elif 0 < step <= self._usual and self._is_possible(step, row.arrival):
            self.missing += step - 1.0
            self._keep(row, self._x + step, kept)
        else:
            self._odd = [row]

    def _explains_odd(self, row: _Row, kept: list[tuple[_Row, float]]) -> bool:
        """Settle by the row after them what odd rows are; say whether that row is settled too."""
        last, head, before = self._last, self._odd[0], self._odd[-1]
        step = self._step(before.raw, row.raw)
        if last is not None:
            jump = self._step(last.raw, head.raw)
            if jump > 0 and self._is_possible(jump, head.arrival):
                is_after = (step > 0 or (step == 0 and self.may_repeat)) and self._is_possible(jump + step, row.arrival)
                self._take_odd(kept) if is_after else self._give_up()
                return False
            back = self._step(last.raw, row.raw)
            if back > 0 and self._is_possible(back, row.arrival):
                self._give_up()
                return False
        if step == 0 and _is_copy(before, row):
            self._tally.duplicates += 1
            return True
        most = max(_GAP_STEPS * self.step, _ROUGHLY * (row.arrival - before.arrival) / self._line.slope)
        if not (0 < step <= most or (step == 0 and self.may_repeat)):
            self._give_up()
            return False
        self._odd.append(row)
        if len(self._odd) >= AGREEING:
            self._take_odd(kept)
        return True

    def _give_up(self) -> None:
        """Take odd rows to be damaged."""
        for _ in self._odd:
            self._tally.refuse(b"", self._reason)
        self._odd = []

    def _take_odd(self, kept: list[tuple[_Row, float]]) -> None:
        """Take odd rows as they are: the first rows of all, or those after a gap, a turn or a restart."""
        odd, self._odd = self._odd, []
        for row in odd:
            if self._last is None:
                self._keep(row, 0.0, kept)
                continue
            step = self._step(self._last.raw, row.raw)
            if row is not odd[0] or (step > 0 and self._is_possible(step, row.arrival)):
                self.repeats = self.repeats or step == 0
                self.missing += step - 1.0
                self._keep(row, self._x + step, kept)
            elif not self._turns_over(row, kept):
                self._restart(row, kept)

    def _restart(self, row: _Row, kept: list[tuple[_Row, float]]) -> None:
        waited = 0.0 if self._last is None else (row.arrival - self._last.arrival) / self._line.slope
        x = self._x + max(self.step, waited if self._reason == "time" else float(round(waited)))
        self.restarts.append(x)
        self._keep(row, x, kept)

    def _turns_over(self, row: _Row, kept: list[tuple[_Row, float]]) -> bool:
        """Find after how many bits a key of unknown width has run over, if it has."""
        if not self._may_turn or self._turn is not None or self._last is None or row.raw != round(row.raw):
            return False
        for bits in UNKNOWN_BITS:
            turn = 2.0**bits
            step = (row.raw - self._last.raw + turn) * self._scale
            if self._last.raw < turn and step > 0 and self._is_possible(step, row.arrival):
                self._turn = turn
                self._keep(row, self._x + step, kept)
                return True
        return False

    def _keep(self, row: _Row, x: float, kept: list[tuple[_Row, float]]) -> None:
        self._remember(row, x)
        kept.append((row, x))

    def _step(self, before: float, after: float) -> float:
        step = after - before
        return (step if self._turn is None else step % self._turn) * self._scale

    def _is_possible(self, step: float, arrival: float) -> bool:
        """Say whether a row can have been taken by the time that it arrived."""
        if self._reason == "time" or self._line.span >= LEAST_SPAN:
            return not self._x + step > self._line.x_at(arrival + SLACK)
        # at the beginning it is known roughly only how fast rows are counted, and an error of it must not add up
        waited = arrival - (self._last.arrival if self._last else arrival)
        return step * self._line.slope <= _ROUGHLY * waited + LONGEST_LOSS

    @property
    def _usual(self) -> float:
        """How far a row may lie ahead of the row before without a doubt."""
        return USUAL_STEPS * self.step if self.step > 0 else np.inf

    def _are_possible(self, steps: Vector, arrival: float) -> bool:
        is_known = self._reason == "time" or self._line.span >= LEAST_SPAN
        return self._is_possible(float(steps.sum() if is_known else steps.max()), arrival)


def _is_copy(before: _Row, row: _Row) -> bool:
    return bool(np.array_equal(before.values, row.values, equal_nan=True))


def _batches(kept: list[tuple[_Row, float]]) -> list[Batch]:
    """Give a batch for each arrival: rows that were kept back did not come with those that explain them."""
    batches = []
    for arrival, group in groupby(kept, key=lambda each: each[0].arrival):
        rows, x = zip(*group, strict=True)
        pieces = np.array([row.piece for row in rows], dtype=np.int64)
        values = np.array([row.values for row in rows])
        batches.append(Batch(values, np.array(x), pieces, np.full(len(x), arrival)))
    return batches
