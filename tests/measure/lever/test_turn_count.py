"""Gravity counts the turns, where the table is not quite level."""

from dataclasses import replace

import numpy as np
import pytest
from turning_bodies import CONSUMER, spun, table

from benchrig.measure.lever.spin import find_spins
from benchrig.measure.lever.stand import Readings
from benchrig.measure.lever.turn_count import count_turns
from benchrig.signals.rests import find_rests

ARM = (0.06, -0.03, 0.02)


def counted(even, gain=1.0):
    stillness = find_rests(even)
    rate = (even.angular_rate - stillness.bias.value) * gain
    (stand,), _ = find_spins(Readings(even, rate, even.acceleration, stillness, "bench"), table(), ())
    return count_turns(stand)


@pytest.mark.parametrize("gain", [0.97, 1.0, 1.03])
@pytest.mark.parametrize("seconds", [8.0, 40.0])
def test_the_gyros_scale_is_told_by_gravity(gain, seconds):
    count = counted(spun(ARM, seconds=seconds, errors=CONSUMER), gain)
    assert count.fits
    assert count.ratio == pytest.approx(1 / gain, abs=4 * count.spread)
    assert count.spread < 0.02 / seconds


@pytest.mark.parametrize("gain", [0.5, 0.77, 1.3, 2.0])
def test_a_gyro_of_another_scale_is_found_out(gain):
    count = counted(spun(ARM, errors=CONSUMER), gain)
    assert not count.fits
    assert count.ratio == pytest.approx(1 / gain, rel=0.02)


def test_a_gyro_that_turns_the_other_way_than_gravity_is_found_out():
    count = counted(spun(ARM, errors=CONSUMER), -1.0)
    assert not count.fits
    assert count.ratio == pytest.approx(-1, abs=0.01)


def test_a_level_table_counts_nothing_and_accuses_nobody():
    count = counted(spun(ARM, tilt_deg=0.0, errors=CONSUMER))
    assert count.ratio is None
    assert count.fits


def test_rounding_errors_count_no_turns():
    """A table that is level to the last bit, and a sensor on its axis."""
    count = counted(spun((0.0, 1e-300, 0.02), tilt_deg=0.0))
    assert count.ratio is None


def test_the_tilt_is_that_of_the_table():
    count = counted(spun(ARM, tilt_deg=2.0, errors=replace(CONSUMER, accelerometer_bias=(0.3, -0.2, 0.1))))
    assert count.tilt == pytest.approx(9.80665 * np.sin(np.radians(2.0) * np.hypot(1, 0.4)), rel=0.02)
