"""Why the filter's gains are not the library's own: a board turned by hand and then spun.

Recording: xioTechnologies/Fusion, Examples/Python/sensor_data.csv, MIT licence. It lies outside the project; where
it is absent these tests are skipped.
"""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.attitude.kernel import Loop
from benchrig.attitude.library import pull_of_gravity, upright_attitude
from benchrig.attitude.reference import INTEGRAL_GAIN, PROPORTIONAL_GAIN, gyro_attitude, reference_attitude
from benchrig.geometry.rotations import FRD_FROM_FLU, multiply, vector_from_quaternion

STEP = 0.01
REST = (200, 1200)
SPIN_START_S = 62.0


@pytest.fixture(scope="module")
def board(outside_data, body_recording):
    columns = np.loadtxt(outside_data("hand-tilt/hand-tilt.csv"), delimiter=",", skiprows=1)
    time = columns[:, 0] - columns[0, 0]
    even = np.arange(0.0, time[-1], STEP)
    values = np.column_stack([np.interp(even, time, columns[:, k]) for k in range(1, 7)])
    rate, force = np.radians(values[:, :3]) @ FRD_FROM_FLU, 9.80665 * values[:, 3:] @ FRD_FROM_FLU
    return body_recording(rate - rate[slice(*REST)].mean(axis=0), force, STEP)


def away_from_the_gyro_deg(board, gains) -> tuple[np.ndarray, np.ndarray]:
    """Angle to the gyro's own attitude at each sample, and the bias (deg/s) that the filter ends with."""
    pull = pull_of_gravity(board.specific_force)
    start = upright_attitude(pull[slice(*REST)].mean(axis=0))
    loop = Loop(board.angular_rate, pull, STEP, gains, start, compiled=False)
    loop.run_to(len(pull))
    by_gyro = multiply(start, gyro_attitude(board))
    apart = multiply(loop.attitude * [1.0, -1.0, -1.0, -1.0], by_gyro)
    return np.degrees(np.linalg.norm(vector_from_quaternion(apart), axis=1)), np.degrees(np.array(loop.bias))


def test_the_librarys_gains_learn_a_bias_that_is_not_there(board):
    apart, bias = away_from_the_gyro_deg(board, (1.0, 0.3))
    assert np.abs(bias).max() > 5.0  # measured: 16°/s
    assert apart.max() > 90.0  # measured: 180°


def test_the_gains_used_learn_none_and_stay_with_the_gyro(board):
    apart, bias = away_from_the_gyro_deg(board, (PROPORTIONAL_GAIN, INTEGRAL_GAIN))
    assert np.abs(bias).max() < 0.3
    assert apart.max() < 9.0  # measured: 7.2°
    assert apart[: round(SPIN_START_S / STEP)].max() < 2.0  # measured: 1.4°


def test_gravity_agrees_with_the_reference_at_every_hold_before_the_spin(board):
    quiet = np.linalg.norm(board.angular_rate, axis=1) < np.radians(6.0)
    runs = np.flatnonzero(np.diff(np.concatenate([[0], quiet.astype(int), [0]])))
    holds = [(a, b) for a, b in zip(runs[::2].tolist(), runs[1::2].tolist(), strict=True) if b - a >= 0.4 / STEP]
    holds = [hold for hold in holds if hold[1] * STEP < SPIN_START_S]
    assert len(holds) >= 8
    by_gyro, gravity = reference_attitude(board, holds).agreements
    assert np.degrees(gravity.worst) < 4.0
    assert np.degrees(gravity.rms) < 1.0
    assert np.degrees(by_gyro.rms) > 0
