"""The noise of simulated units, through files: what was put in is read out, in the units of data sheets."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.measure.noise.measure import duration, measure_noise
from benchrig.simulation.sensors import _ACCELEROMETER_NOISE, _GYRO_NOISE

STILL = ("level",) * 10
"""About 20 s at rest."""


@pytest.fixture(scope="module")
def sensor(demo_airframe):
    return demo_airframe("dunlin").sensor


@pytest.fixture(scope="module")
def measured(simulated_recording, sensor):
    def make(*faults, **options):
        return measure_noise(simulated_recording("dunlin", *faults, **({"motions": STILL} | options)), sensor)

    return make


def values(noise, what):
    return [quantity for quantity in noise.quantities if what in quantity.name]


def counted(density, count, rate_hz):
    """Add the noise that rounding to whole counts makes: q/√12 over half the sample rate."""
    return np.hypot(density, count / np.sqrt(12) / np.sqrt(rate_hz / 2))


def test_the_density_put_in_is_read_out(measured, sensor):
    noise = measured()
    gyro = counted(np.degrees(_GYRO_NOISE), np.degrees(sensor.gyro_range) / 32768, 100)
    accelerometer = counted(_ACCELEROMETER_NOISE, sensor.accelerometer_range / 32768, 100) / 9.80665e-6
    for quantity, true in [
        *((q, gyro) for q in values(noise, "gyro noise density")),
        *((q, accelerometer) for q in values(noise, "accelerometer noise density")),
    ]:
        assert quantity.value == pytest.approx(true, abs=4 * quantity.uncertainty)
        assert quantity.uncertainty < 0.06 * quantity.value


def test_three_times_the_noise_reads_three_times_the_density(measured):
    once, thrice = measured(), measured("noise=3")
    for low, high in zip(values(once, "accelerometer noise"), values(thrice, "accelerometer noise"), strict=True):
        assert high.value / low.value == pytest.approx(3.0, rel=0.2)


def test_every_channel_has_its_four_numbers_or_a_reason(measured):
    noise = measured()
    assert len(noise.quantities) == 24
    assert {quantity.unit for quantity in noise.quantities} == {
        *("°/s/√Hz", "°/√h", "°/h", "°/h/√h"),
        *("µg/√Hz", "m/s/√h", "µg", "µg/√h"),
    }
    assert all((q.value is None) == (q.uncertainty is None) for q in noise.quantities)
    assert all(quantity.reason for quantity in noise.quantities)


def test_a_random_walk_is_the_density_in_another_unit(measured):
    noise = measured()
    for density, walk in zip(values(noise, "gyro noise density"), values(noise, "angle random walk"), strict=True):
        assert walk.value == pytest.approx(60 * density.value / np.sqrt(2))


def test_what_twenty_seconds_cannot_tell_says_how_long_it_takes(measured):
    slow = [*values(measured(), "bias instability"), *values(measured(), "rate random walk")]
    assert all(quantity.value is None for quantity in slow)
    assert any(
        "hidden by other noise" in quantity.reason and "at rest would show" in quantity.reason for quantity in slow
    )


def test_the_pictures_say_their_numbers(measured):
    noise = measured()
    assert [figure.title for figure in noise.figures] == [
        "Allan deviation of the gyro at rest",
        "Allan deviation of the accelerometer at rest",
    ]
    for figure in noise.figures:
        assert [curve.label for curve in figure.curves] == ["x", "y", "z"]
        assert all(np.all(curve.spread > 0) for curve in figure.curves)
        assert f"{figure.curves[0].y[0]:.3g}" in figure.description


def test_a_bench_that_hums_is_told_and_a_quiet_one_is_not(measured):
    assert measured().findings == ()
    (finding,) = measured("vibration=27.5,0.02").findings
    assert finding.code == "vibration-at-rest"
    assert "27.5 Hz in " in finding.text


def test_a_unit_in_the_hand_shows_no_noise(measured):
    noise = measured("hand-rests", motions=("free",))
    assert all(quantity.value is None for quantity in noise.quantities)
    assert "lie still; it takes 3 s" in noise.quantities[0].reason
    assert noise.figures == ()


@pytest.mark.parametrize(
    ("seconds", "said"), [(14.2, "15 s"), (119.0, "119 s"), (121.0, "3 min"), (7199.0, "120 min"), (7300.0, "2.1 h")]
)
def test_times_are_said_as_a_person_plans_them(seconds, said):
    assert duration(seconds) == said
