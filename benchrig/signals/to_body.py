"""From sensor axes to body axes: bias out, mounting applied, the lever arm's part taken off."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import Vector
from benchrig.geometry.rigid_body import lever_arm_acceleration
from benchrig.signals.body import BodyRecording, EvenRecording
from benchrig.signals.rests import Bias

SMOOTHING: Final = 0.05
"""s: mean taken over the rates before they are differentiated; the same for every column."""


def to_body(even: EvenRecording, bias: Bias | None, sensor: Sensor) -> BodyRecording:
    """Turn a recording into body axes as the declaration says.

    Parameters
    ----------
    even : EvenRecording
    bias : Bias or None
        Of the gyro; None leaves the rates as read.
    sensor : Sensor

    Returns
    -------
    BodyRecording
    """
    value = np.zeros(3) if bias is None else bias.value
    rate = (even.angular_rate - value) @ sensor.body_from_sensor.T
    force = specific_force(even.acceleration, sensor) @ sensor.body_from_sensor.T
    at_cg = force
    if sensor.lever_arm.any():
        smooth, acceleration = _smoothed(rate, even)
        at_cg = force - lever_arm_acceleration(smooth, acceleration, sensor.lever_arm)
    return BodyRecording(even.time, even.step, even.segment, rate, force, at_cg)


def specific_force(acceleration: Vector, sensor: Sensor) -> Vector:
    """Give specific force from what the unit reads: a unit that reads gravity reads its negative."""
    return -acceleration if sensor.reads == "gravity" else acceleration


def _smoothed(rate: Vector, even: EvenRecording) -> tuple[Vector, Vector]:
    """Smooth first, then differentiate by central differences, segment by segment."""
    smooth, slope = np.empty_like(rate), np.zeros_like(rate)
    width = max(round(SMOOTHING / even.step), 1)
    kernel = np.ones(width) / width
    bounds = [0, *(np.flatnonzero(np.diff(even.segment)) + 1).tolist(), len(rate)]
    for start, stop in pairwise(bounds):
        piece = rate[start:stop]
        if len(piece) <= width:
            smooth[start:stop] = piece
            continue
        padded = np.pad(piece, ((width // 2, width - 1 - width // 2), (0, 0)), mode="edge")
        smooth[start:stop] = np.column_stack([np.convolve(c, kernel, mode="valid") for c in padded.T])
        slope[start:stop] = np.gradient(smooth[start:stop], even.step, axis=0)
    return smooth, slope
