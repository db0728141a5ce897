"""What a consumer gyro and accelerometer unit may be off by, and what its counts mean (section 2b, rows T1, T2, I22).

Source: a public data sheet of a consumer unit, PS-MPU-6000A-00 rev. 3.4, p. 12-13 (confirmed); the consequences by
arithmetic.
"""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.attitude.library import pull_of_gravity, upright_attitude
from benchrig.capture.units import DEGREE, full_scale, unit_of
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.geometry.integration import net_turn
from benchrig.geometry.rotations import angles_from_matrix, gravity_reading, matrix_from_quaternion
from benchrig.signals.rests import LARGEST_BIAS
from benchrig.verdict.wirings import LEVEL_SPREAD

WHOLE = np.array([[1.0, -32768.0, 32767.0]])


@pytest.mark.parametrize(("count", "range_deg_s"), [(131.0, 250), (65.5, 500), (32.8, 1000), (16.4, 2000)])
def test_2b_counts_of_a_gyro_reach_to_its_range(count, range_deg_s):
    found = full_scale(WHOLE, unit_of("gyro", "deg/s", count))
    assert found / DEGREE == pytest.approx(range_deg_s, rel=1.1e-3)


@pytest.mark.parametrize(("count", "range_g"), [(16384, 2), (8192, 4), (4096, 8), (2048, 16)])
def test_2b_counts_of_an_accelerometer_reach_to_its_range(count, range_g):
    found = full_scale(WHOLE, unit_of("accelerometer", "g", count))
    assert found / STANDARD_GRAVITY == pytest.approx(range_g, abs=1e-12)


def test_i22_the_size_of_one_count():
    # I22, arithmetic: 2000 deg/s and 16 g in 16 bits
    assert unit_of("gyro", "deg/s", 32768 / 2000).factor / DEGREE == pytest.approx(0.0610352, abs=5e-8)
    assert 1000 * unit_of("accelerometer", "g", 32768 / 16).factor / STANDARD_GRAVITY == pytest.approx(
        0.488281, abs=5e-7
    )


@pytest.mark.parametrize(("bias", "tilt"), [(0.05, 2.866), (0.08, 4.589)])
def test_t1_an_accelerometers_bias_reads_as_a_tilt_that_a_level_rest_allows_for(bias, tilt):
    # T1, asin(bias), the unit turned until its biased reading shows level
    turned = gravity_reading(0.0, np.arcsin(bias))
    attitude = matrix_from_quaternion(upright_attitude(pull_of_gravity(turned[None])[0]))
    assert np.degrees(angles_from_matrix(attitude))[1] == pytest.approx(tilt, abs=5e-4)
    assert np.degrees(LEVEL_SPREAD) > tilt


def test_t2_a_gyros_offset_left_in_turns_as_far_as_a_hand_does():
    # T2: ±20 deg/s for a second is 20 deg; the largest bias taken for one must hold it
    rate = np.tile(np.radians([0.0, 20.0, 0.0]), (101, 1))
    assert np.degrees(net_turn(rate, 0.01)[1]) == pytest.approx(20.0)
    assert np.degrees(LARGEST_BIAS) > 20.0
