"""A measurement by its schema."""

from __future__ import annotations

import json
from dataclasses import replace

import measurements
import pytest

from benchrig.cautions import CAUTIONS
from benchrig.report.measurement_result import measurement_json, measurement_result

TOP = [
    "schema", "kind", "title", "outcome", "airframe", "evidence", "quantities", "findings", "figures", "entries",
    "unknown", "method", "cautions", "software", "seal",
]  # fmt: skip
QUANTITY = ["name", "value", "uncertainty", "unit", "declared", "outcome", "limit", "reason"]


@pytest.mark.parametrize("name", measurements.ALL)
def test_the_keys_of_the_schema_come_in_its_order(name):
    result = measurement_result(measurements.ALL[name]())
    assert list(result) == TOP
    assert result["schema"] == "benchrig-measurement/1"
    assert all(list(quantity) == QUANTITY for quantity in result["quantities"])


@pytest.mark.parametrize("name", measurements.ALL)
def test_the_text_is_strict_json_in_ascii(name):
    def refuse(constant):
        raise AssertionError(constant)

    text = measurement_json(measurements.ALL[name]())
    assert text.isascii()
    assert json.loads(text, parse_constant=refuse) == measurement_result(measurements.ALL[name]())
    assert "\n" not in measurement_json(measurements.ALL[name](), indent=None)
    assert text.startswith('{\n  "schema": "benchrig-')


def test_values_outcomes_and_files_are_those_of_the_measurement():
    result = measurement_result(measurements.wrong_lever())
    assert result["outcome"] == "fail"
    assert result["airframe"] == {
        "name": "Dunlin 450", "file": "captures/dunlin.toml", "sha256": measurements.DIGEST[::-1],
    }  # fmt: skip
    assert result["evidence"] == [{"file": "captures/spin.toml", "sha256": measurements.DIGEST}]
    assert result["quantities"][0] == {
        "name": "sensor from CG, forward", "value": -140.2, "uncertainty": 0.7, "unit": "mm", "declared": -180.0,
        "outcome": "fail", "limit": measurements.WITHIN, "reason": "it differs by 39.8 mm",
    }  # fmt: skip
    assert [finding["severity"] for finding in result["findings"]] == ["fail", "advice"]
    assert result["cautions"][: len(CAUTIONS)] == list(CAUTIONS)


def test_what_cannot_be_told_and_what_is_not_finite_is_null():
    endless = measurements.quantity("bias", float("nan"), float("inf"), 1.0)
    result = measurement_result(replace(measurements.lever(), quantities=(endless,)))
    assert result["quantities"][0]["value"] is None
    assert result["quantities"][0]["uncertainty"] is None


def test_a_line_for_the_airframe_file_keeps_its_table_and_its_value():
    entries = measurement_result(measurements.plain_sensor())["entries"]
    assert entries[2] == {"table": ["actuator", "left rear"], "key": "centre_us", "value": 1521, "comment": ""}
    assert entries[1]["value"][2] == [-0.0031, 0.0004, 1.0102]
