"""A declared calibration takes the unit's own errors out, and never hides a wrong axis."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.declaration.airframe import Calibration
from benchrig.job import judge
from benchrig.outcome import Outcome
from benchrig.signals.calibration import calibrated

NOTHING = Calibration(None, None, None, None, None)
BIAS = np.array([0.3, -0.2, 0.5])
MATRIX = np.array([[1.02, 0.01, 0.0], [0.0, 0.97, -0.02], [0.015, 0.0, 1.01]])


@pytest.fixture
def still(exact_stream):
    return exact_stream([((0, 0, 0), 1.0), ((40, 0, 0), 1.0), ((0, 0, 0), 1.0)])


def test_true_is_matrix_times_reading_less_bias(still):
    read = replace(still, acceleration=still.acceleration @ np.linalg.inv(MATRIX).T + BIAS)
    mended = calibrated(read, replace(NOTHING, accelerometer_bias=BIAS, accelerometer_matrix=MATRIX))
    np.testing.assert_allclose(mended.acceleration, still.acceleration, atol=1e-12)
    np.testing.assert_array_equal(mended.angular_rate, still.angular_rate)


def test_each_gyro_axis_has_a_scale_of_its_own(still):
    scale = np.array([1.03, 0.98, 1.0])
    mended = calibrated(replace(still, angular_rate=still.angular_rate / scale), replace(NOTHING, gyro_scale=scale))
    np.testing.assert_allclose(mended.angular_rate, still.angular_rate, atol=1e-12)


def test_a_compass_is_mended_and_its_missing_rows_stay_missing(still):
    field = np.tile([20e-6, 0.0, 45e-6], (len(still.time), 1))
    field[3] = np.nan
    mended = calibrated(replace(still, magnetic_field=field), replace(NOTHING, magnetometer_bias=np.full(3, 5e-6)))
    assert np.isnan(mended.magnetic_field[3]).all()
    np.testing.assert_allclose(mended.magnetic_field[4], [15e-6, -5e-6, 40e-6])


def test_without_a_calibration_the_recording_is_the_same(still):
    assert calibrated(still, None) is still


def test_check_applies_it_and_says_so(demo_airframe, simulated_recording):
    recording = simulated_recording("dunlin")
    scaled = replace(recording, acceleration=recording.acceleration * 1.12 + [0.9, 0.0, 0.0])
    plain = judge(demo_airframe("dunlin"), scaled)
    assert plain.verdict is not Outcome.PASS
    declared = Calibration(None, np.array([0.9, 0.0, 0.0]), np.eye(3) / 1.12, None, None)
    mended = judge(replace(demo_airframe("dunlin"), calibration=declared), scaled)
    assert mended.verdict is Outcome.PASS
    assert "the calibration of the airframe file is applied: accelerometer bias, accelerometer matrix" in (
        mended.recording.history
    )
