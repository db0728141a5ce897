"""Stored results read back."""

from __future__ import annotations

import json
from dataclasses import replace

import measurements
import pytest
import records
import stored_benches

from benchrig.errors import ResultError
from benchrig.measure.measurement import Measurement
from benchrig.outcome import Outcome
from benchrig.report.measurement_result import measurement_json, measurement_result
from benchrig.report.result import report_result, result_json
from benchrig.report.seal import sealed
from benchrig.report.stored_check import StoredCheck, Told
from benchrig.report.stored_result import read_result, read_results


@pytest.fixture
def stored(tmp_path):
    """Write a result and read it back; a callable may spoil it first, which then is sealed anew."""

    def make(text, spoil=None):
        if spoil is not None:
            data = json.loads(text)
            spoil(data)
            text = json.dumps(sealed(data))
        path = tmp_path / "stored.json"
        path.write_text(text, encoding="utf-8")
        return read_result(path)

    return make


def refused(stored, text, spoil=None):
    with pytest.raises(ResultError) as caught:
        stored(text, spoil)
    assert caught.value.exit_status == 5
    assert all(problem.place.startswith("stored.json") for problem in caught.value.problems)
    return str(caught.value)


CHECK = result_json(records.failing_helicopter())
MEASURED = measurement_json(measurements.wrong_lever())


@pytest.mark.parametrize("name", [name for name in measurements.ALL if name != "hostile"])
def test_a_measurement_comes_back_as_it_was_but_for_pictures_and_airframe_lines(stored, name):
    measurement = measurements.ALL[name]()
    back = stored(measurement_json(measurement)).content
    assert isinstance(back, Measurement)
    assert measurement_result(back) == measurement_result(replace(measurement, figures=(), entries=()))


def test_text_of_a_hostile_measurement_comes_back_letter_by_letter(stored):
    assert stored(measurement_json(measurements.hostile())).content.title == records.HOSTILE


@pytest.mark.parametrize("name", ["right", "failing", "doubtful", "aeroplane", "eight-rotors"])
def test_a_check_comes_back_with_its_cells_findings_and_actuators(stored, name):
    record = records.ALL[name]()
    back = stored(result_json(record)).content
    assert isinstance(back, StoredCheck)
    assert back.matrix == record.matrix
    assert sorted(back.findings, key=str) == sorted(record.findings, key=str)
    assert (back.verdict, back.sensing, back.correction) == (record.verdict, record.sensing, record.correction)
    assert [(a.name, a.outcome, a.finding) for a in back.actuators] == [
        (a.name, a.outcome, a.finding) for a in record.actuators
    ]
    assert back.airframe.sha256 == record.airframe.source.sha256
    assert back.capture.sha256 == record.recording.sha256
    assert (back.recorded, back.operator) == ("2026-11-25T10:00:00Z", "R. Vane")


def test_what_was_found_of_the_mounting_comes_back_in_words(stored):
    wirings = stored(CHECK).content.wirings
    assert wirings["gyro"].found == "x forward, y right, z down"
    assert wirings["gyro"].outcome is Outcome.FAIL
    assert set(wirings) == {"gyro", "accelerometer"}


def test_a_result_of_the_program_itself_comes_back(tmp_path, captures):
    from benchrig.cli.main import exit_status  # noqa: PLC0415 - the door, as a user would come in

    target = tmp_path / "ok.json"
    call = ["check", str(captures / "dunlin.toml"), str(captures / "dunlin-ok.toml"), "--json", str(target)]
    assert exit_status(call) == 0
    assert read_result(target).outcome is Outcome.PASS


def test_numbers_of_a_check_come_back_with_their_uncertainty(stored):
    back = stored(CHECK).content
    assert back.misalignment_deg["yaw"] == Told(1.1, 1.5)
    assert back.place.declared_mm == {"forward": -180.0, "right": 0.0, "down": -25.0}
    assert back.place.measured_mm["forward"] == Told(None, None)
    front = back.actuators[0]
    assert (front.latency_ms, front.latency_uncertainty_ms) == (21.04, 0.31)
    assert front.response["pitch"] == Told(-3.1, 0.05)
    assert [check.check for check in back.health] == [check.check for check in records.failing_helicopter().health]
    assert back.limits == records.LIMITS
    assert back.declaration["airframe"] == {"name": "Dunlin 450", "kind": "helicopter"}
    assert (back.samples, back.scope) == (len(records.traces().time), "sensor and actuators")


def test_the_units_own_figures_come_back_as_they_were_written(stored):
    unit = stored(result_json(stored_benches.record())).content.unit
    assert unit.gyro_bias_deg_s["x"] == Told(1.0, 0.02)
    assert unit.gyro_over_gravity == Told(1.01, 0.004)
    assert unit.accelerometer_delay_ms == Told(4.0, 3.0)
    assert unit.temperature_c == Told(24.5, 0.2)
    partly = stored(result_json(stored_benches.record(gyro_bias=None, gyro_noise=None))).content.unit
    assert (partly.gyro_bias_deg_s, partly.gyro_noise_deg_s_rthz) == (None, None)


def test_a_result_of_the_first_version_is_read_without_what_it_lacks(stored):
    text = result_json(stored_benches.record())
    back = stored(text, stored_benches.as_first_written).content
    assert (back.unit, back.declaration, back.stream_sha256, back.manifest_sha256) == (None, None, None, None)
    assert back.matrix == stored(text).content.matrix


def test_figures_of_the_unit_that_were_changed_are_refused_with_their_key(stored):
    text = result_json(stored_benches.record())
    told = refused(stored, text, lambda d: d["sensor"]["gyro_bias_deg_s"].update(x="1"))
    assert 'sensor.gyro_bias_deg_s.x = "1"; expected a valid number' in told
    assert "sensor.gyro_noise_deg_s_rthz is missing" in refused(
        stored, text, lambda d: d["sensor"].pop("gyro_noise_deg_s_rthz")
    )


def test_keys_of_a_later_version_are_passed_over(stored):
    def add(data):
        data["later"] = {"more": 1}
        data["quantities"][0]["later"] = None

    assert stored(MEASURED, add).outcome is Outcome.FAIL


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda d: d.pop("verdict"), "verdict is missing"),
        (lambda d: d["matrix"][3].pop("outcome"), "matrix[3].outcome is missing"),
        (lambda d: d["matrix"][3].update(outcome="passed"), "matrix[3].outcome = \"passed\"; expected 'pass', 'fail'"),
        (lambda d: d["matrix"][0].update(size="12"), 'matrix[0].size = "12"; expected a valid number'),
        (lambda d: d["matrix"][0].update(required=1), "matrix[0].required = 1; expected a valid boolean"),
        (lambda d: d["airframe"].update(sha256="ab"), 'airframe.sha256 = "ab"'),
        (lambda d: d.update(matrix={}), "matrix = {}; expected a valid list"),
        (lambda d: d.update(verdict=None), "verdict = null"),
        (
            lambda d: d.update(schema="benchrig-result/2"),
            'schema = "benchrig-result/2"; expected an object with schema',
        ),
        (lambda d: d.update(schema=7), "schema = 7"),
        (lambda d: d.pop("schema"), "has no schema"),
    ],
)
def test_a_check_that_was_changed_is_refused_with_its_key(stored, spoil, told):
    assert told in refused(stored, CHECK, spoil)


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        (lambda d: d["quantities"][1].update(value="1"), 'quantities[1].value = "1"; expected a valid number'),
        (lambda d: d["quantities"][1].pop("unit"), "quantities[1].unit is missing"),
        (lambda d: d.update(kind="weight"), 'kind = "weight"'),
        (lambda d: d["findings"][0].update(severity="grave"), 'findings[0].severity = "grave"'),
        (lambda d: d.update(schema="benchrig-measurement/9"), "another version of benchrig"),
    ],
)
def test_a_measurement_that_was_changed_is_refused_with_its_key(stored, spoil, told):
    assert told in refused(stored, MEASURED, spoil)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "stored.json:1: is not JSON"),
        (f"{CHECK}\n{CHECK}", "several results in one file"),
        ("[]", "is a list; expected an object"),
        ("3", "is a whole number"),
        ('{"schema": NaN}', "holds the number NaN"),
        ('{"schema": "a", "schema": "b"}', 'the key "schema" stands twice in one object'),
        ("[" * 100_000, "nested too deeply"),
        ('{"schema": ' + "9" * 5000 + "}", "a number of too many digits"),
        ("", "the result is empty"),
        ("a\0b", "holds binary data"),
    ],
)
def test_what_is_no_result_is_refused_in_a_sentence(stored, text, told):
    assert told in refused(stored, text)


def test_a_number_too_large_for_any_machine_is_refused(stored):
    text = MEASURED.replace("-140.2", "1e999")
    assert "was changed after it was written" in refused(stored, text)
    data = json.loads(text)
    assert "quantities[0].value" in refused(stored, json.dumps(sealed(data)).replace("Infinity", "1e999"))


def test_a_flood_of_problems_is_cut_short(stored):
    told = refused(stored, CHECK, lambda d: [cell.pop("unit") for cell in d["matrix"]])
    assert len(told.splitlines()) == 11
    assert "more problems" in told


def test_a_missing_file_is_told_by_name(tmp_path):
    with pytest.raises(ResultError, match="there is no such result"):
        read_result(tmp_path / "nothing.json")


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d.update(verdict="pass"),
        lambda d: d.update(verdict="pass", parts={"sensing": "pass", "correction": "pass"}),
        lambda d: d.update(verdict="pass", parts={"sensing": "pass", "correction": "pass"}, matrix=[]),
    ],
)
def test_a_pass_that_does_not_follow_from_its_cells_is_refused(stored, spoil):
    told = refused(stored, CHECK, spoil)
    assert 'it says "pass", but what it holds comes to "' in told


def test_a_measurement_that_claims_what_nobody_measured_is_refused(stored):
    assert 'comes to "fail"' in refused(stored, MEASURED, lambda d: d.update(outcome="pass"))
    assert 'comes to "not shown"' in refused(
        stored, MEASURED, lambda d: d.update(outcome="pass", quantities=[], findings=[])
    )


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d["matrix"][2].update(size=39.0),
        lambda d: d.update(later=1),
        lambda d: d["airframe"].update(name="Another"),
        lambda d: d.update(seal="0" * 64),
        lambda d: d.update(seal=None),
        lambda d: d.pop("limits"),
    ],
)
def test_a_result_that_was_changed_after_it_was_written_is_refused(stored, change):
    data = json.loads(CHECK)
    change(data)
    told = refused(stored, json.dumps(data))
    assert told == (
        "stored.json: was changed after it was written; likely cause: it was edited by hand, or damaged; "
        "make the result anew"
    )


def test_a_pass_written_in_by_hand_with_every_outcome_and_finding_is_refused(stored):
    text = CHECK.replace('"outcome": "fail"', '"outcome": "pass"').replace('"verdict": "fail"', '"verdict": "pass"')
    data = json.loads(text)
    data.update(findings=[], parts={"sensing": "pass", "correction": "pass"})
    assert "was changed after it was written" in refused(stored, json.dumps(data))


@pytest.mark.parametrize("text", [CHECK, MEASURED])
def test_a_result_without_a_seal_is_of_another_version(stored, text):
    data = json.loads(text)
    del data["seal"]
    assert "has no seal; likely cause: it was written by another version" in refused(stored, json.dumps(data))


@pytest.mark.parametrize("name", records.ALL)
def test_a_result_laid_out_otherwise_keeps_its_seal(stored, name):
    data = json.loads(result_json(records.ALL[name]()))
    back = stored(json.dumps(dict(reversed(data.items())), indent=7))
    assert back.seal == data["seal"]


def test_the_same_result_twice_is_refused_under_whatever_name(tmp_path):
    for name, text in (("a.json", CHECK), ("b.json", CHECK.replace("\n", "\n ")), ("c.json", MEASURED)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert len(read_results([tmp_path / "a.json", tmp_path / "c.json"])) == 2
    for twice in ("a.json", "b.json"):
        with pytest.raises(ResultError, match=f'{twice}: holds the same result as "a.json"; expected each result once'):
            read_results([tmp_path / "a.json", tmp_path / "c.json", tmp_path / twice])


def test_hostile_keys_steer_no_terminal(stored):
    told = refused(stored, CHECK, lambda d: d["airframe"].update(name=["\x1b[2J"]))
    assert "\x1b" not in told
    assert report_result(records.failing_helicopter())["airframe"]["name"] == "Dunlin 450"
