"""Rows in order by the device's own clock or count: copies left out, odd ones doubted, a restart joined on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.device.envelope import Envelope
from benchrig.capture.device.tally import Reason, Tally
from benchrig.geometry.directions import Vector

SLACK: Final = 0.25
"""s by which a row may lie ahead of its arrival before it is doubted: room for the first fits of the line."""

UNKNOWN_BITS: Final = (16, 32)
"""The widths tried where a counter of unknown width goes back."""

_GAP_STEPS: Final = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """Rows on their way to their times.

    Attributes
    ----------
    values : ndarray, shape (n, C)
    x : ndarray, shape (n,)
        The device's clock in s, or its count of rows, unwrapped; else the number of the piece.
    piece : ndarray, shape (n,), int
    arrival : ndarray, shape (n,), s
    """

    values: Vector
    x: Vector
    piece: np.ndarray
    arrival: Vector

    def __len__(self) -> int:
        return len(self.x)


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
        self._odd: _Row | None = None
        self._largest = 0.0
        self._told: float | None = None
        self.step = 0.0
        self.repeats = False
        self.may_repeat = reason == "time"
        self.restarts: list[float] = []

    @property
    def turn(self) -> float | None:
        """How far `x` goes until the key runs over; None where it does not."""
        return None if self._turn is None else self._turn * self._scale

    def place(self, values: Vector, piece: np.ndarray, arrival: float) -> Batch:
        """Put rows that arrived together in order; an odd one is kept back until the next one explains it."""
        raw = values[:, self._key]
        if self._last is not None and self._odd is None:
            steps = np.diff(raw, prepend=self._last.raw)
            if self._turn is not None:
                steps %= self._turn
            x = self._x + np.cumsum(steps) * self._scale
            least = 0.0 if self.repeats else np.finfo(float).tiny
            if steps.min() >= least and self._is_possible(float(x[-1]), arrival) and not self._has_copy(steps, values):
                self._remember(_Row(values[-1], float(raw[-1]), int(piece[-1]), arrival), float(x[-1]))
                return Batch(values, x, piece, np.full(len(x), arrival))
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

    def finish(self) -> None:
        """Give up an odd row that nothing explains."""
        if self._odd is not None:
            self._odd = None
            self._tally.refuse(b"", self._reason)

    def missing(self, x: Vector) -> int:
        """Say how many rows are missing before and between placed ones, where the key counts rows."""
        steps = np.diff(x, prepend=x[0] - 1.0 if self._told is None else self._told)
        self._told = float(x[-1])
        began = np.isin(x, self.restarts) if self.restarts else np.zeros(len(x), dtype=bool)
        return round(float((steps - 1.0)[~began].sum()))

    def _has_copy(self, steps: Vector, values: Vector) -> bool:
        """Say whether a row may be a copy of the one before: only where the key repeats at all."""
        return self.repeats and bool((steps == 0).any()) and len(values) > 0

    def _remember(self, row: _Row, x: float) -> None:
        self._last, self._x = row, x
        self._largest = max(self._largest, row.raw)

    def _place_each(self, values: Vector, piece: np.ndarray, arrival: float) -> Batch:
        kept: list[tuple[_Row, float]] = []
        for row, number in zip(values, piece, strict=True):
            self._place_one(_Row(row, float(row[self._key]), int(number), arrival), kept)
        if not kept:
            return Batch(values[:0], np.empty(0), piece[:0], np.empty(0))
        rows, x = zip(*kept, strict=True)
        pieces = np.array([row.piece for row in rows], dtype=np.int64)
        arrivals = np.array([row.arrival for row in rows])
        return Batch(np.array([row.values for row in rows]), np.array(x), pieces, arrivals)

    def _place_one(self, row: _Row, kept: list[tuple[_Row, float]]) -> None:
        if self._last is None:
            self._keep(row, 0.0, kept)
            return
        if self._odd is not None and self._take_odd(row, self._odd, kept):
            return
        step = self._step(self._last.raw, row.raw)
        if step == 0 and np.array_equal(self._last.values, row.values, equal_nan=True):
            self._tally.duplicates += 1
        elif step == 0 and self.may_repeat:
            self.repeats = True
            self._keep(row, self._x, kept)
        elif step > 0 and self._is_possible(self._x + step, row.arrival):
            self._keep(row, self._x + step, kept)
        elif not self._turns_over(row, kept):
            self._odd = row

    def _take_odd(self, row: _Row, odd: _Row, kept: list[tuple[_Row, float]]) -> bool:
        """Settle whether an odd row was a restart, since the row after goes on from it, or damaged."""
        self._odd = None
        step = self._step(odd.raw, row.raw)
        goes_on = 0 < step * self._line.slope <= row.arrival - odd.arrival + SLACK
        back = self._step(self._last.raw, row.raw) if self._last is not None else 0.0
        if goes_on and not (back > 0 and self._is_possible(self._x + back, row.arrival)):
            self._restart(odd, kept)
            return False
        self._tally.refuse(b"", self._reason)
        return False

    def _restart(self, row: _Row, kept: list[tuple[_Row, float]]) -> None:
        waited = 0.0 if self._last is None else (row.arrival - self._last.arrival) / self._line.slope
        x = self._x + max(self.step, waited if self._reason == "time" else float(round(waited)))
        self.restarts.append(x)
        self._largest = 0.0
        self._keep(row, x, kept)

    def _turns_over(self, row: _Row, kept: list[tuple[_Row, float]]) -> bool:
        """Find after how many bits a key of unknown width has run over, if it has."""
        if not self._may_turn or self._turn is not None or self._last is None or row.raw != round(row.raw):
            return False
        for bits in UNKNOWN_BITS:
            turn = 2.0**bits
            x = self._x + (row.raw - self._last.raw + turn) * self._scale
            if self._largest < turn and x > self._x and self._is_possible(x, row.arrival):
                self._turn = turn
                self._keep(row, x, kept)
                return True
        return False

    def _keep(self, row: _Row, x: float, kept: list[tuple[_Row, float]]) -> None:
        self._remember(row, x)
        kept.append((row, x))

    def _step(self, before: float, after: float) -> float:
        step = after - before
        return (step if self._turn is None else step % self._turn) * self._scale

    def _is_possible(self, x: float, arrival: float) -> bool:
        """Say whether a row can have been taken by the time that it arrived."""
        return not x > self._line.x_at(arrival + SLACK)
