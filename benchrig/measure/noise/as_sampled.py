"""A recording sample by sample, for noise and vibration: laid onto an even grid, both would be filtered."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import Vector
from benchrig.signals.body import BoolArray, EvenRecording
from benchrig.signals.time_base import clipped

_LOST: Final = 1.5  # median steps: a longer one has lost a sample
_OFTEN: Final = 10  # samples
_CROWDED: Final = 5  # times as often as any of the values next to it
_NEIGHBOURS: Final = 5


def as_sampled(recording: Recording, sensor: Sensor) -> EvenRecording:
    """Take the samples as they came, at their mean step; a new segment begins wherever one was lost.

    A unit samples by its own steady clock. Its stamps jitter and are rounded, so that the mean step is what noise
    densities and folded frequencies need.

    Parameters
    ----------
    recording : Recording
    sensor : Sensor
        For the declared full scales, which show clipping.

    Returns
    -------
    EvenRecording
        In sensor axes, without compass and attitude.
    """
    steps = np.diff(recording.time)
    lost = steps > _LOST * np.median(steps)
    gyro_scale = sensor.gyro_range or recording.gyro_full_scale
    accelerometer_scale = sensor.accelerometer_range or recording.accelerometer_full_scale
    return EvenRecording(
        time=recording.time,
        step=float(steps[~lost].mean()),
        segment=np.concatenate([[0], np.cumsum(lost)]).astype(np.int64),
        angular_rate=recording.angular_rate,
        acceleration=recording.acceleration,
        magnetic_field=None,
        unit_attitude=None,
        gyro_clipped=clipped(recording.angular_rate, gyro_scale) | cut_off(recording.angular_rate),
        accelerometer_clipped=clipped(recording.acceleration, accelerometer_scale) | cut_off(recording.acceleration),
    )


def cut_off(values: Vector) -> BoolArray:
    """Mark the samples that stand at a channel's largest or smallest value, where far too many do.

    A vibration that meets the end of a range stays there for single samples, too few for a flat top. But its largest
    value is then met far more often than the values next to it; of a sine that ends by itself, 2.4 times as often.

    Parameters
    ----------
    values : ndarray, shape (N, 3)

    Returns
    -------
    ndarray, shape (N,), bool
    """
    marks = np.zeros(len(values), dtype=np.bool_)
    for channel in values.T:
        levels, counts = np.unique(channel, return_counts=True)
        if len(levels) <= 2 * _NEIGHBOURS:
            continue
        for end, beside in ((0, counts[1 : 1 + _NEIGHBOURS]), (-1, counts[-1 - _NEIGHBOURS : -1])):
            if counts[end] >= _OFTEN and counts[end] > _CROWDED * beside.max():
                marks |= channel == levels[end]
    return marks
