"""The measurement of the unit's own errors as a whole: simulated benches through their files."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from still_benches import MG, SIX

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.measure.amendment import amended
from benchrig.measure.sensor.measure import measure_sensor
from benchrig.outcome import Outcome
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

ROUND = (*SIX, "level")


@pytest.fixture(scope="module")
def bench(demo_airframe, tmp_path_factory):
    """Simulate a bench of poses; give what is really wrong with the unit, and the recording."""

    def make(*faults, airframe="dunlin", seed=1, **options):
        declared = demo_airframe(airframe)
        chosen = Options(**({"motions": ROUND} | options))
        made = simulate(declared, seed=seed, faults=parse_faults(faults, declared), options=chosen)
        written = write_capture(made, tmp_path_factory.mktemp("poses") / "poses")
        return made, read_capture(written.manifest, declared)

    return make


@pytest.fixture(scope="module")
def poses(bench, demo_airframe):
    made, recording = bench()
    return made, measure_sensor(demo_airframe("dunlin"), [recording])


def quantity(measurement, name):
    return next(q for q in measurement.quantities if q.name == name)


def entry(measurement, key):
    return next(e for e in measurement.entries if e.key == key)


def test_six_poses_give_bias_and_scale_within_their_uncertainty(poses):
    made, measurement = poses
    model = made.accelerometer_model
    for axis, name in enumerate("xyz"):
        bias = quantity(measurement, f"accelerometer bias, {name}")
        assert abs(bias.value - model.bias[axis] / MG) < 3 * bias.uncertainty
        scale = quantity(measurement, f"accelerometer scale error, {name}")
        assert abs(scale.value - 100 * (np.linalg.norm(model.gain[axis]) - 1)) < 3 * scale.uncertainty


def test_the_turns_between_them_give_the_gyros_scale_where_they_can(poses):
    made, measurement = poses
    told = 0
    for axis, name in enumerate("xyz"):
        scale = quantity(measurement, f"gyro scale error, {name}")
        if scale.value is not None:
            told += 1
            true = 100 * (np.linalg.norm(made.gyro_model.gain[axis]) - 1)
            assert abs(scale.value - true) < 3 * scale.uncertainty
    assert told >= 2


def test_cross_talk_is_not_told_by_six_poses_and_the_poses_that_would_tell_it_are_named(poses):
    _, measurement = poses
    cross = quantity(measurement, "accelerometer cross-talk, x and y")
    assert (cross.value, cross.uncertainty) == (None, None)
    assert cross.reason.startswith("add still poses half way between on tail and on ")


def test_the_lines_for_the_airframe_file_make_a_calibrated_unit(poses, captures, tmp_path):
    made, measurement = poses
    lines = amended((captures / "dunlin.toml").read_text(encoding="utf-8"), measurement.entries)
    (tmp_path / "dunlin.toml").write_text(lines, encoding="utf-8")
    calibration = read_airframe(tmp_path / "dunlin.toml").calibration
    directions = np.vstack([np.eye(3), -np.eye(3)]) * 9.80665
    readings = directions @ made.accelerometer_model.gain.T + made.accelerometer_model.bias
    mended = (readings - calibration.accelerometer_bias) @ calibration.accelerometer_matrix.T
    assert np.abs(np.linalg.norm(readings, axis=1) / 9.80665 - 1).max() > 0.01
    assert np.linalg.norm(mended, axis=1) / 9.80665 == pytest.approx(np.ones(6), abs=0.004)
    told = [k for k, name in enumerate("xyz") if name in entry(measurement, "gyro_scale").value]
    gains = np.linalg.norm(made.gyro_model.gain, axis=1)
    assert (calibration.gyro_scale * gains)[told] == pytest.approx(np.ones(len(told)), abs=0.003)


def test_every_value_stands_with_its_unit_and_every_untold_one_with_its_reason(poses):
    _, measurement = poses
    assert measurement.kind == "sensor"
    assert measurement.outcome is Outcome.NOT_APPLICABLE
    assert all(q.reason for q in measurement.quantities if q.value is None)
    assert {f.title for f in measurement.figures} >= {
        "What each pose reads: too few to prove the calibration, which would bring any six together.",
        "After calibration the gyro follows gravity from pose to pose.",
    }


def test_a_calibration_that_holds_passes_and_one_that_does_not_fails(poses, bench, captures, tmp_path):
    _, measurement = poses
    right = amended((captures / "dunlin.toml").read_text(encoding="utf-8"), measurement.entries)
    _, recording = bench(seed=1)
    for text, outcome in ((right, Outcome.PASS), (right.replace("{x = -", "{x = 5"), Outcome.FAIL)):
        (tmp_path / "dunlin.toml").write_text(text, encoding="utf-8")
        again = measure_sensor(read_airframe(tmp_path / "dunlin.toml"), [recording])
        assert quantity(again, "accelerometer bias, x").outcome is outcome
        assert ("calibration-differs" in {f.code for f in again.findings}) is (outcome is Outcome.FAIL)


def test_a_declared_calibration_that_nothing_shows_is_not_shown(bench, captures, tmp_path):
    text = (captures / "dunlin.toml").read_text(encoding="utf-8") + "\n[calibration]\ngyro_scale = { x = 1.01 }\n"
    (tmp_path / "dunlin.toml").write_text(text, encoding="utf-8")
    _, recording = bench(motions=("level",), rest_s=6.0)
    measurement = measure_sensor(read_airframe(tmp_path / "dunlin.toml"), [recording])
    assert quantity(measurement, "gyro scale error, x").outcome is Outcome.NOT_SHOWN
    assert measurement.outcome is Outcome.NOT_SHOWN


def test_recordings_of_one_unit_are_joined(bench, demo_airframe):
    made, first = bench(motions=("level", "inverted", "on nose"))
    _, second = bench(motions=("on tail", "on left side", "on right side"))
    alone = measure_sensor(demo_airframe("dunlin"), [first])
    assert quantity(alone, "accelerometer bias, x").value is None
    both = measure_sensor(demo_airframe("dunlin"), [first, second])
    bias = quantity(both, "accelerometer bias, x")
    assert abs(bias.value - made.accelerometer_model.bias[0] / MG) < 3 * bias.uncertainty
    assert quantity(both, "sample rate, poses.toml").value == pytest.approx(100, rel=1e-3)
    assert len(both.evidence) == 2


@pytest.mark.parametrize("tilt", [0.0, 2.0])
def test_a_spin_tells_the_gyros_scale_about_its_axis(bench, demo_airframe, tilt):
    motions = ("level", "turntable clockwise", "turntable counter-clockwise", "level")
    made, recording = bench(motions=motions, turntable_tilt_deg=tilt)
    measurement = measure_sensor(demo_airframe("dunlin"), [recording])
    scale = quantity(measurement, "gyro scale error, z")
    assert abs(scale.value - 100 * (np.linalg.norm(made.gyro_model.gain[2]) - 1)) < 3 * scale.uncertainty
    assert scale.uncertainty < (0.55 if tilt == 0 else 0.2)  # a stated speed alone counts with all of its ±0.5 %
    assert ("rests on the stated speed" in scale.reason) is (tilt == 0)
    assert any("stated speed is right" in line for line in measurement.unknown) is (tilt == 0)
    assert [e.key for e in measurement.entries] == ([] if tilt == 0 else ["gyro_scale"])
    (sources,) = [line for line in measurement.method if line.startswith("The gyro's scale is from")]
    assert sources.endswith(": it must turn with the table.")
    assert quantity(measurement, "gyro scale error, x").value is None


def test_a_long_rest_gives_the_noise_and_names_no_missing_pose_as_a_fault(bench, demo_airframe):
    made, recording = bench(motions=("level",), rest_s=60.0)
    measurement = measure_sensor(demo_airframe("dunlin"), [recording])
    density = quantity(measurement, "gyro noise density, x")
    assert density.value == pytest.approx(np.degrees(made.gyro_model.noise_density), rel=0.15)
    assert measurement.outcome is Outcome.NOT_APPLICABLE
    assert "poses-missing" not in {f.code for f in measurement.findings}


@pytest.mark.parametrize("column", ["acceleration", "angular_rate"])
def test_a_sensor_that_gives_zeros_is_named_and_nothing_is_told_of_it(bench, demo_airframe, column):
    _, recording = bench(motions=("level", "on nose", "on tail", "level"))
    dead = replace(recording, **{column: np.zeros_like(recording.acceleration)})
    measurement = measure_sensor(demo_airframe("dunlin"), [dead])
    name = "accelerometer" if column == "acceleration" else "gyro"
    assert measurement.outcome is Outcome.FAIL
    assert f"The {name}'s x, y and z never change in " in next(
        f.text for f in measurement.findings if f.code == "channel-frozen"
    )
    told = [q.name for q in measurement.quantities if q.value is not None and q.name.startswith(name)]
    assert not [n for n in told if "scale" in n or ("bias" in n and name == "accelerometer")]
    assert measurement.entries == ()


@pytest.mark.parametrize("every", [12, 40])
def test_a_few_samples_a_second_draw_no_number_that_is_not_finite(bench, demo_airframe, every):
    _, recording = bench(motions=("level", "on nose", "on tail", "level"))
    kept = {n: getattr(recording, n)[::every] for n in ("time", "acceleration", "angular_rate")}
    slow = replace(recording, **kept, magnetic_field=None, unit_attitude=None)
    measurement = measure_sensor(demo_airframe("dunlin"), [slow])
    assert all(np.isfinite(q.value) for q in measurement.quantities if q.value is not None)
    assert measurement.outcome is not Outcome.PASS


def findings(measurement, severity):
    return [f.code for f in measurement.findings if f.severity == severity]


def test_poses_that_contradict_the_declared_axes_give_no_line_and_no_gyro_scale(bench, demo_airframe):
    order = ("level", "on nose", "on left side", "inverted", "on right side", "on tail", "level")
    _, recording = bench("accelerometer-sign=x", seed=5, motions=order)
    measurement = measure_sensor(demo_airframe("dunlin"), [recording])
    assert "pose-differs" in findings(measurement, "not shown")
    assert measurement.outcome is Outcome.NOT_SHOWN
    assert measurement.entries == ()
    scale = quantity(measurement, "gyro scale error, z")
    assert scale.value is None
    assert "contradict the declared axes" in scale.reason


@pytest.mark.parametrize("times", [0.75, 0.92, 1.08, 1.1, 1.3])
def test_a_gyro_off_by_more_than_a_calibration_mends_fails_and_says_why_no_line_is_given(bench, demo_airframe, times):
    _, recording = bench(f"gyro-scale={times}", seed=5)
    measurement = measure_sensor(demo_airframe("dunlin"), [recording])
    assert findings(measurement, "fail") == ["gyro-size"]
    assert "no line is given for it" in measurement.findings[0].text
    assert "gyro_scale" not in [e.key for e in measurement.entries]
    assert quantity(measurement, "gyro scale error, y").value == pytest.approx(100 * (times - 1), abs=4)


def test_six_poses_prove_nothing_of_themselves(poses, bench, demo_airframe):
    _, few = poses
    assert any("one bad pose would not show; lay each face down twice" in line for line in few.unknown)
    assert "poses after calibration, off by" not in [q.name for q in few.quantities]
    _, twice = bench(motions=(*SIX, *SIX, "level"))
    many = measure_sensor(demo_airframe("dunlin"), [twice])
    assert not any("one bad pose" in line for line in many.unknown)
    assert quantity(many, "poses after calibration, off by").value < 1.0


@pytest.mark.parametrize("count", [1, 3])
def test_too_few_poses_are_no_measurement(bench, demo_airframe, count):
    _, recording = bench(motions=ROUND[:count], rest_s=4.0)
    unprompted = replace(recording, prompts=())
    measurement = measure_sensor(demo_airframe("dunlin"), [unprompted])
    assert "poses-missing" in findings(measurement, "not shown")
    assert measurement.outcome is Outcome.NOT_SHOWN


def test_two_seconds_are_no_measurement(bench, demo_airframe):
    _, recording = bench(motions=("level",), rest_s=3.0)
    first = recording.time < recording.time[0] + 2.0
    kept = {n: getattr(recording, n)[first] for n in ("time", "acceleration", "angular_rate")}
    short = replace(recording, **kept, magnetic_field=None, unit_attitude=None, prompts=())
    measurement = measure_sensor(demo_airframe("dunlin"), [short])
    assert "poses-missing" in findings(measurement, "not shown")
    assert measurement.outcome is Outcome.NOT_SHOWN


def test_the_cause_stands_before_the_poses_that_it_spoils(bench, demo_airframe):
    _, recording = bench("accelerometer-clip=0.9")
    measurement = measure_sensor(demo_airframe("dunlin"), [recording])
    codes = findings(measurement, "not shown")
    assert codes.index("unit-clips") < codes.index("poses-missing")


def test_a_channel_with_stuck_bits_gives_no_line(bench, demo_airframe):
    _, recording = bench("stuck-bits=x")
    measurement = measure_sensor(demo_airframe("dunlin"), [recording])
    lines = {e.key: e.value for e in measurement.entries}
    assert "bits-stuck" in findings(measurement, "fail")
    assert not {"accelerometer_bias_mg", "accelerometer_matrix"} & lines.keys()
    assert "x" not in lines["gyro_scale"]
