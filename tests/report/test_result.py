"""The result by its schema."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import datetime, timedelta, timezone

import numpy as np
import pytest
import records
import stored_benches

from benchrig.capture.reader import read_capture
from benchrig.geometry.rotations import matrix_from_vector
from benchrig.outcome import Outcome
from benchrig.report.result import report_result, result_json
from benchrig.verdict.record import WiringFound

TOP = [
    "schema", "verdict", "scope", "parts", "wrong_pass_bound", "airframe", "capture", "matrix", "mounting", "lever_arm",
    "actuators", "health", "findings", "cautions", "software",
]  # fmt: skip
CELL = [
    "motion", "check", "outcome", "evidence", "expected", "observed", "size", "unit", "uncertainty", "wrong_pass_bound",
    "reason",
]  # fmt: skip


@pytest.mark.parametrize("name", records.ALL)
def test_the_keys_of_the_schema_come_in_its_order(name):
    result = report_result(records.ALL[name]())
    assert list(result)[: len(TOP)] == TOP
    assert list(result)[-1] == "seal"
    assert result["schema"] == "benchrig-result/1"
    for cell in result["matrix"]:
        assert list(cell)[: len(CELL)] == CELL
    assert list(result["capture"])[:7] == [
        "file", "sha256", "samples", "duration_s", "rate_hz", "recorded", "operator",
    ]  # fmt: skip
    for actuator in result["actuators"]:
        assert list(actuator)[:6] == ["name", "outcome", "finding", "latency_ms", "swapped_with", "response"]


@pytest.mark.parametrize("name", records.ALL)
def test_the_text_is_strict_json_in_ascii(name):
    def refuse(constant: str) -> None:
        raise AssertionError(constant)

    text = result_json(records.ALL[name]())
    assert text.isascii()
    assert json.loads(text, parse_constant=refuse) == report_result(records.ALL[name]())
    assert "\n" not in result_json(records.ALL[name](), indent=None)


def test_what_was_found_is_named_like_what_was_declared():
    mounting = report_result(records.failing_helicopter())["mounting"]
    assert mounting["declared"] == {"x": "aft", "y": "left", "z": "down"}
    assert mounting["gyro"]["found"] == {"x": "forward", "y": "right", "z": "down"}
    assert "mirrored" not in mounting["gyro"]
    assert "magnetometer" not in mounting
    assert mounting["misalignment_deg"]["uncertainty"]["yaw"] == 1.5


def test_a_left_handed_wiring_is_marked_beside_what_was_found():
    wiring = WiringFound(Outcome.FAIL, np.diag([1.0, 1.0, -1.0]), 0.9999999, (np.eye(3),))
    entry = report_result(replace(records.right_helicopter(), gyro=wiring))["mounting"]["gyro"]
    assert list(entry) == ["outcome", "found", "mirrored", "probability", "also_possible"]
    assert entry["mirrored"] is True
    assert entry["found"] == {"x": "forward", "y": "right", "z": "up"}
    assert entry["probability"] == 0.9999999
    assert entry["also_possible"] == [{"x": "forward", "y": "right", "z": "down"}]


def test_a_free_rotation_is_given_as_a_matrix():
    free = matrix_from_vector(np.array([0.1, 0.2, 0.3]))
    record = records.right_helicopter()
    sensor = replace(record.airframe.sensor, body_from_sensor=free)
    result = report_result(replace(record, airframe=replace(record.airframe, sensor=sensor)))
    assert np.allclose(result["mounting"]["declared"]["rotation"], free)


def test_what_cannot_be_told_is_null():
    result = report_result(replace(records.doubtful_helicopter(), gyro=WiringFound(Outcome.NOT_SHOWN, None, None, ())))
    assert result["mounting"]["gyro"] == {
        "outcome": "not shown", "found": None, "probability": None, "also_possible": [],
    }  # fmt: skip
    assert result["mounting"]["misalignment_deg"] is None
    assert result["lever_arm"]["measured_mm"] == {"forward": None, "right": None, "down": None}
    assert result["lever_arm"]["declared_mm"] == {"forward": -180.0, "right": 0.0, "down": -25.0}
    assert result["actuators"][0]["response"] is None
    assert result["wrong_pass_bound"] is None
    assert result["next_motion"] == "yaw right"


def test_a_number_that_is_not_finite_is_null():
    assert report_result(records.hostile())["health"][0]["limit"] is None


def test_the_sensor_alone_has_its_own_scope():
    result = report_result(records.sensor_only())
    assert result["scope"] == "sensor"
    assert result["parts"] == {"sensing": "pass", "correction": "not applicable"}
    assert result["actuators"] == []
    assert result["mounting"]["magnetometer"]["outcome"] == "pass"


@pytest.mark.parametrize(
    ("moment", "text"),
    [
        (datetime(2026, 11, 25, 10, tzinfo=timezone(timedelta(hours=2))), "2026-11-25T10:00:00+02:00"),
        (datetime(2026, 11, 25, 10), "2026-11-25T10:00:00"),  # noqa: DTZ001 - a manifest may leave the zone out
        (None, None),
    ],
)
def test_the_time_stays_as_recorded(moment, text):
    record = records.right_helicopter()
    changed = replace(record, recording=replace(record.recording, recorded=moment))
    assert report_result(changed)["capture"]["recorded"] == text
    assert report_result(record)["capture"]["recorded"] == "2026-11-25T10:00:00Z"


def test_the_units_own_figures_stand_in_the_units_people_read():
    unit = report_result(stored_benches.record())["sensor"]
    assert unit == {
        "gyro_bias_deg_s": {"x": 1.0, "y": -0.5, "z": 0.2, "uncertainty": {"x": 0.02, "y": 0.02, "z": 0.03}},
        "gyro_over_gravity": {"value": 1.01, "uncertainty": 0.004},
        "accelerometer_size_g": {"value": 0.99, "uncertainty": 0.002},
        "gyro_noise_deg_s_rthz": {"value": 0.006, "uncertainty": 0.0005},
        "accelerometer_delay_ms": {"value": 4.0, "uncertainty": 3.0},
        "temperature_c": {"value": 24.5, "uncertainty": 0.2},
    }
    assert report_result(records.right_helicopter())["sensor"] is None


def test_what_the_unit_did_not_show_is_null():
    nothing = dict.fromkeys(
        ("gyro_bias", "gyro_bias_uncertainty", "gyro_over_gravity", "accelerometer_size", "gyro_noise")
    )
    unit = report_result(stored_benches.record(**nothing, accelerometer_delay=None, temperature=None))["sensor"]
    assert set(unit.values()) == {None}


def test_each_files_own_digest_and_the_declaration_stand_in_the_result(captures, demo_airframe):
    recording = read_capture(captures / "dunlin-ok.toml", demo_airframe("dunlin"))
    result = report_result(replace(records.right_helicopter(), recording=recording))
    for key, name in (("stream_sha256", "dunlin-ok.csv"), ("manifest_sha256", "dunlin-ok.toml")):
        assert result["capture"][key] == hashlib.sha256((captures / name).read_bytes()).hexdigest()
    assert report_result(records.right_helicopter())["capture"]["stream_sha256"] is None
    assert result["declaration"]["actuators"].keys() == {"front", "right rear", "left rear", "tail"}
