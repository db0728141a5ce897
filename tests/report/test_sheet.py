"""What a sheet says."""

from __future__ import annotations

from dataclasses import replace

import pytest
import records
import sheets
from measurements import ALONG, FAIL, NONE, OPEN, PASS, quantity

from benchrig.declaration.airframe import LinkLoss
from benchrig.outcome import Finding
from benchrig.report.result import result_json
from benchrig.report.sheet import bench_sheet
from benchrig.report.sheet_open import STEPS, asked_of


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


def test_of_two_results_of_a_kind_the_worse_stands():
    record = records.right_helicopter()
    results = sheets.everything(record.airframe, record)
    again = sheets.measured(record.airframe, "lever", sheets.places(FAIL))
    assert bench_sheet(record.airframe, [*results, again]).outcome is FAIL
    assert bench_sheet(record.airframe, [again, *results]).outcome is FAIL


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
