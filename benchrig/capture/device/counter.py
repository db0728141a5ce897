"""Rows that never came, told by the count that the device gives each of them."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np

from benchrig.capture.device.order import AGREEING
from benchrig.geometry.directions import Vector

ROOM: Final = 2.0
SPARE: Final = 3.0
"""A count may go on so many times as far as the time allows, and so many rows: beyond, it is doubted."""


class RowCounter:
    """A count beside a clock of the device's own.

    Parameters
    ----------
    column : int
        Of the values.
    bits : int or None
        After which it runs over; None where it never does.

    Attributes
    ----------
    step : float, s
        Between two rows, usually.
    stood_still, restarts : int
        How often it did not grow; how often it began again.
    """

    def __init__(self, column: int, bits: int | None) -> None:
        self._column = column
        self._turn = None if bits is None else 2.0**bits
        self._last: tuple[float, float] | None = None
        self._odd: list[tuple[float, float]] = []
        self._doubted = 0
        self.step = 0.0
        self.stood_still = 0
        self.restarts = 0

    def missing(self, values: Vector, time: Vector) -> int:
        """Say how many rows are missing before and between these.

        Parameters
        ----------
        values : ndarray, shape (n, C)
        time : ndarray, shape (n,), s
            Which tells how often the count ran over in a gap, and whether it began again.
        """
        raw = values[:, self._column]
        if self._last is not None and not self._odd:
            steps = np.diff(raw, prepend=self._last[0])
            if self._turn is not None:
                steps %= self._turn
            if (steps == 1.0).all():
                self._last = (float(raw[-1]), float(time[-1]))
                return 0
        return sum(self._take((count, moment)) for count, moment in zip(raw.tolist(), time.tolist(), strict=True))

    def _take(self, row: tuple[float, float]) -> int:
        """Say how many rows a row shows to be missing; one whose count the time speaks against is doubted at first."""
        if self._last is not None:
            step, room = self._step(self._last, row), self._room(self._last, row)
            if 0 <= step <= room:
                # the rows whose count was doubted did come
                self.stood_still += step == 0
                missing = max(0, round(step) - 1 - self._doubted)
                self._believe(row)
                return missing
        self._doubted += 1
        if self._odd and not 0 <= self._step(self._odd[-1], row) <= self._room(self._odd[-1], row):
            self._odd = []
        self._odd.append(row)
        if len(self._odd) < AGREEING:
            return 0
        self.restarts += self._last is not None
        steps = [round(self._step(before, after)) for before, after in pairwise(self._odd)]
        self.stood_still += steps.count(0)
        self._believe(row)
        return sum(max(0, step - 1) for step in steps)

    def _believe(self, row: tuple[float, float]) -> None:
        self._last, self._odd, self._doubted = row, [], 0

    def _room(self, before: tuple[float, float], row: tuple[float, float]) -> float:
        """Give how far the count can have gone on in the time between."""
        return np.inf if self.step <= 0 else SPARE + ROOM * (row[1] - before[1]) / self.step

    def _step(self, before: tuple[float, float], row: tuple[float, float]) -> float:
        step = row[0] - before[0]
        if self._turn is not None:
            step %= self._turn
            expected = (row[1] - before[1]) / self.step if self.step > 0 else step
            step += self._turn * round((expected - step) / self._turn)
        return step
