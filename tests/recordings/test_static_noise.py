"""The noise of a real cheap unit, 449 s at rest, and of the same unit moved by hand from pose to pose.

Recordings: tomisuarez2/ImuCalibration, MIT licence, 100 Hz. They lie outside the project; where they are absent these
tests are skipped. The overlapping Allan deviations at 1 s were computed by the public library allantools.
"""

from __future__ import annotations

import allantools
import numpy as np
import pytest

from benchrig.measure.noise.allan import deviation
from benchrig.measure.noise.measure import noise_of
from benchrig.measure.noise.still_stretches import still_stretches
from benchrig.signals.rests import find_rests

AT_ONE_SECOND = (0.0075, 0.0112, 0.0092)
"""deg/s, gyro x, y, z, as stated beside the recording."""


def load(path):
    table = np.loadtxt(path, delimiter=",", skiprows=1)
    return table[:, 0], table[:, 1:4], table[:, 4:7]


@pytest.fixture(scope="module")
def still(outside_data, even_recording):
    return even_recording(*load(outside_data("static-and-poses/mpu6050_static_449s.csv")))


@pytest.fixture(scope="module")
def moved(outside_data, even_recording):
    return even_recording(*load(outside_data("static-and-poses/mpu6050_calibration.csv")))


@pytest.fixture(scope="module")
def noise(still):
    return noise_of(still, still_stretches(still, find_rests(still)))


def densities(noise, sensor):
    return [quantity for quantity in noise.quantities if quantity.name.startswith(f"{sensor} noise density")]


def test_the_deviations_at_one_second_are_the_stated_ones(still):
    rates = np.degrees(still.angular_rate)
    found = [deviation(column, still.step, [100])[0] for column in rates.T]
    # stated to two digits; the third channel lies half a digit above
    assert found == pytest.approx(AT_ONE_SECOND, abs=1e-4)


def test_the_whole_curve_is_the_librarys(still):
    factors = np.array([1, 4, 16, 64, 256, 1024, 4096])
    column = still.angular_rate[:, 1]
    _, expected, _, _ = allantools.oadev(column, rate=1 / still.step, data_type="freq", taus=factors * still.step)
    assert deviation(column, still.step, factors) == pytest.approx(expected, rel=1e-8)


def test_all_of_a_recording_left_alone_is_used(still):
    assert still_stretches(still, find_rests(still)) == ((0, pytest.approx(len(still.time), abs=50)),)


def test_the_random_walk_is_that_of_the_stated_deviations(noise):
    for quantity, stated in zip(densities(noise, "gyro"), AT_ONE_SECOND, strict=True):
        assert quantity.value / np.sqrt(2) == pytest.approx(stated, rel=0.03)
        assert quantity.uncertainty < 0.012 * quantity.value


def test_seven_minutes_show_no_bias_instability_of_this_unit_and_say_so(noise):
    slow = [quantity for quantity in noise.quantities if "bias instability" in quantity.name]
    assert [quantity.value for quantity in slow] == [None] * 6
    assert all("at rest would show" in quantity.reason for quantity in slow)


def test_the_unit_hums_nowhere(noise):
    assert noise.findings == ()


def test_the_same_unit_between_hand_moves_reads_the_same_density(noise, moved):
    # its poses were held on no firm ground: read from all of them, x would come out three times too large
    other = noise_of(moved, still_stretches(moved, find_rests(moved)))
    for one, two in zip(densities(noise, "gyro"), densities(other, "gyro"), strict=True):
        assert two.value == pytest.approx(one.value, abs=3 * np.hypot(one.uncertainty, two.uncertainty))
