"""What a sheet says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import records
import sheets
from measurements import ALONG, FAIL, NONE, OPEN, PASS, quantity

from benchrig.declaration.airframe import LinkLoss, Magnetometer
from benchrig.outcome import Finding
from benchrig.report.result import result_json
from benchrig.report.sheet import bench_sheet
from benchrig.report.sheet_content import Row, Section, SignTable, given
from benchrig.report.sheet_open import STEPS, asked_of, open_points


def rows(sheet, title):
    return {row.name: row for section in sheet.sections if section.title == title for row in section.rows}


def told(sheet):
    return " | ".join(f"{point.text} {point.fix}" for point in sheet.open_points)


def with_results(*results):
    frame = records.helicopter()
    return bench_sheet(frame, [result(frame) for result in results])


# --- the outcome ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "outcome"),
    [
        ("bare", OPEN),
        ("whole", PASS),
        ("failing", FAIL),
        ("doubtful", OPEN),
        ("stale", OPEN),
        ("many", OPEN),
        ("hostile", FAIL),
    ],
)
def test_the_outcome_is_the_worst_of_all_that_is_asked(name, outcome):
    assert sheets.ALL[name]().outcome is outcome


@pytest.mark.parametrize("name", sheets.ALL)
def test_a_sheet_passes_if_and_only_if_nothing_is_open(name):
    sheet = sheets.ALL[name]()
    assert (sheet.outcome is PASS) == (sheet.open_points == ())
    assert any(point.severity == "fail" for point in sheet.open_points) == (sheet.outcome is FAIL)


@pytest.mark.parametrize("left_out", ["check", "lever", "cg", "sensor", "actuators", "link"])
def test_no_sheet_passes_while_a_single_result_is_missing(left_out):
    record = records.right_helicopter()
    results = [r for r in sheets.everything(record.airframe, record) if r.file.stem != left_out]
    sheet = bench_sheet(record.airframe, results)
    assert sheet.outcome is OPEN
    assert len(sheet.open_points) == 1
    assert STEPS[left_out].name in sheet.open_points[0].text
    assert STEPS[left_out].command.split()[-1] in sheet.open_points[0].fix


def test_a_sheet_asks_only_for_what_the_airframe_has():
    helicopter, sensor_only = records.helicopter(), records.sensor_only().airframe
    assert asked_of(helicopter) == ("cg", "lever", "sensor", "actuators", "link", "check")
    assert asked_of(sensor_only) == ("cg", "lever", "sensor", "magnetometer", "check")
    geared = replace(helicopter, rotor=replace(helicopter.rotor, motor_rate=3000.0))
    assert "rotor" in asked_of(geared)


def test_a_measurement_with_nothing_to_hold_it_against_counts_as_done():
    record = records.right_helicopter()
    results = [r for r in sheets.everything(record.airframe, record) if r.file.stem != "cg"]
    plain = sheets.measured(record.airframe, "cg", [quantity("CG from the reference, forward", 12.0, 0.8)])
    assert bench_sheet(record.airframe, [*results, plain]).outcome is PASS


def test_a_measurement_that_measured_nothing_does_not_count():
    record = records.right_helicopter()
    results = [r for r in sheets.everything(record.airframe, record) if r.file.stem != "cg"]
    sheet = bench_sheet(record.airframe, [*results, sheets.measured(record.airframe, "cg", [])])
    assert sheet.outcome is OPEN
    assert "Measured cg: nothing could be measured." in told(sheet)


@pytest.mark.parametrize("order", [1, -1])
def test_of_two_measurements_of_a_kind_the_worse_stands_alone_with_its_file(order):
    record = records.right_helicopter()
    results = sheets.everything(record.airframe, record)
    again = sheets.measured(record.airframe, "lever", [replace(q, value=9.0) for q in sheets.places(FAIL)])
    sheet = bench_sheet(record.airframe, [*results, replace(again, file=Path("again.json"))][::order])
    assert sheet.outcome is FAIL
    placed = [row for section in sheet.sections for row in section.rows if section.title == "Where it sits"]
    names = [row.name for row in placed if row.outcome is FAIL]
    assert names == ["the worst of 2 results", *(q.name for q in sheets.places())]
    assert next(row for row in placed if row.name == names[0]).measured == "again.json"
    assert told(sheet).startswith("again.json: Measured lever: ")


def test_of_two_checks_the_worse_word_of_each_row_stands_with_its_file():
    wrong = records.failing_helicopter()
    right = sheets.check(records.right_helicopter())
    sheet = bench_sheet(wrong.airframe, [right, replace(sheets.check(wrong), file=Path("second.json"))])
    assert rows(sheet, "Where it sits")["axes of the unit"].measured == "x forward, y right, z down (second.json)"
    assert rows(sheet, "Actuators")["front"].outcome is FAIL
    assert "second.json: Servo front moves the plate up" in told(sheet)


# --- no pass beside a doubt --------------------------------------------------------------------------------------


def with_compass(**changes):
    """Check a helicopter whose compass was not judged, beside everything else that passed."""
    frame = replace(records.helicopter(), magnetometer=Magnetometer(np.eye(3), np.array([-0.62, 0.0, -0.04])))
    record = records.record(frame, records.matrix(frame), **changes)
    return frame, bench_sheet(frame, sheets.everything(frame, record))


def test_a_passed_check_whose_compass_is_not_shown_is_no_pass_of_the_sheet():
    advice = Finding("compass-not-judged", "advice", "The compass is not judged: no hemisphere.", "Declare it.")
    _, sheet = with_compass(magnetometer=records.found(None, OPEN, None), findings=(advice,))
    assert rows(sheet, "The compass")["axes of the compass"].outcome is OPEN
    assert sheet.outcome is OPEN
    assert told(sheet) == "The compass is not judged: no hemisphere. Declare it."
    assert sheet.advice == ()
    _, sheet = with_compass(magnetometer=records.found(None, OPEN, None))
    assert "The directions: not shown: axes of the compass." in told(sheet)
    assert with_compass(magnetometer=records.found(np.eye(3)))[1].outcome is PASS


def test_an_actuator_that_is_not_shown_is_open_though_all_cells_passed():
    record = records.right_helicopter()
    first = records.judged(record.airframe.actuators[0], OPEN)
    record = replace(record, actuators=(first, *record.actuators[1:]))
    sheet = bench_sheet(record.airframe, sheets.everything(record.airframe, record))
    assert sheet.outcome is OPEN
    assert "The directions: not shown: front." in told(sheet)


def test_a_sign_that_is_not_shown_is_open_though_nothing_asked_for_it():
    record = records.right_helicopter()
    cells = [replace(c, outcome=OPEN, required=False) if (c.motion, c.check) == ("yaw left", "gyro") else c
             for c in record.matrix]  # fmt: skip
    record = replace(record, matrix=tuple(cells))
    sheet = bench_sheet(record.airframe, sheets.everything(record.airframe, record))
    assert sheet.outcome is OPEN
    assert "The directions: not shown: yaw left, gyro." in told(sheet)


def test_a_row_that_nothing_else_tells_of_is_named_as_the_sheet_shows_it():
    frame = records.helicopter()
    section = Section("The unit", (Row("range of the gyro", "", "", OPEN),))
    points = open_points(frame, given((), ""), (section,), SignTable((), ()))
    assert all(point.severity == "not shown" for point in points)
    failed = replace(section, rows=(replace(section.rows[0], outcome=FAIL),))
    first = open_points(frame, given((), ""), (failed,), SignTable((), ()))[0]
    assert (first.severity, first.text) == ("fail", "On this sheet: fail: range of the gyro.")


@pytest.mark.parametrize("outcome", [FAIL, OPEN])
@pytest.mark.parametrize("sensor", ["gyro", "accelerometer"])
def test_no_sheet_passes_over_a_wiring_that_is_not_as_declared(sensor, outcome):
    record = records.right_helicopter()
    record = replace(record, **{sensor: records.found(np.eye(3), outcome)})
    sheet = bench_sheet(record.airframe, sheets.everything(record.airframe, record))
    assert sheet.outcome is outcome
    assert f"axes of the {sensor}" in told(sheet)


def test_advice_of_what_passed_is_listed_once():
    advice = Finding("iron-large", "advice", "The iron turns the heading by 40°.", "Calibrate it.")
    record = replace(records.right_helicopter(), findings=(advice,))
    results = sheets.everything(record.airframe, record)
    also = replace(results[1], content=replace(results[1].content, findings=(advice,)))
    sheet = bench_sheet(record.airframe, [results[0], also, *results[2:]])
    assert (sheet.outcome, sheet.advice) == (PASS, (advice,))


# --- what is open -----------------------------------------------------------------------------------------------


def test_a_result_for_another_state_of_the_airframe_file_is_due_again():
    sheet = sheets.stale()
    due = [point for point in sheet.open_points if "re-test is due" in point.text]
    assert len(due) == 6
    assert "check.json (the directions) was made for another state of the airframe file: re-test is due." in told(sheet)
    assert "Run benchrig measure lever again." in told(sheet)


def test_nothing_of_a_stale_result_is_shown_as_measured():
    sheet = sheets.stale()
    assert all(row.measured == "" for section in sheet.sections for row in section.rows)
    assert all(place.outcome in {None, NONE} for row in sheet.signs.rows for place in row.places)
    assert any("check.json" in file for file, _ in sheet.sources)


def test_a_result_for_another_airframe_names_that_airframe():
    other = records.aeroplane()
    sheet = bench_sheet(
        replace(records.helicopter(), source=replace(records.helicopter().source, sha256="1" * 64)),
        [sheets.check(other)],
    )
    assert "was made for another airframe, Sanderling: re-test is due." in told(sheet)
    assert "No check of the directions" not in told(sheet)


def test_a_result_that_the_airframe_does_not_ask_for_is_left_out_when_it_is_of_another():
    frame = replace(records.helicopter(), source=replace(records.helicopter().source, sha256="1" * 64))
    other = records.aeroplane().airframe
    sheet = bench_sheet(frame, [sheets.measured(other, "magnetometer", sheets.iron())])
    assert "Leave it out: this airframe does not ask for it." in told(sheet)
    assert "measure magnetometer" not in told(sheet)


def test_a_distance_by_ruler_keeps_its_box_beside_a_measured_compass():
    frame = replace(records.sensor_only().airframe, clearances={"magnetometer_to_motor": 0.52})
    sheet = bench_sheet(frame, [sheets.measured(frame, "magnetometer", sheets.iron())])
    row = rows(sheet, "The compass")["magnetometer to motor"]
    assert (row.declared.replace("\N{NO-BREAK SPACE}", " "), row.outcome) == ("520 mm", None)


def test_findings_of_a_check_stand_as_open_points_with_their_remedy_and_advice_does_not():
    text = told(sheets.failing())
    assert "Servo front moves the plate up where it must go down" in text
    assert "Reverse servo front in the unit" in text
    assert "Nothing needs to be done" not in text


def test_failures_come_before_doubts():
    severities = [point.severity for point in sheets.failing().open_points]
    assert severities == sorted(severities, key=["fail", "not shown"].index)
    assert set(severities) == {"fail", "not shown"}


def test_a_check_that_names_no_cause_has_its_cells_named():
    record = replace(records.doubtful_helicopter(), findings=())
    sheet = bench_sheet(record.airframe, [sheets.stored(result_json(record), "check.json")])
    assert "The directions: not shown: yaw right, gyro; yaw right, accelerometer" not in told(sheet)
    assert "The directions: not shown: yaw right, gyro; yaw right, attitude" in told(sheet)
    assert "Make this motion next: yaw right." in told(sheet)


def test_values_that_are_not_as_declared_are_named_with_both_numbers():
    frame = records.helicopter()
    wrong = quantity("sensor from CG, aft", 140.2, 0.7, 180.0, FAIL, limit="5 mm")
    sheet = bench_sheet(frame, [sheets.measured(frame, "lever", [wrong])])
    assert "Measured lever: sensor from CG, aft 140.2 ± 0.7 mm, declared 180 mm." in told(sheet)


def test_a_cause_that_is_named_is_not_told_twice():
    frame = records.helicopter()
    wrong = quantity("sensor from CG, aft", 140.2, 0.7, 180.0, FAIL, limit="5 mm")
    result = sheets.measured(frame, "lever", [wrong])
    named = replace(result.content, findings=(Finding("lever-differs", "fail", "It sits elsewhere.", "Move it."),))
    sheet = bench_sheet(frame, [replace(result, content=named)])
    assert "It sits elsewhere. Move it." in told(sheet)
    assert "140.2" not in told(sheet)


def test_what_was_declared_but_could_not_be_measured_stays_open():
    frame = records.helicopter()
    record = records.right_helicopter()
    untold = quantity("sensor from CG, down", None, None, -25.0, NONE, reason=ALONG)
    results = [r for r in sheets.everything(frame, record) if r.file.stem != "lever"]
    sheet = bench_sheet(frame, [*results, sheets.measured(frame, "lever", [*sheets.places(), untold])])
    assert sheet.outcome is OPEN
    assert f"declared, but not measured: sensor from CG, down ({ALONG})." in told(sheet)


# --- rows -------------------------------------------------------------------------------------------------------


def test_what_only_a_person_can_look_at_waits_for_a_tick():
    sheet = sheets.bare()
    assert rows(sheet, "Where it sits")["axes of the unit"].outcome is None
    assert rows(sheet, "The rotor")["turns, seen from above"].declared == "clockwise"
    assert all(row.outcome is None and row.measured == "" for section in sheet.sections for row in section.rows)


def test_the_axes_found_stand_beside_those_declared():
    row = rows(sheets.failing(), "Where it sits")["axes of the unit"]
    assert (row.declared, row.measured, row.outcome) == ("x aft, y left, z down", "x forward, y right, z down", FAIL)


def test_a_measured_place_takes_the_place_of_the_declared_words():
    assert "place of the unit" in rows(sheets.bare(), "Where it sits")
    whole = rows(sheets.whole(), "Where it sits")
    assert "place of the unit" not in whole
    assert whole["sensor from CG, aft"].outcome is PASS


def test_an_actuator_tells_what_it_did_and_how_late():
    row = rows(sheets.whole(), "Actuators")["front"]
    assert row.declared == "swashplate, at 0°, longer pulse plate up"
    assert row.measured.replace("\N{NO-BREAK SPACE}", " ") == "corrects after 21.0 ± 0.3 ms"
    bare = rows(sheets.bare(), "Actuators")["front"]
    assert bare.declared.replace("\N{NO-BREAK SPACE}", " ").endswith("centre 1520 µs")


def test_values_that_nothing_was_declared_for_are_counted_beside_their_file():
    sheet = sheets.whole()
    assert "gyro noise density, x" not in rows(sheet, "The unit")
    assert dict(sheet.sources)["sensor.json"].endswith("3 more values in it")


def test_a_declared_lost_link_is_told_for_each_actuator():
    frame = replace(records.helicopter(), link_loss=LinkLoss(1.0, {"front": 1520e-6, "tail": None}))
    told_rows = rows(bench_sheet(frame, ()), "A lost link")
    assert told_rows["front goes to"].declared.replace("\N{NO-BREAK SPACE}", " ") == "1520 µs"
    assert told_rows["tail goes to"].declared == "stays"
    assert rows(sheets.bare(), "A lost link")["all actuators go to"].declared == "not declared"


def test_sources_name_evidence_digests_time_and_operator():
    told_sources = dict(sheets.whole().sources)
    assert told_sources["check.json"] == (
        "the directions: pass, dunlin-ok.toml 9f2c41d0, recorded 2026-11-25T10:00:00Z, by R. Vane"
    )
    assert told_sources["lever.json"] == "the place of the unit: pass, spin.toml 9f2c41d0"
