"""Rows that never came, told by the count that the device gives each of them."""

from __future__ import annotations

import numpy as np

from benchrig.geometry.directions import Vector


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
        count, moment = self._last or (float(raw[0]) - 1.0, float(time[0]) - self.step)
        self._last = (float(raw[-1]), float(time[-1]))
        steps = np.diff(raw, prepend=count)
        if self._turn is not None:
            steps %= self._turn
        odd = np.flatnonzero(steps != 1.0)
        if not len(odd):
            return 0
        waited = np.diff(time, prepend=moment)
        return sum(self._missing_in(float(steps[i]), float(waited[i])) for i in odd)

    def _missing_in(self, step: float, waited: float) -> int:
        expected = waited / self.step if self.step > 0 else step
        if self._turn is not None:
            step += self._turn * round((expected - step) / self._turn)
        if step == 0:
            self.stood_still += 1
            return 0
        if step < 0:
            self.restarts += 1
            return 0
        return round(step) - 1
