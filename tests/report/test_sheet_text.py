"""The sheet for a terminal."""

from __future__ import annotations

import re

import pytest
import sheets

from benchrig.cautions import CAUTIONS
from benchrig.report.lettering import columns
from benchrig.report.sheet_text import sheet_text


def shown(name, width=80, *, colour=False):
    return sheet_text(sheets.ALL[name](), width=width, colour=colour)


@pytest.mark.parametrize("name", sheets.ALL)
@pytest.mark.parametrize("width", [60, 80, 100])
def test_no_line_is_wider_than_the_terminal(name, width):
    assert max(columns(line) for line in shown(name, width).splitlines()) <= width


@pytest.mark.parametrize("name", sheets.ALL)
def test_colour_adds_nothing_but_colour(name):
    plain = re.sub("\x1b\\[[0-9;]*m", "", shown(name, colour=True))
    assert [line.rstrip() for line in plain.splitlines()] == shown(name).splitlines()


def test_hostile_text_steers_no_terminal():
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e\ud800-\udfff]", shown("hostile"))


@pytest.mark.parametrize("name", sheets.ALL)
def test_the_cautions_come_first(name):
    assert shown(name, 100).startswith(f"! {CAUTIONS[0]}")


@pytest.mark.parametrize(
    ("name", "sentences"),
    [
        ("bare", ["  ? NOT SHOWN", "2 points are open", "no result was given", "[ ]"]),
        ("whole", ["  = PASS", "Everything that this bench asks of the airframe is shown."]),
        ("failing", ["  ≠ FAIL", "STILL OPEN", " 1. ≠ ", "Do: Reverse servo front", "plate down ≠ FAIL"]),
        ("stale", ["re-test is due", "Run benchrig check again."]),
    ],
)
def test_the_sheet_says_what_matters(name, sentences):
    for sentence in sentences:
        assert sentence in shown(name)


def test_a_passed_sheet_has_no_open_points():
    assert "STILL OPEN" not in shown("whole")


def test_advice_stands_after_what_is_open():
    text = shown("failing")
    assert text.index("STILL OPEN") < text.index("\nADVICE\ni The unit is turned by 1.1°") < text.index("MADE FROM")


def test_a_row_reads_from_left_to_right():
    assert re.search(
        r"^axes of the unit +x aft, y left, z down +x aft, y left, z down += pass$", shown("whole", 100), re.MULTILINE
    )
    assert re.search(r"^nose up +\+q +−y = +−x = +plate down = ", shown("whole", 100), re.MULTILINE)
