"""The recording in body axes: a type of its own, so that sensor-axes data cannot reach a judge by mistake."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchrig.geometry.directions import Vector

BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class EvenRecording:
    """Samples at even steps, still in sensor axes. Nothing is invented across gaps: segments end and begin there.

    Attributes
    ----------
    time : ndarray, shape (N,), s
    step : float, s
        Between the samples of one segment.
    segment : ndarray, shape (N,), int
        0, 1, 2 …: a new number after each gap.
    angular_rate : ndarray, shape (N, 3), rad/s
    acceleration : ndarray, shape (N, 3), m/s²
        As the unit gives it.
    magnetic_field : ndarray, shape (N, 3), T, or None
    unit_attitude : ndarray, shape (N, 3), rad, or None
    gyro_clipped, accelerometer_clipped : ndarray, shape (N,), bool
    """

    time: Vector
    step: float
    segment: IntArray
    angular_rate: Vector
    acceleration: Vector
    magnetic_field: Vector | None
    unit_attitude: Vector | None
    gyro_clipped: BoolArray
    accelerometer_clipped: BoolArray

    def index(self, time: float) -> int:
        """Give the index of the first sample at or after `time`, at most N - 1."""
        return min(int(np.searchsorted(self.time, time)), len(self.time) - 1)


@dataclass(frozen=True, slots=True, eq=False)
class BodyRecording:
    """The same samples after mounting, bias and lever arm.

    Attributes
    ----------
    time, step, segment
        As in `EvenRecording`.
    angular_rate : ndarray, shape (N, 3), rad/s
        p, q, r, bias taken out.
    specific_force : ndarray, shape (N, 3), m/s²
        At the sensor, forward, right, down; level at rest reads (0, 0, -g).
    specific_force_at_cg : ndarray, shape (N, 3), m/s²
        The same with the lever arm's part taken off.
    """

    time: Vector
    step: float
    segment: IntArray
    angular_rate: Vector
    specific_force: Vector
    specific_force_at_cg: Vector
