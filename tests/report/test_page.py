"""The page."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import records
from outline import Outline

from benchrig.report.page import report_page

PAGES = {name: report_page(build()) for name, build in records.ALL.items()}


@pytest.mark.parametrize("name", records.ALL)
def test_the_page_needs_nothing_from_outside_and_runs_nothing(name):
    outline = Outline(PAGES[name])
    assert not {"script", "link", "img", "iframe", "object"} & set(outline.tags)
    for _, attributes in outline.attributes:
        assert not {"src", "href", "onload", "onclick", "style"} & set(attributes)
    assert "url(" not in PAGES[name]
    assert "@import" not in PAGES[name]


@pytest.mark.parametrize("name", records.ALL)
def test_the_page_stays_small(name):
    assert len(PAGES[name].encode()) < 300_000


@pytest.mark.parametrize("name", records.ALL)
def test_the_page_can_be_read_without_seeing_it(name):
    attributes = Outline(PAGES[name]).attributes
    assert ("html", {"lang": "en"}) in attributes
    assert all("scope" in given for tag, given in attributes if tag == "th")
    pictures = [given for tag, given in attributes if tag == "svg"]
    names = [given["id"] for _, given in attributes if "id" in given]
    assert len(names) == len(set(names))
    for given in pictures:
        assert given["role"] == "img"
        assert set(given["aria-labelledby"].split()) <= set(names)


@pytest.mark.parametrize("name", records.ALL)
def test_the_cautions_stand_at_the_top_and_at_the_bottom(name):
    text = Outline(PAGES[name]).text
    caution = records.ALL[name]().cautions[0]
    assert text.count(caution) == 2
    assert text.index(caution) < text.index("What to fix") < text.index("Made from") < text.rindex(caution)


def test_only_the_shaft_of_an_arrow_is_dashed_so_that_a_cross_is_never_taken_for_a_dot():
    page = PAGES["right"]
    dashed = re.findall(r"svg ([^{}]*found[^{}]*) \{[^}]*stroke-dasharray: 7 4", page)
    assert dashed == [".found.shaft"]
    assert page.count('class="found shaft"') == 4
    assert page.count('<polyline class="found"') == 4


def test_the_compass_is_drawn_as_declared_beside_as_found():
    titles = re.findall(r"<figcaption>([a-z]+, [a-z ]+)</figcaption>", PAGES["sensor-only"])
    assert titles == [
        "unit, declared", "gyro, found", "accelerometer, found", "magnetometer, declared", "magnetometer, found",
    ]  # fmt: skip
    assert "magnetometer, declared" not in PAGES["right"]


def test_hostile_text_is_shown_and_not_obeyed():
    page = PAGES["hostile"]
    assert "<script" not in page
    assert "{{ 7*7 }}" in page
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e\ud800-\udfff]", page)


@pytest.mark.parametrize(
    ("name", "sentences"),
    [
        ("right", ["PASS", "A wrong pass is less likely than 1 in 30 million.", "front: plate down"]),
        ("failing", ["FAIL", "−q, not +q", "Reverse servo front", "declared is x aft, y left, z down"]),
        (
            "doubtful",
            ["NOT SHOWN", "This is not a pass", "tell most: yaw right", "16 cells rest on what one person"],
        ),
        ("sensor-only", ["No actuator is declared: this verdict is about the sensor alone."]),
        ("eight-rotors", ["front left outer upper: less thrust", "still, not less thrust"]),
        ("aeroplane", ["rudder: trailing edge left", "elevator: trailing edge down"]),
    ],
)
def test_the_page_says_what_matters(name, sentences):
    text = Outline(PAGES[name]).text.replace(" :", ":").replace("\N{NO-BREAK SPACE}", " ")
    for sentence in sentences:
        assert sentence in text


def test_provenance_names_files_digests_versions_and_limits():
    text = Outline(PAGES["right"]).text
    record = records.right_helicopter()
    for told in (
        "dunlin.toml", "dunlin-ok.csv", record.recording.sha256, record.airframe.source.sha256,
        "2026-11-25 10:00:00 UTC", "R. Vane", *record.limits.values(), *record.software.values(),
    ):  # fmt: skip
        assert told in text


def test_a_page_without_samples_has_no_curves():
    record = records.right_helicopter()
    none = {"time": np.zeros(0), "segment": np.zeros(0, int), "rests": (), "motions": ()}
    curves = {key: np.zeros((0, 3)) for key in ("angular_rate", "specific_force", "attitude")}
    page = report_page(replace(record, traces=replace(record.traces, **none, **curves)))
    assert "What was recorded" not in page


def test_the_same_record_gives_the_same_page():
    assert report_page(records.right_helicopter()) == PAGES["right"]
