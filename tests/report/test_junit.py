"""The report for machines."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
import records

from benchrig.outcome import Outcome
from benchrig.report.junit import report_junit


def suites(record):
    # the text under test was written here, not fetched
    return {suite.get("name"): suite for suite in ET.fromstring(report_junit(record).encode())}  # noqa: S314 - own text


def kinds(suite):
    return {case.get("name"): (case[0].tag, case[0].get("type")) if len(case) else ("passed", None) for case in suite}


@pytest.mark.parametrize("name", records.ALL)
def test_the_counts_are_those_of_the_cases(name):
    for suite in suites(records.ALL[name]()).values():
        told = kinds(suite).values()
        assert int(suite.get("tests")) == len(suite.findall("testcase"))
        assert int(suite.get("failures")) == sum(kind == "failure" for kind, _ in told)
        assert int(suite.get("skipped")) == sum(kind == "skipped" for kind, _ in told)


def test_a_right_bench_has_no_failure():
    found = suites(records.right_helicopter())
    assert list(found) == ["sensing", "correction", "health"]
    assert all(suite.get("failures") == "0" for suite in found.values())
    assert kinds(found["sensing"])["yaw right, accelerometer"] == ("skipped", None)


def test_a_failing_cell_is_a_failure_that_says_what_was_seen():
    suite = suites(records.failing_helicopter())["sensing"]
    assert kinds(suite)["nose up, gyro"] == ("failure", "fail")
    case = next(case for case in suite if case.get("name") == "nose up, gyro")
    assert case[0].get("message").startswith("−q, not +q; ")


def test_a_doubt_is_never_a_pass():
    found = suites(records.doubtful_helicopter())
    assert kinds(found["sensing"])["yaw right, gyro"] == ("failure", "not shown")
    assert kinds(found["sensing"])["verdict"] == ("failure", "not shown")


def test_a_doubt_in_a_cell_that_is_not_required_is_skipped():
    record = records.right_helicopter()
    loose = replace(record.matrix[0], outcome=Outcome.NOT_SHOWN, required=False)
    suite = suites(replace(record, matrix=(loose, *record.matrix[1:])))["sensing"]
    assert kinds(suite)["nose up, gyro"] == ("skipped", None)


def test_a_bench_without_evidence_is_red_and_not_empty():
    bare = replace(
        records.doubtful_helicopter(), matrix=(), sensing=Outcome.NOT_SHOWN, correction=Outcome.NOT_SHOWN, health=()
    )
    found = suites(bare)
    assert kinds(found["sensing"]) == {"verdict": ("failure", "not shown")}
    assert kinds(found["correction"]) == {"verdict": ("failure", "not shown")}


def test_without_actuators_the_correction_is_skipped_and_says_why():
    suite = suites(records.sensor_only())["correction"]
    assert kinds(suite) == {"verdict": ("skipped", None)}
    assert "sensor alone" in suite[0][0].get("message")


def test_a_data_check_out_of_its_limit_is_a_failure():
    found = suites(records.failing_helicopter())["health"]
    assert kinds(found)["clipped samples"] == ("failure", "fail")
    assert kinds(suites(records.doubtful_helicopter())["health"])["gyro noise"] == ("skipped", None)


def test_hostile_text_leaves_the_document_whole():
    root = ET.fromstring(report_junit(records.hostile()).encode())  # noqa: S314 - own text
    assert "<script>" in root.get("name")
    assert not root.findall(".//script")
