"""Two benches of one airframe held against each other."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from stored_benches import as_first_written, of_another_time, record, stored

from benchrig.cautions import CAUTIONS
from benchrig.declaration.airframe import Calibration
from benchrig.errors import ResultError
from benchrig.geometry.directions import body_from_sensor
from benchrig.keeping.comparison import compare
from benchrig.keeping.comparison_result import comparison_result
from benchrig.keeping.comparison_text import comparison_text
from benchrig.keeping.moved import Weight
from benchrig.outcome import Outcome
from benchrig.report.lettering import columns
from benchrig.report.seal import seal_of
from benchrig.report.stored_result import read_result
from benchrig.verdict.figures import Reading


@pytest.fixture
def compared(tmp_path):
    """Compare two records, the second as of another recording; callables may spoil their results."""

    def make(first, second, spoil_first=None, spoil_second=None):
        stored(tmp_path, "first.json", first, spoil_first)
        stored(tmp_path, "second.json", of_another_time(second), spoil_second)
        return compare(tmp_path / "first.json", tmp_path / "second.json")

    return make


def words(comparison, width=80):
    return " ".join(comparison_text(comparison, width=width, colour=False).split())


def weights(comparison):
    return {moved.first.name: moved.weight for moved in comparison.moved}


def with_sensor(made, **changes):
    airframe = made.airframe
    source = replace(airframe.source, sha256="c" * 64)
    return replace(made, airframe=replace(airframe, sensor=replace(airframe.sensor, **changes), source=source))


def test_two_benches_alike_pass_and_say_so(compared):
    found = compared(record(), record())
    assert found.outcome is Outcome.PASS
    assert found.judged == ()
    told = words(found)
    assert "= NOTHING SEEN TO MOVE THAT MATTERS" in told
    assert "airframe file the same, byte for byte" in told
    assert "temperature 24.5 ± 0.2 °C → 24.5 ± 0.2 °C" in told
    assert "told by neither bench: place, forward; place, right; place, down" in told
    assert all(caution in told for caution in CAUTIONS)


def test_a_bias_that_moved_matters_with_its_size_and_what_to_do(compared):
    found = compared(record(), record(gyro_bias=np.radians([9.0, -0.5, 0.2])))
    assert found.outcome is Outcome.FAIL
    assert weights(found)["gyro bias, x"] is Weight.MATTERS
    assert weights(found)["gyro bias, y"] is Weight.NONE
    told = words(found)
    assert "≠ SOMETHING MOVED THAT MATTERS" in told
    assert "gyro bias, x: +8.00 ± 0.03 °/s (limit 5 °/s)." in told
    assert "Do: Let the unit warm up" in told
    assert "A comparison is no verdict. The second bench's own is PASS." in told


def test_a_bias_that_moved_inside_its_limit_is_told_and_passes(compared):
    found = compared(record(), record(gyro_bias=np.radians([3.0, -0.5, 0.2])))
    assert found.outcome is Outcome.PASS
    told = words(found)
    assert "~ gyro bias, x (°/s) 1.00 ± 0.02 3.00 ± 0.02 +2.00 ± 0.03" in told
    assert "~ moved, inside the limits" in told
    assert "1 moved inside its limit" in told


def test_what_only_one_bench_could_tell_is_open(compared):
    for pair in ((record(), record(gyro_over_gravity=None)), (record(gyro_over_gravity=None), record())):
        found = compared(*pair)
        assert found.outcome is Outcome.NOT_SHOWN
        assert "? NOT EVERYTHING COULD BE COMPARED" in words(found)
    assert "- the first bench could not tell it: gyro over gravity" in words(found)


def test_a_temperature_that_one_bench_lacks_opens_nothing(compared):
    assert compared(record(), record(temperature=None)).outcome is Outcome.PASS


def test_an_older_result_is_read_and_what_it_lacks_is_open(compared):
    found = compared(record(), record(), as_first_written)
    assert found.outcome is Outcome.NOT_SHOWN
    assert weights(found)["gyro bias, x"] is Weight.OPEN
    assert weights(found)["front: latency"] is Weight.NONE
    assert weights(found)["unit turned, roll"] is Weight.NONE


def test_a_second_bench_that_failed_is_never_excused(compared):
    failing = record("failing")
    found = compared(failing, failing)
    assert found.judged == ()
    assert found.outcome is Outcome.FAIL
    told = words(found)
    assert "≠ THE SECOND BENCH FAILED" in told
    assert "1. ≠ The unit does not sit as declared" in told
    assert "small-angle" not in told


def test_a_second_bench_that_did_not_show_is_never_excused(compared):
    found = compared(record("doubtful"), record("doubtful"))
    assert found.outcome is Outcome.NOT_SHOWN
    assert "? THE SECOND BENCH DID NOT PASS" in words(found)


def test_a_unit_that_was_turned_between_the_benches_is_told_by_cells_and_axes(compared):
    found = compared(record(), record("failing"))
    assert found.outcome is Outcome.FAIL
    told = words(found)
    assert "axes gyro: = pass (x aft, y left, z down) → ≠ fail (x forward, y right, z down)" in told
    assert "gyro = pass → ≠ fail nose up (+q → −q, not +q); nose down (−q → +q, not −q)" in told
    assert "verdicts = pass → ≠ fail" in told


def test_a_bench_that_was_mended_passes(compared):
    found = compared(record("failing"), record())
    assert found.outcome is Outcome.PASS
    assert all(weight is Weight.INSIDE for change, weight in found.judged if change.subject != "small-angle")


def test_a_cell_that_is_not_shown_any_more_is_open(compared):
    made = record()
    first, *rest = made.matrix
    doubt = replace(first, outcome=Outcome.NOT_SHOWN, required=False)
    assert compared(made, replace(made, matrix=(doubt, *rest))).outcome is Outcome.NOT_SHOWN


def test_a_mounting_declared_otherwise_bars_the_small_angles(compared):
    turned = with_sensor(record(), body_from_sensor=body_from_sensor({"x": "forward", "y": "right", "z": "down"}))
    found = compared(record(), turned)
    assert weights(found)["unit turned, yaw"] is Weight.OPEN
    assert weights(found)["gyro bias, x"] is Weight.NONE
    told = words(found)
    assert "sensor.axes.x: aft → forward" in told
    assert "- the mounting is declared otherwise: unit turned, roll; unit turned, pitch; unit turned, yaw" in told
    found = compared(record(), turned, as_first_written)
    assert weights(found)["unit turned, yaw"] is Weight.OPEN
    assert found.declared is None
    assert "another one; a result is too old to say what it declared" in words(found)


def test_a_calibration_declared_otherwise_bars_the_sizes(compared):
    made = record()
    calibration = Calibration(np.array([1.01, 1.0, 1.0]), None, None, None, None)
    source = replace(made.airframe.source, sha256="c" * 64)
    mended = replace(made, airframe=replace(made.airframe, calibration=calibration, source=source))
    found = weights(compared(made, mended))
    assert found["gyro over gravity"] is Weight.OPEN
    assert found["accelerometer at rest"] is Weight.OPEN
    assert found["front: latency"] is Weight.NONE


def test_the_place_is_held_against_the_tolerance_of_the_second_declaration(compared):
    def at(forward, tolerance):
        made = with_sensor(record(), position_tolerance=tolerance)
        arm = replace(made.lever_arm, measured_mm=(forward, None, None), uncertainty_mm=(0.5, None, None))
        return replace(made, lever_arm=arm)

    assert weights(compared(at(-180.0, 0.02), at(-172.0, 0.005)))["place, forward"] is Weight.MATTERS
    assert weights(compared(at(-180.0, 0.005), at(-172.0, 0.02)))["place, forward"] is Weight.INSIDE


def test_other_versions_are_told(compared):
    made = record()
    later = replace(made, software={**made.software, "benchrig": "9.0"})
    assert "software benchrig 0.1.0 → 9.0" in words(compared(made, later))


def test_what_was_recorded_or_read_of_one_bench_alone_is_told(compared):
    def with_notes(*notes):
        made = record()
        return replace(made, recording=replace(made.recording, history=notes))

    found = compared(with_notes("both"), with_notes("both", "the operator took back nose up"))
    assert "RECORDED OR READ OTHERWISE second the operator took back nose up" in words(found)
    assert comparison_result(found)["history"] == {"first_only": [], "second_only": ["the operator took back nose up"]}
    assert "RECORDED OR READ" not in words(compared(with_notes("both"), with_notes("both")))


def test_a_second_bench_recorded_before_the_first_is_told(tmp_path):
    def at(year):
        made = record(gyro_noise=Reading(year * 5e-8, 5e-6))
        moment = datetime(year, 5, 1, tzinfo=UTC)
        return replace(made, recording=replace(made.recording, recorded=moment, sha256=f"{year:064d}"))

    stored(tmp_path, "old.json", at(2025))
    stored(tmp_path, "new.json", at(2026))
    backwards = compare(tmp_path / "new.json", tmp_path / "old.json")
    assert "! the second was recorded before the first" in words(backwards)
    assert not compare(tmp_path / "old.json", tmp_path / "new.json").is_backwards


def test_two_airframes_are_refused(compared):
    with pytest.raises(
        ResultError, match=r'second.json: is of the airframe "Sanderling"; expected one of "Dunlin 450"'
    ):
        compared(record(), record("aeroplane"))


def test_one_recording_judged_twice_is_refused_and_rejudge_is_named(tmp_path):
    stored(tmp_path, "a.json", record())
    stored(tmp_path, "b.json", record(temperature=Reading(30.0, 0.1)))
    with pytest.raises(ResultError, match=r"b.json: judges the same recording as a.json; .*benchrig rejudge"):
        compare(tmp_path / "a.json", tmp_path / "b.json")


def test_one_result_twice_is_refused(tmp_path):
    stored(tmp_path, "a.json", record())
    with pytest.raises(ResultError, match="holds the same result"):
        compare(tmp_path / "a.json", tmp_path / "a.json")


def test_the_json_holds_every_figure_and_judgement(compared):
    data = comparison_result(compared(record(), record("failing", gyro_bias=np.radians([9.0, -0.5, 0.2]))))
    assert data["schema"] == "benchrig-comparison/1"
    assert data["outcome"] == "fail"
    figures = {figure["name"]: figure for figure in data["figures"]}
    bias = figures["gyro bias, x"]
    assert bias["first"] == {"value": 1.0, "uncertainty": 0.02}
    assert (bias["change"], bias["limit"], bias["weight"]) == (8.0, 5.0, "matters")
    assert bias["act"].startswith("Let the unit warm up")
    assert figures["place, forward"]["first"] is None
    assert figures["gyro noise"]["measure"] == "ratio"
    assert {change["weight"] for change in data["judged"]} >= {"matters"}
    assert data["cautions"] == list(CAUTIONS)
    assert data["seal"] == seal_of(data)
    assert json.loads(json.dumps(data, allow_nan=False)) == data


def test_a_comparison_is_no_result_to_be_read_as_one(compared, tmp_path):
    path = tmp_path / "compared.json"
    path.write_text(json.dumps(comparison_result(compared(record(), record()))), encoding="utf-8")
    with pytest.raises(ResultError, match=r'schema = "benchrig-comparison/1"'):
        read_result(path)


@pytest.mark.parametrize("width", [40, 60, 80, 100])
@pytest.mark.parametrize("name", ["right", "failing", "eight-rotors", "sensor-only", "hostile"])
def test_no_line_is_wider_than_the_terminal_and_no_name_steers_it(compared, name, width):
    base = record(name)
    moved = record(name, gyro_bias=np.radians([9.0, -0.5, 0.2]), accelerometer_delay=None)
    text = comparison_text(compared(base, moved), width=width, colour=False)
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert max(map(columns, text.splitlines())) <= width


def test_colour_says_nothing_that_a_mark_does_not(compared):
    found = compared(record(), record(gyro_bias=np.radians([9.0, -0.5, 0.2])))
    coloured, plain = (comparison_text(found, width=80, colour=colour) for colour in (True, False))
    assert "\x1b[" in coloured
    bare = re.sub(r"\x1b\[[\d;]*m", "", coloured)
    assert bare.split() == plain.split()


def test_one_recording_under_two_names_is_refused_however_it_was_copied(tmp_path):
    again = replace(record(), recording=replace(record().recording, sha256="ab" * 32))
    stored(tmp_path, "first.json", record())
    stored(tmp_path, "played.json", again)
    with pytest.raises(
        ResultError, match=r"played\.json: tells every figure and every cell to the last digit as first"
    ):
        compare(tmp_path / "first.json", tmp_path / "played.json")
