"""A measurement's page."""

from __future__ import annotations

import re
from dataclasses import replace

import measurements
import pytest
from outline import Outline

from benchrig.outcome import Finding
from benchrig.report.measurement_page import measurement_page

PAGES = {name: measurement_page(build()) for name, build in measurements.ALL.items()}


@pytest.mark.parametrize("name", measurements.ALL)
def test_the_page_needs_nothing_from_outside_and_runs_nothing(name):
    assert Outline(PAGES[name]).asks_for_nothing()
    assert not re.search(r"url\(|@import", PAGES[name])


@pytest.mark.parametrize("name", measurements.ALL)
def test_the_page_can_be_read_without_seeing_it(name):
    outline = Outline(PAGES[name])
    assert ("html", {"lang": "en"}) in outline.attributes
    assert all("scope" in given for tag, given in outline.attributes if tag == "th")
    assert outline.has_names_for_all_pictures()


@pytest.mark.parametrize("name", measurements.ALL)
def test_the_cautions_stand_at_the_top_and_at_the_bottom(name):
    text = Outline(PAGES[name]).text
    caution = "Take the blades or propellers off"
    assert text.count(caution) == 2
    assert text.index(caution) < text.index("What was measured") < text.index("Made from") < text.rindex(caution)


def test_hostile_text_is_shown_and_not_obeyed():
    page = PAGES["hostile"]
    assert "<script" not in page
    assert "{{ 7*7 }}" in page
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e\ud800-\udfff]", page)


@pytest.mark.parametrize(
    ("name", "sentences"),
    [
        ("lever", ["PASS", "−178.2 ± 0.7 mm −180 mm = pass", measurements.ALONG, "Tie the airframe down"]),
        ("wrong-lever", ["FAIL", "−140.2 ± 0.7 mm −180 mm ≠ fail it differs by 39.8 mm", "Do: Measure by ruler"]),
        ("open-sensor", ["NOT SHOWN", "This is not a pass", "not told 12 mg ? not shown"]),
        ("plain-sensor", ["MEASURED", "0.0075 ± 0.0002 °/s/√Hz OADEV at 1 s", "999 Hz"]),
    ],
)
def test_the_page_says_what_matters(name, sentences):
    text = Outline(PAGES[name]).text.replace("\N{NO-BREAK SPACE}", " ")
    for sentence in sentences:
        assert sentence in text


def test_words_between_backticks_are_set_as_code_and_stay_escaped():
    finding = Finding("lever-differs", "fail", "Run `check <b>` first.", "Correct `centre_us`; a lone ` stays.")
    page = measurement_page(replace(measurements.lever(), findings=(finding,)))
    assert "Run <code>check &lt;b&gt;</code> first." in page
    assert "Correct <code>centre_us</code>; a lone ` stays." in page


def test_lines_for_the_airframe_file_keep_their_line_ends():
    told = re.search(r"<pre[^>]*>(.*?)</pre>", PAGES["plain-sensor"], re.DOTALL)[1]
    assert "accelerometer_matrix = [\n  [1.0012, 0.0021, -0.0031],\n" in told
    assert "# six poses, ± 0.4 mg\naccelerometer_bias_mg = {x = -11.6, y = 34.5, z = -1.8}\n" in told


def test_provenance_names_every_file_with_its_digest():
    text = Outline(PAGES["lever"]).text
    for told in ("dunlin.toml", "spin.toml", measurements.DIGEST, measurements.DIGEST[::-1], "0.1.0"):
        assert told in text


def test_sections_with_nothing_in_them_are_left_out():
    bare = replace(measurements.lever(), findings=(), figures=(), entries=(), unknown=(), method=())
    text = Outline(measurement_page(bare)).text
    for heading in ("Notes", "Seen as pictures", "Lines for the", "cannot tell", "How it was measured"):
        assert heading not in text
        assert heading in Outline(PAGES["lever"]).text


def test_the_same_measurement_gives_the_same_page():
    assert measurement_page(measurements.lever()) == PAGES["lever"]
