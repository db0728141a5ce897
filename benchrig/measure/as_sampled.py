"""A recording sample by sample, for noise and vibration: laid onto an even grid, both would be filtered."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Sensor
from benchrig.signals.body import EvenRecording
from benchrig.signals.time_base import clipped

_LOST: Final = 1.5  # median steps: a longer one has lost a sample


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
        gyro_clipped=clipped(recording.angular_rate, gyro_scale),
        accelerometer_clipped=clipped(recording.acceleration, accelerometer_scale),
    )
