"""The report for a terminal."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
import records

from benchrig.capture.recording import Pulses
from benchrig.outcome import Outcome
from benchrig.report.lettering import columns
from benchrig.report.text import report_text

COLOUR = re.compile(r"\x1b\[[\d;]*m")


@pytest.mark.parametrize("name", records.ALL)
@pytest.mark.parametrize("width", [40, 80, 132])
@pytest.mark.parametrize("colour", [False, True])
def test_every_line_fits_the_terminal(name, width, colour):
    text = COLOUR.sub("", report_text(records.ALL[name](), width=width, colour=colour))
    assert max(columns(line) for line in text.splitlines()) <= width


@pytest.mark.parametrize("name", records.ALL)
def test_colour_adds_nothing_but_colour(name):
    record = records.ALL[name]()
    coloured = [line.rstrip() for line in COLOUR.sub("", report_text(record, colour=True)).splitlines()]
    assert coloured == report_text(record, colour=False).splitlines()


def test_without_colour_no_escape_sequence_is_written():
    assert "\x1b" not in report_text(records.hostile(), colour=False)


def test_text_from_files_never_steers_the_terminal():
    shown = COLOUR.sub("", report_text(records.hostile(), colour=True))
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e\ud800-\udfff]", shown)
    assert "\\x1b[2J" in shown


def test_the_cautions_come_first():
    record = records.right_helicopter()
    assert report_text(record, colour=False).startswith(f"! {record.cautions[0][:40]}")


def test_a_pass_says_how_unlikely_a_wrong_pass_is():
    text = report_text(records.right_helicopter(), colour=False)
    assert "= PASS" in text
    assert "A wrong pass is less likely than 1 in 30 million." in text
    assert "≠" not in text


def test_a_fail_says_what_was_seen_for_what_and_how_to_mend_it():
    text = report_text(records.failing_helicopter(), colour=False)
    assert "≠ FAIL" in text
    assert "nose up: −q, not +q" in text
    assert "nose up: plate up, not plate down" in text
    assert "Reverse servo front in the unit" in text
    assert "wrong pass" not in text


def test_the_most_severe_finding_comes_first():
    text = report_text(records.failing_helicopter(), colour=False)
    assert text.index("does not sit as declared") < text.index("Servo front moves") < text.index("turned by 1.1°")


def test_a_doubt_is_not_worded_as_a_pass():
    text = report_text(records.doubtful_helicopter(), colour=False)
    assert "? NOT SHOWN" in text
    assert "This is not a pass" in text
    assert "tell most: yaw right" in text
    assert "12 required cells are not shown" in text


def test_what_was_judged_by_eye_is_marked_with_its_weight():
    text = report_text(records.doubtful_helicopter(), colour=False)
    assert "= pass*" in text
    assert "? not shown*" not in text
    assert "16 cells rest on what one person saw" in text.replace("\n", " ")
    assert "as often as 1 in 100" in text.replace("\n", " ")
    assert "by eye" not in report_text(records.right_helicopter(), colour=False)


def test_without_actuators_the_verdict_is_said_to_be_about_the_sensor_alone():
    assert "about the sensor alone" in report_text(records.sensor_only(), colour=False)
    assert "about the sensor alone" not in report_text(records.right_helicopter(), colour=False)


def test_eight_rotors_all_have_their_column():
    text = report_text(records.eight_rotors(), colour=False)
    heads = " ".join(line for line in text.splitlines() if line.startswith("CORRECTION"))
    for name in ("front right", "rear right", "rear left", "front…r upper"):
        assert name in heads
    assert text.count("≠ FAIL") == 7  # six cells and the verdict


def test_a_record_without_cells_says_that_nothing_was_judged():
    empty = replace(records.doubtful_helicopter(), matrix=(), health=(), actuators=())
    text = report_text(empty, colour=False)
    assert "No motion was judged." in text
    assert "Nothing was checked." in text


def test_of_two_cells_for_one_place_the_worse_is_shown():
    record = records.right_helicopter()
    worse = replace(record.matrix[0], outcome=Outcome.FAIL)
    row = next(
        line
        for line in report_text(replace(record, matrix=(*record.matrix, worse)), colour=False).splitlines()
        if line.startswith("nose up")
    )
    assert row.split()[2:4] == ["≠", "FAIL"]


def test_the_two_ways_of_a_turntable_differ_in_a_narrow_column():
    record = records.right_helicopter()
    cell = record.matrix[0]
    spins = tuple(
        replace(cell, motion=f"turntable {way}", required=False) for way in ("clockwise", "counter-clockwise")
    )
    text = report_text(replace(record, matrix=(*record.matrix, *spins)), colour=False)
    rows = [line.split("=")[0].strip() for line in text.splitlines() if line.startswith("turntable")]
    assert rows == ["turntable ↻", "turntable ↺"]
    assert "↻ clockwise; ↺ counter-clockwise" in " ".join(text.split())
    assert "clockwise" not in report_text(record, colour=False)


def test_the_checks_of_the_data_are_told_apart():
    checks = tuple(replace(records.HEALTH[0], check=name) for name in ("angle, roll", "angle, pitch", "noise"))
    text = report_text(replace(records.right_helicopter(), health=checks), colour=False)
    assert "= pass  angle, roll; angle, pitch; noise" in text


def test_a_health_limit_that_is_broken_is_told_with_its_value():
    text = report_text(records.failing_helicopter(), colour=False)
    assert "≠ FAIL  clipped samples 14 (limit 0)" in text


def test_the_reports_load_nothing_heavy():
    code = (
        "import numpy, sys; before = set(sys.modules); "
        "import benchrig.report.text, benchrig.report.result, benchrig.report.junit, benchrig.report.page; "
        "print(*sorted({m.partition('.')[0] for m in set(sys.modules) - before}))"
    )
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    heavy = {"jinja2", "rich", "scipy", "pandas", "numba", "pyarrow", "ahrs", "markupsafe", "xml", "email"}
    assert "benchrig" in loaded
    assert not heavy & set(loaded)


def test_what_was_done_to_the_data_on_reading_is_told_without_a_page():
    record = records.right_helicopter()
    note = "the recording was interrupted: it stops at 9.000 s, after batch 4\x1b[2J"
    text = report_text(replace(record, recording=replace(record.recording, history=(note,))), colour=False)
    assert "- the recording was interrupted: it stops at 9.000 s, after batch 4\\x1b[2J" in text


@pytest.mark.parametrize(("uncertainty", "is_said"), [(0.3, True), (0.0065, False)])
def test_a_time_to_answer_that_two_clocks_leave_open_is_said_to_be_open(uncertainty, is_said):
    record = records.right_helicopter()
    silent = tuple(replace(one, latency_ms=None, latency_uncertainty_ms=None) for one in record.actuators)
    beside = {"tail": Pulses(np.zeros(1), np.zeros(1), delay_uncertainty=uncertainty)}
    recording = replace(record.recording, pulses=beside)
    text = report_text(replace(record, actuators=silent, recording=recording), colour=False)
    assert ("Time to answer: not told, since the pulses' own clock is known to ± 300 ms only." in text) is is_said
