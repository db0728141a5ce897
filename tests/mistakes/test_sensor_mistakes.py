"""What goes wrong when a unit is calibrated: each gets a clear word, and none a wrong number."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.recording import Turntable
from benchrig.measure.sensor.measure import measure_sensor
from benchrig.outcome import Outcome

SIX = ("level", "inverted", "on nose", "on tail", "on left side", "on right side", "level")


@pytest.fixture(scope="module")
def measured(simulated_recording, demo_airframe):
    """Measure the unit on a simulated bench with mistakes; a change to the recording may come in between."""

    def make(*faults, change=None, motions=SIX, seed=1, **options):
        recording = simulated_recording("dunlin", *faults, seed=seed, motions=motions, **options)
        if change is not None:
            recording = change(recording)
        return measure_sensor(demo_airframe("dunlin"), [recording])

    return make


def codes(measurement, severity=None):
    return {f.code for f in measurement.findings if severity in (None, f.severity)}


def text_of(measurement, code):
    return next(f.text for f in measurement.findings if f.code == code)


def value(measurement, name):
    return next(q.value for q in measurement.quantities if q.name == name)


def untold(measurement, *starts):
    return all(q.value is None for q in measurement.quantities if q.name.startswith(starts))


CALIBRATION = ("accelerometer bias", "accelerometer scale", "accelerometer cross")
LINES = {"accelerometer_bias_mg", "accelerometer_matrix", "gyro_scale"}


def keys(measurement):
    return {e.key for e in measurement.entries}


def test_a_right_bench_has_no_finding_at_all(measured):
    right = measured()
    assert codes(right) == set()
    assert keys(right) == LINES


@pytest.mark.parametrize("left_out", SIX[1:-1])
def test_a_pose_that_was_forgotten_is_named_and_its_axis_not_told(measured, left_out):
    short = measured(motions=tuple(m for m in SIX if m != left_out))
    assert text_of(short, "poses-missing") == f"A pose is missing: {left_out}."
    assert short.outcome is Outcome.NOT_SHOWN
    axis = {"inverted": "z", "on nose": "x", "on tail": "x"}.get(left_out, "y")
    assert value(short, f"accelerometer bias, {axis}") is None
    assert "accelerometer_bias_mg" not in keys(short)


def test_one_pose_taken_for_all_six_calibrates_nothing(measured):
    same = measured(motions=("level",) * 6)
    assert untold(same, *CALIBRATION, "gyro scale")
    assert keys(same) == set()


def test_hand_moves_alone_calibrate_no_accelerometer(measured):
    moves = measured(motions=("level", "nose up", "nose down", "roll right", "roll left", "free", "level"))
    assert untold(moves, *CALIBRATION)
    assert "accelerometer_bias_mg" not in keys(moves)
    reason = next(q.reason for q in moves.quantities if q.name == "accelerometer bias, x")
    assert reason.startswith("one still pose cannot tell it; add inverted, on nose, ")


def test_a_pose_taken_for_another_is_named_and_gives_no_line(measured):
    right = measured()

    def swap(recording):
        renamed = {"on nose": "on tail", "on tail": "on nose"}
        prompts = tuple(replace(p, name=renamed.get(p.name, p.name)) for p in recording.prompts)
        return replace(recording, prompts=prompts)

    wrong = measured(change=swap)
    said = text_of(wrong, "pose-differs")
    assert "on tail was asked for, and it lay on nose" in said
    assert "on nose was asked for, and it lay on tail" in said
    assert value(wrong, "accelerometer bias, x") == value(right, "accelerometer bias, x")
    # the same readings come from an accelerometer with a wrong sign: only the hand knows
    assert wrong.outcome is Outcome.NOT_SHOWN
    assert keys(wrong) == set()


def test_an_airframe_that_was_never_put_down_is_named(measured):
    held = measured("noise=10")
    assert {"never-still", "poses-missing", "pose-not-still"} <= codes(held)
    assert held.outcome is Outcome.NOT_SHOWN
    assert untold(held, *CALIBRATION, "gyro scale", "gyro bias")
    assert keys(held) == set()


@pytest.mark.parametrize(
    ("fault", "code", "word"),
    [
        ("accelerometer-m-s2", "accelerometer-size", "the numbers are m/s², the manifest says g"),
        ("accelerometer-scale=2", "accelerometer-size", "reads 2.0"),
        ("gyro-radians", "gyro-size", "the numbers are rad/s, the manifest says deg/s"),
        ("gyro-degrees", "gyro-size", "the numbers are deg/s, the manifest says rad/s"),
        ("gyro-scale=2", "gyro-size", "a range is set twice as sensitive as declared"),
        ("gyro-scale=0.5", "gyro-size", "a range is set half as sensitive as declared"),
        ("gyro-scale=1.31", "gyro-size", "reads 1.31 times"),
    ],
)
def test_a_wrong_unit_or_range_fails_and_is_never_calibrated_away(measured, fault, code, word):
    wrong = measured(fault)
    assert wrong.outcome is Outcome.FAIL
    assert word in text_of(wrong, code)
    assert ("gyro_scale" if code == "gyro-size" else "accelerometer_matrix") not in keys(wrong)


@pytest.mark.parametrize(
    "fault", ["gyro-swap=xy", "gyro-swap=yz", "gyro-sign=x", "gyro-sign=z", "accelerometer-swap=xz"]
)
def test_axes_that_contradict_one_another_give_no_gyro_scale(measured, fault):
    askew = measured(fault)
    assert "gyro-turns-disagree" in codes(askew, "not shown")
    assert untold(askew, "gyro scale")
    assert "gyro_scale" not in keys(askew)


@pytest.mark.parametrize(
    ("fault", "channel"), [("gyro-dead=x", "gyro's x"), ("accelerometer-dead=z", "accelerometer's z")]
)
def test_a_dead_channel_fails_by_name(measured, fault, channel):
    dead = measured(fault)
    assert dead.outcome is Outcome.FAIL
    assert channel in text_of(dead, "channel-frozen")


def test_a_stream_that_stops_fails(measured):
    stopped = measured("frozen-stream=10")
    assert stopped.outcome is Outcome.FAIL
    assert "while its time goes on" in text_of(stopped, "stream-frozen")


def test_a_gyro_that_reads_a_turn_at_rest_is_not_taken_for_an_airframe_that_moves(measured):
    biased = measured("gyro-bias=40")
    assert "reads up to 4" in text_of(biased, "gyro-bias-large")
    assert "never-still" not in codes(biased)
    assert untold(biased, "gyro bias", "gyro scale")


def test_lowest_bits_that_never_change_fail_by_channel(measured):
    stuck = measured("stuck-bits=y")
    assert stuck.outcome is Outcome.FAIL
    said = [f.text for f in stuck.findings if f.code == "bits-stuck"]
    assert any("2 of gyro y" in text for text in said)
    assert any("2 of accelerometer y" in text for text in said)


def test_poses_at_the_end_of_the_accelerometers_range_are_left_out_by_name(measured):
    clipped = measured("accelerometer-clip=1")
    assert {"unit-clips", "poses-missing"} <= codes(clipped)
    assert untold(clipped, *CALIBRATION)


def test_a_late_sensor_is_named_with_its_delay(measured):
    late = measured("accelerometer-late=60")
    assert "sensor-delay" in codes(late, "not shown")
    assert value(late, "accelerometer behind the gyro") == pytest.approx(60, abs=4)


def test_a_bias_beyond_every_data_sheet_is_named_and_measured(measured):
    right, biased = measured(), measured("accelerometer-bias=200")
    assert "accelerometer-bias-large" in codes(biased, "advice")
    shift = value(biased, "accelerometer bias, y") - value(right, "accelerometer bias, y")
    assert shift == pytest.approx(200, abs=3)


def every_second(recording):
    rows = np.arange(len(recording.time)) // 2 * 2
    return replace(recording, angular_rate=recording.angular_rate[rows], acceleration=recording.acceleration[rows])


def on_arrival(recording):
    arrived = np.ceil(recording.time / 0.064) * 0.064
    return replace(recording, time=arrived + np.arange(len(arrived)) * 1e-7)


def with_holes(recording):
    kept = np.random.default_rng(0).random(len(recording.time)) > 0.02
    rows = {name: getattr(recording, name)[kept] for name in ("time", "angular_rate", "acceleration")}
    return replace(recording, magnetic_field=None, unit_attitude=None, temperature=None, pulses={}, **rows)


@pytest.mark.parametrize(
    ("change", "code"),
    [(every_second, "samples-repeat"), (on_arrival, "stamps-bunched"), (with_holes, "samples-lost")],
)
def test_a_stream_that_is_not_what_it_seems_is_named(measured, change, code):
    assert code in codes(measured(change=change), "advice")


def stated_at_45(recording):
    return replace(recording, turntable=Turntable(45 * np.pi / 30, recording.turntable.pivot))


SPIN = ("level", "turntable clockwise", "level")


def test_a_table_that_does_not_turn_as_stated_is_not_believed_where_gravity_counts_its_turns(measured):
    true = measured(motions=SPIN, turntable_tilt_deg=2.0)
    wrong = measured(motions=SPIN, turntable_tilt_deg=2.0, change=stated_at_45)
    assert value(wrong, "gyro scale error, z") == value(true, "gyro scale error, z")


def test_a_stated_speed_that_nothing_bears_out_tells_no_scale(measured):
    wrong = measured(motions=SPIN, turntable_tilt_deg=0.0, change=stated_at_45)
    assert untold(wrong, "gyro scale")
    assert "reads 0.74 times the stated speed of the table" in text_of(wrong, "table-speed-differs")
    assert wrong.outcome is Outcome.NOT_SHOWN
    assert keys(wrong) == set()
