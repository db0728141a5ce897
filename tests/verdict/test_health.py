"""Checks of the data: each has its limit, its value, and a fault that trips it."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.job import judge
from benchrig.outcome import Outcome
from benchrig.simulation.bench import simulate
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options
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


@pytest.fixture(scope="module")
def without():
    """Judge a right multirotor's bench, its usual motions made twice, without some stretches of its samples."""
    declared = read_airframe(Path(__file__).parents[2] / "captures" / "knot.toml")
    motions = ("level", *REQUIRED_TURNS, "free", *REQUIRED_TURNS, "level")
    bench = simulate(declared, seed=3, options=Options(motions=motions))

    def judge_without(*stretches):
        with tempfile.TemporaryDirectory() as folder:
            written = write_capture(bench, Path(folder) / "bench")
            head, *rows = written.stream.read_text().splitlines()
            seconds = [float(row.split(",")[0]) / 1e6 for row in rows]
            kept = [
                row
                for row, at in zip(rows, seconds, strict=True)
                if not any(start < at - seconds[0] < end for start, end in stretches)
            ]
            written.stream.write_text("\n".join([head, *kept, ""]))
            return judge(declared, read_capture(written.manifest, declared))

    return bench, judge_without


def middle_of(bench, name, turn=0):
    start, end = [(start, end) for made, start, end in bench.prompts if made == name][turn]
    return 0.5 * (start + end) - 0.4, 0.5 * (start + end) - 0.2


def test_a_gap_inside_a_motion_that_was_made_again_without_one_keeps_no_pass_away(without):
    bench, judge_without = without
    record = judge_without(middle_of(bench, "nose up"))
    assert check(record, "gaps over 50 ms").reason == "1 of them inside a motion"
    assert not [f for f in record.findings if f.code == "gaps"]
    assert record.verdict is Outcome.PASS


def test_a_gap_inside_every_repetition_of_a_motion_keeps_every_pass_away(without):
    bench, judge_without = without
    record = judge_without(middle_of(bench, "nose up"), middle_of(bench, "nose up", 1))
    assert check(record, "gaps over 50 ms").outcome is Outcome.NOT_SHOWN
    assert [f.text for f in record.findings if f.code == "gaps"] == ["the stream has gaps inside nose up."]
    assert record.verdict is Outcome.NOT_SHOWN


def test_a_gap_while_it_lies_on_the_bench_keeps_no_pass_away(without):
    bench, judge_without = without
    start, end = next((start, end) for made, start, end in bench.prompts if made == "level")
    record = judge_without((start + 0.9, start + 1.4))
    health = check(record, "gaps over 50 ms")
    assert (health.value, health.outcome, end - start > 2) == (1.0, Outcome.PASS, True)
    assert record.verdict is Outcome.PASS
