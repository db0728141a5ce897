"""What the tests on real recordings share: plain columns as an even recording."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.signals.body import EvenRecording
from benchrig.signals.time_base import clipped


@pytest.fixture(scope="session")
def even_recording():
    """Make an even recording, in sensor axes, from steady times (s), rates (rad/s) and readings (m/s²)."""

    def make(time, rate, acceleration, gyro_range=None) -> EvenRecording:
        steps = np.diff(time)
        step = float(np.median(steps))
        assert np.abs(steps - step).max() < 0.15 * step, "this needs steady steps"
        rate, acceleration = np.asarray(rate, dtype=np.float64), np.asarray(acceleration, dtype=np.float64)
        return EvenRecording(
            time=np.asarray(time, dtype=np.float64),
            step=step,
            segment=np.zeros(len(time), dtype=np.int64),
            angular_rate=rate,
            acceleration=acceleration,
            magnetic_field=None,
            unit_attitude=None,
            gyro_clipped=clipped(rate, gyro_range),
            accelerometer_clipped=clipped(acceleration, None),
        )

    return make
