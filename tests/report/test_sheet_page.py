"""The sheet as a page."""

from __future__ import annotations

import re

import pytest
import sheets
from outline import Outline

from benchrig.report.sheet_page import sheet_page

PAGES = {name: sheet_page(build()) for name, build in sheets.ALL.items()}


@pytest.mark.parametrize("name", sheets.ALL)
def test_the_page_needs_nothing_from_outside_and_runs_nothing(name):
    assert Outline(PAGES[name]).asks_for_nothing()
    assert not re.search(r"url\(|@import", PAGES[name])


@pytest.mark.parametrize("name", sheets.ALL)
def test_the_page_can_be_read_without_seeing_it(name):
    outline = Outline(PAGES[name])
    assert ("html", {"lang": "en"}) in outline.attributes
    assert all("scope" in given for tag, given in outline.attributes if tag == "th")
    boxes = [given for _, given in outline.attributes if given.get("class") == "box"]
    assert all(given["aria-label"] == "to be ticked by hand" for given in boxes)


def test_hostile_text_is_shown_and_not_obeyed():
    page = PAGES["hostile"]
    assert "<script" not in page
    assert "{{ 7*7 }}" in page
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e\ud800-\udfff]", page)


@pytest.mark.parametrize(
    ("name", "sentences"),
    [
        ("bare", ["NOT SHOWN", "No check of the directions was given.", "The airframe file alone"]),
        ("whole", ["PASS", "Everything that this bench asks", "corrects after 21.0 ± 0.3 ms = pass"]),
        ("failing", ["FAIL", "x forward, y right, z down ≠ fail", "Do: Reverse servo front"]),
        ("stale", ["re-test is due"]),
    ],
)
def test_the_page_says_what_matters(name, sentences):
    text = Outline(PAGES[name]).text.replace("\N{NO-BREAK SPACE}", " ")
    for sentence in sentences:
        assert sentence in text


@pytest.mark.parametrize("name", sheets.ALL)
def test_there_is_a_box_for_everything_that_no_result_speaks_of(name):
    sheet = sheets.ALL[name]()
    rows = [row.outcome for section in sheet.sections for row in section.rows]
    places = [place.outcome for row in sheet.signs.rows for place in row.places]
    assert PAGES[name].count('class="box"') == [*rows, *places].count(None)
