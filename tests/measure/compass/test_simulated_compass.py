"""Simulated turns, through the files a logger would leave: iron as the simulation drew it, with an honest uncertainty.

`BENCHRIG_COUNT` sets how many benches are drawn for each count.
"""

from __future__ import annotations

import functools
import os
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from benchrig.attitude.earth_field import Place, earth_field
from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe import Calibration
from benchrig.measure.compass.hard_iron import hard_iron
from benchrig.measure.compass.measure import measure_magnetometer
from benchrig.measure.compass.quantities import gain_matrix
from benchrig.measure.compass.study import dip_of, study_compass
from benchrig.outcome import Outcome
from benchrig.report.measurement_text import measurement_text
from benchrig.simulation.bench import simulate
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

COUNT = int(os.environ.get("BENCHRIG_COUNT", "6"))
TWO_TURNS = ("level", "level turn", "tilted turn", "level")
ON_ITS_BACK = ("level", "level turn", "tilted turn", "inverted", "level")
MID_NORTH = Place(np.radians(52.0), np.radians(10.0))


@pytest.fixture(scope="module")
def bench(demo_airframe, tmp_path_factory):
    """Simulate a helicopter's turns; give the airframe, the bench and what was read back."""

    @functools.cache
    def make(seed, motions=TWO_TURNS, airframe=None, **options):
        declared = airframe or demo_airframe("dunlin")
        made = simulate(declared, seed=seed, options=Options(motions=motions, **options))
        path = write_capture(made, tmp_path_factory.mktemp("turns") / "turns").manifest
        return declared, made, read_capture(path, declared)

    return make


@pytest.fixture(scope="module")
def studied(bench):
    """Study `COUNT` benches of one kind: iron found minus true, µT, the uncertainties, and the studies."""

    def count(motions=TWO_TURNS, calibrate=None):
        errors, spreads, studies = [], [], []
        for seed in range(COUNT):
            airframe, made, recording = bench(seed, motions)
            if calibrate is not None:
                airframe = replace(airframe, calibration=calibrate(made))
            study = study_compass(airframe, [recording], None)
            value, spread, reasons = hard_iron(study)
            assert reasons == ("", "", ""), seed
            errors.append(1e6 * (value - made.compass_model.bias))
            spreads.append(1e6 * spread)
            studies.append((study, made))
        return np.array(errors), np.array(spreads), studies

    return count


@pytest.fixture(scope="module")
def two_turns(studied):
    return studied()


def rms(values, axis=0):
    return np.sqrt((values**2).mean(axis=axis))


def test_two_turns_tell_hard_iron_to_a_third_of_a_microtesla_level_and_to_one_upright(two_turns):
    errors, _, _ = two_turns
    assert (rms(errors)[:2] < 0.35).all()
    assert rms(errors)[2] < 1.0
    assert np.median(np.abs(errors)) < 0.35


def test_the_uncertainty_of_hard_iron_is_honest(two_turns):
    errors, spreads, _ = two_turns
    pulls = errors / spreads
    # of 3 COUNT pulls of about one each; data sheets allow the unit more than the simulation draws
    assert 0.6 < rms(pulls, None) < 1.0 + 1.5 / np.sqrt(COUNT)
    assert np.abs(pulls).max() < 4.5


def test_gains_and_dip_agree_with_what_was_drawn(two_turns):
    _, _, studies = two_turns
    gains, dips = [], []
    for study, made in studies:
        gain, spread = gain_matrix(study, study.fit)
        true = made.compass_model.gain / np.trace(made.compass_model.gain) * 3
        gains.append(np.diag(gain - true) / np.diag(spread))
        dip, doubt = dip_of(study.fit)
        dips.append((dip - np.arctan2(made.options.field_ut[2], np.hypot(*made.options.field_ut[:2]))) / doubt)
    assert np.abs(gains).max() < 4.5
    assert rms(np.array(gains), None) < 1.5
    assert np.abs(dips).max() < 3.5


def test_with_a_calibrated_unit_two_turns_tell_every_axis_to_a_third_of_a_microtesla(studied):
    def calibrate(made):
        gyro, accelerometer = made.gyro_model, made.accelerometer_model
        matrix = np.linalg.inv(accelerometer.gain)
        return Calibration(1 / np.diag(gyro.gain), accelerometer.bias, matrix, None, None)

    errors, spreads, _ = studied(calibrate=calibrate)
    assert rms(errors, None) < 0.35
    assert np.abs(errors / spreads).max() < 4.5


def test_a_rest_on_its_back_tells_every_axis_to_a_fifth_of_a_microtesla(studied):
    errors, spreads, _ = studied(ON_ITS_BACK)
    assert (rms(errors) < 0.2).all()
    assert np.abs(errors / spreads).max() < 4.5


def test_a_level_turn_alone_leaves_the_upright_axis_null_with_the_reason(bench):
    airframe, made, recording = bench(2, ("level", "level turn", "level"))
    found = measure_magnetometer(airframe, [recording])
    x, y, z = (q for q in found.quantities if q.name.startswith("hard iron"))
    assert z.value is None
    assert "looks just like a stronger field" in z.reason
    assert np.array([x.value, y.value]) == pytest.approx(1e6 * made.compass_model.bias[:2], abs=3.5)
    size = next(q for q in found.quantities if q.name == "size of the field")
    assert size.value is None
    assert found.outcome is Outcome.NOT_SHOWN
    assert found.entries == ()
    assert [f.code for f in found.findings] == ["compass-iron-left-in", "compass-coverage"]
    assert "Measure it surely enough" in found.findings[0].fix


def test_a_right_compass_passes_and_its_lines_mend_it(bench):
    airframe, made, recording = bench(3)
    field = earth_field(MID_NORTH, date(2026, 11, 25))
    airframe = replace(airframe, magnetometer=replace(airframe.magnetometer, hemisphere=None))
    found = measure_magnetometer(airframe, [recording], field)
    # its iron turns a heading by some 35°, and nothing that is declared takes it out
    assert (found.outcome, [f.code for f in found.findings]) == (Outcome.NOT_SHOWN, ["compass-iron-left-in"])
    assert "with `--write`" in found.findings[0].fix
    lines = {entry.key: entry.value for entry in found.entries}
    assert lines["hemisphere"] == "north"
    bias = 1e-6 * np.array([lines["magnetometer_bias_ut"][axis] for axis in "xyz"])
    mended = (recording.magnetic_field - bias) @ np.array(lines["magnetometer_matrix"]).T
    size = np.linalg.norm(mended, axis=1)
    known = Calibration(None, None, None, bias, np.array(lines["magnetometer_matrix"]))
    again = measure_magnetometer(replace(airframe, calibration=known), [recording], field)
    assert (again.outcome, [f.code for f in again.findings]) == (Outcome.PASS, [])
    assert size.std() < 0.02 * size.mean() < 0.5 * np.linalg.norm(recording.magnetic_field, axis=1).std()
    assert made.compass_model.bias == pytest.approx(bias, abs=2.5e-6)


def test_a_declared_hard_iron_is_judged(bench):
    airframe, made, recording = bench(3, ON_ITS_BACK)
    for off, outcome in ((0.0, Outcome.PASS), (6e-6, Outcome.FAIL)):
        known = Calibration(None, None, None, made.compass_model.bias + off, None)
        found = measure_magnetometer(replace(airframe, calibration=known), [recording])
        assert [q.outcome for q in found.quantities if q.name.startswith("hard iron")] == [outcome] * 3
        assert found.outcome is outcome


def test_two_captures_of_one_rig_are_joined(bench):
    airframe, made, level = bench(4, ("level", "level turn", "level"))
    _, again, tilted = bench(4, ("level", "tilted turn", "level"))
    assert np.array_equal(made.compass_model.bias, again.compass_model.bias)
    value, spread, reasons = hard_iron(study_compass(airframe, [level, tilted], None))
    assert reasons == ("", "", "")
    assert (np.abs(value - made.compass_model.bias) < 4 * spread).all()


def test_a_compass_that_is_slower_than_the_rows_is_read_where_it_is_new(bench):
    airframe, made, recording = bench(5)
    every = np.arange(len(recording.time)) % 7 == 0
    blank = np.where(every[:, None], recording.magnetic_field, np.nan)
    held = recording.magnetic_field[np.arange(len(recording.time)) // 7 * 7]
    for field in (blank, held):
        value, spread, _ = hard_iron(study_compass(airframe, [replace(recording, magnetic_field=field)], None))
        assert (np.abs(value - made.compass_model.bias) < 4 * spread).all()


def test_the_report_says_why_no_ellipsoid_is_fitted_and_what_is_not_seen(bench):
    airframe, _, recording = bench(6)
    text = " ".join(measurement_text(measure_magnetometer(airframe, [recording]), width=100, colour=False).split())
    assert "two circles never fix a free one" in text
    assert "centres, which would be the hard iron, lie many µT apart" in text
    assert "whose current did not flow in these recordings is not seen" in text


def test_the_current_of_a_lead_is_told_as_a_long_wires(bench, demo_airframe):
    near = replace(
        demo_airframe("dunlin"),
        clearances={"magnetometer_to_motor": 0.30, "magnetometer_to_tail_rotor": 0.08},
        magnetometer=replace(demo_airframe("dunlin").magnetometer, nearby_current=30.0),
    )
    _, _, recording = bench(7, airframe=near)
    found = measure_magnetometer(near, [recording])
    field = next(q for q in found.quantities if q.name == "field of the declared current")
    assert field.value == pytest.approx(20.0)  # µ₀ 30 A / (2π 0.30 m)
    assert [f.code for f in found.findings] == ["compass-too-close", "compass-too-close", "compass-current"]
    assert all(f.severity == "advice" for f in found.findings)
    assert found.outcome is Outcome.PASS
