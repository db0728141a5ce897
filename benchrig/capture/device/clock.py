"""The time of each row: by the device's own clock, or fitted through when its rows arrive."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.capture.device.envelope import Envelope
from benchrig.geometry.directions import Vector

CATCH_UP: Final = 1.0
"""s in which a fitted clock works off what it is wrong by."""

STEEPEST: Final = 0.05
"""Share of the rate by which it may run fast or slow meanwhile."""


class FittedClock:
    """Times on a line that is fitted again and again, without a jump and never backwards.

    Parameters
    ----------
    line : Envelope
        Of moments over counts.
    origin : float or None, s
        The moment of time zero; None where the first row is.
    """

    def __init__(self, line: Envelope, origin: float | None = None) -> None:
        self._line = line
        self._origin = origin
        self._count = 0.0
        self._time = 0.0

    def start_at(self, count: float, time: float) -> None:
        """Go on from a row whose time is known."""
        self._count, self._time = count, time

    def place(self, count: Vector) -> Vector:
        """Give the times of rows, s.

        Parameters
        ----------
        count : ndarray, shape (n,)
            Increasing, from one call to the next too.
        """
        if self._origin is None:
            self._origin = self._line.at(float(count[0]))
            self._count = float(count[0])
        slope = self._line.slope
        steps = count - self._count
        wrong = self._line.at(float(count[-1])) - self._origin - self._time - float(steps[-1]) * slope
        rate = slope * (1.0 + float(np.clip(wrong / CATCH_UP, -STEEPEST, STEEPEST)))
        time: Vector = self._time + steps * rate
        self._count, self._time = float(count[-1]), float(time[-1])
        return time
