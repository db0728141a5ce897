"""The unit's own figures against the truth that a simulated bench was made from."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.job import judge
from benchrig.verdict.bench import measure_bench
from benchrig.verdict.unit import unit_figures


@pytest.fixture(scope="module")
def figures(simulated_recording, demo_airframe):
    def take(*faults, airframe="dunlin", **options):
        recording = simulated_recording(airframe, *faults, seed=21, unit_seed=4, **options)
        return unit_figures(measure_bench(demo_airframe(airframe), recording))

    return take


def test_the_bias_is_the_one_the_unit_has(figures):
    usual, shifted = figures(), figures("gyro-bias=5")
    change = np.degrees(shifted.gyro_bias - usual.gyro_bias)
    assert change == pytest.approx([5.0, 5.0, 5.0], abs=0.05)
    assert (np.degrees(usual.gyro_bias_uncertainty) < 0.1).all()


def test_the_scale_is_the_gyros_over_gravitys(figures):
    usual, scaled = figures(), figures("gyro-scale=1.1")
    ratio = scaled.gyro_over_gravity.value / usual.gyro_over_gravity.value
    assert ratio == pytest.approx(1.1, abs=3 * np.sqrt(2) * usual.gyro_over_gravity.uncertainty)


def test_the_bias_of_a_gyro_whose_scale_is_plainly_wrong_is_in_true_units(figures):
    usual, mistaken = figures(), figures("gyro-radians")
    assert np.degrees(mistaken.gyro_bias - usual.gyro_bias) == pytest.approx([0.0, 0.0, 0.0], abs=0.2)


def test_the_size_is_the_accelerometers(figures):
    usual, scaled = figures(), figures("accelerometer-scale=1.05")
    assert scaled.accelerometer_size.value / usual.accelerometer_size.value == pytest.approx(1.05, abs=0.004)


def test_the_noise_is_the_gyros_and_does_not_hang_on_the_rate(figures):
    usual, noisy = figures(), figures("noise=3")
    assert noisy.gyro_noise.value / usual.gyro_noise.value == pytest.approx(3.0, rel=0.2)
    fast = figures(rate_hz=250)
    assert fast.gyro_noise.uncertainty / fast.gyro_noise.value < usual.gyro_noise.uncertainty / usual.gyro_noise.value


def test_the_delay_is_the_accelerometers(figures):
    usual, late = figures(), figures("accelerometer-late=60")
    spread = np.hypot(usual.accelerometer_delay.uncertainty, late.accelerometer_delay.uncertainty)
    change = late.accelerometer_delay.value - usual.accelerometer_delay.value
    assert change == pytest.approx(0.060, abs=3 * spread)


def test_the_temperature_is_the_units_own_or_that_of_the_bench(figures, simulated_recording, demo_airframe):
    assert figures().temperature.value == pytest.approx(24.5, abs=0.5)
    without = figures(temperature=False)
    assert (without.temperature.value, without.temperature.uncertainty) == (24.0, 0.0)
    recording = simulated_recording("dunlin", seed=21, unit_seed=4, temperature=False)
    bare = replace(recording, temperature_at_bench=None)
    assert unit_figures(measure_bench(demo_airframe("dunlin"), bare)).temperature is None


def test_a_bench_that_never_moved_shows_bias_and_noise_alone(figures):
    still = figures(motions=("level",), airframe="knot")
    assert still.gyro_bias is not None
    assert still.gyro_noise is not None
    assert (still.gyro_over_gravity, still.accelerometer_size, still.accelerometer_delay) == (None, None, None)


def test_a_bench_without_a_bias_has_none(simulated_recording, demo_airframe):
    bench = measure_bench(demo_airframe("dunlin"), simulated_recording("dunlin", seed=21, unit_seed=4))
    unit = unit_figures(replace(bench, stillness=replace(bench.stillness, bias=None)))
    assert (unit.gyro_bias, unit.gyro_bias_uncertainty) == (None, None)


def test_the_record_of_a_bench_holds_the_figures(simulated_recording, demo_airframe):
    recording = simulated_recording("dunlin", seed=21, unit_seed=4)
    unit = judge(demo_airframe("dunlin"), recording).unit
    again = unit_figures(measure_bench(demo_airframe("dunlin"), recording))
    assert (unit.gyro_bias == again.gyro_bias).all()
    assert unit.accelerometer_size == again.accelerometer_size
