"""Checks of the data: each has its limit, its value, and a fault that trips it."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.outcome import Outcome
from benchrig.verdict.health import all_frozen, frozen_channels, sensor_delay

# fault, the check it trips, and how
TRIPPED = [
    ("gyro-scale=2", "gyro angle over gravity angle", Outcome.FAIL),
    ("gyro-scale=0.5", "gyro angle over gravity angle", Outcome.FAIL),
    ("accelerometer-scale=1.2", "accelerometer at rest", Outcome.FAIL),
    ("noise=20", "gyro noise", Outcome.NOT_SHOWN),
    ("gaps=3", "gaps over 50 ms", Outcome.NOT_SHOWN),
    ("gyro-clip=40", "samples at the end of a range", Outcome.NOT_SHOWN),
    ("gyro-frozen=z", "dead or frozen channels", Outcome.FAIL),
    ("accelerometer-dead=x", "dead or frozen channels", Outcome.FAIL),
    ("accelerometer-late=80", "accelerometer behind the gyro", Outcome.NOT_SHOWN),
]


def check(record, name):
    (found,) = [h for h in record.health if h.check == name]
    return found


@pytest.mark.parametrize(("fault", "name", "outcome"), TRIPPED)
def test_a_fault_of_the_data_trips_its_own_check_and_no_pass_is_left(judged, fault, name, outcome):
    record = judged("knot", fault)
    assert check(record, name).outcome is outcome
    assert record.verdict is not Outcome.PASS


@pytest.mark.parametrize("airframe", ["dunlin", "knot"])
def test_a_sound_recording_passes_every_check_and_shows_its_values(judged, airframe):
    record = judged(airframe)
    assert {h.outcome for h in record.health} == {Outcome.PASS}
    assert check(record, "gyro angle over gravity angle").value == pytest.approx(1, abs=0.06)
    assert check(record, "accelerometer at rest").value == pytest.approx(1, abs=0.06)
    assert check(record, "gyro noise").value == pytest.approx(0.008, rel=0.5)  # °/s/√Hz of the simulated sensor
    assert all(h.reason for h in record.health)


def test_the_noise_density_does_not_depend_on_the_rate(judged):
    slow, fast = (check(judged("knot", rate_hz=rate), "gyro noise").value for rate in (100.0, 400.0))
    assert slow == pytest.approx(fast, rel=0.4)


def test_frozen_and_dead_channels_are_named(measured):
    assert frozen_channels(measured("knot", "gyro-frozen=y")) == ("gyro y",)
    assert frozen_channels(measured("knot", "accelerometer-dead=xz")) == ("accelerometer x", "accelerometer z")
    assert frozen_channels(measured("knot")) == ()


def test_a_stream_that_stops_is_told_from_one_that_rests(measured):
    assert all_frozen(measured("knot", "frozen-stream=10"))
    assert not all_frozen(measured("knot"))


@pytest.mark.parametrize("late_ms", [0.0, 60.0, -60.0])
def test_the_accelerometers_delay_is_measured_with_its_sign(measured, late_ms):
    bench = measured("knot", f"accelerometer-late={late_ms:g}") if late_ms else measured("knot")
    delay, spread = sensor_delay(bench)
    assert delay == pytest.approx(late_ms * 1e-3, abs=0.012)
    assert 0.001 <= spread < 0.02


def test_a_bench_without_tilts_shows_no_delay_and_no_ratio(measured, judged):
    options = {"motions": ("level", "yaw right", "yaw left"), "slop_deg": 0.0}
    assert sensor_delay(measured("knot", **options)) is None
    record = judged("knot", **options)
    assert check(record, "gyro angle over gravity angle").outcome is Outcome.NOT_SHOWN
    assert record.verdict is Outcome.NOT_SHOWN


def test_a_large_bias_is_shown_as_it_is(judged):
    assert check(judged("knot", "gyro-bias=10"), "gyro bias").value == pytest.approx(10, abs=3)
    assert np.isfinite(check(judged("knot"), "gyro bias").value)
