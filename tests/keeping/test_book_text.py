"""What the book says fits a terminal, shows each figure where it lies, and agrees with the page and the JSON."""

import json
import re
from datetime import UTC, datetime

import pytest
from benches import result

from benchrig.keeping.book_adding import add_files, enter_change
from benchrig.keeping.book_due import due
from benchrig.keeping.book_file import read_book
from benchrig.keeping.book_history import histories
from benchrig.keeping.book_page import history_page
from benchrig.keeping.book_strip import strips
from benchrig.keeping.book_text import book_text, due_text, history_text
from benchrig.keeping.book_values import SCHEMA, book_json


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """Give the histories of a book of two airframes with their reasons: one moved, one with a hostile name."""
    folder = tmp_path_factory.mktemp("book")
    for day, verdict, bias in (
        ("2026-03-01", "pass", 0.0),
        ("2026-03-05", "fail", 2.5),
        ("2026-04-02", "pass", -1.0),
        ("2026-05-02", "pass", 7.0),
    ):
        result(folder / f"{day}.json", day, verdict=verdict, bias=bias)
    result(folder / "other.json", "2026-02-01", verdict="not shown", airframe="Kn\x1b[2Jot <b>" + "y" * 60)
    add_files(folder, [folder])
    enter_change(folder, "Dunlin 450", "tail servo replaced", datetime(2026, 3, 20, tzinfo=UTC))
    return [(history, due(history, folder)) for history in histories(read_book(folder))]


@pytest.fixture(scope="module")
def dunlin(told):
    return told[0]


@pytest.mark.parametrize("width", [40, 60, 80, 120])
@pytest.mark.parametrize("everything", [False, True])
def test_no_line_is_wider_than_the_terminal_and_nothing_steers_it(told, width, everything):
    texts = [book_text(told, width=width, colour=False), due_text(told, width=width, colour=False)]
    texts += [history_text(*one, width=width, colour=False, everything=everything) for one in told]
    for text in texts:
        assert max(map(len, text.splitlines())) <= width
        assert "\x1b" not in text


def test_the_list_gives_last_bench_last_pass_and_why_it_is_due(told):
    text = book_text(told, width=80, colour=False)
    assert "last bench  = pass, 2026-05-02 10:00:00 UTC, by R. Vane, 2026-05-02.toml" in text
    assert "next bench  due" in text
    assert "  - no bench of it has passed." in text
    assert text.endswith("A bench is due for 2 of 2 airframes.")
    assert "Take the blades or propellers off" in text


def test_a_history_lists_benches_and_changes_in_the_order_of_time(dunlin):
    lines = history_text(*dunlin, width=80, colour=False).splitlines()
    begin = lines.index("BENCHES") + 1
    assert [line[:20] for line in lines[begin : begin + 5] if not line.startswith("  ")] == [
        "= pass, 2026-03-01 1",
        "≠ fail, 2026-03-05 1",
        "~ 2026-03-20 00:00 c",
        "= pass, 2026-04-02 1",
        "= pass, 2026-05-02 1",
    ]


def test_a_strip_shows_values_in_proportion_and_limits_around_the_first_pass_of_the_build(dunlin):
    history, _ = dunlin
    (series,) = (s for s in history.series() if s.name == "gyro bias, x")
    drawn = strips(series, 101)
    at = [strip.index("o") for strip in drawn]
    values = [figure.value for _, figure in series.points]
    slope = (at[-1] - at[0]) / (values[-1] - values[0])
    assert at == [pytest.approx(at[0] + slope * (value - values[0]), abs=1.01) for value in values]
    left, right = drawn[0].index("|"), drawn[0].rindex("|")
    # the present build begins after the change: its first pass is the third bench
    assert (left + right) / 2 == pytest.approx(at[2], abs=1)
    assert right - left == pytest.approx(10.0 * slope, abs=1.5)
    assert at[3] > right
    assert all(len(strip) == 101 for strip in drawn)


def test_figures_of_all_kinds_are_shown_where_all_are_asked_for(dunlin):
    usual = history_text(*dunlin, width=80, colour=False)
    everything = history_text(*dunlin, width=80, colour=False, everything=True)
    assert "TAIL: LATENCY" in usual
    assert "TAIL: ANSWER TO YAW" not in usual
    assert "TAIL: ANSWER TO YAW" in everything


def test_the_page_holds_what_the_text_holds_and_escapes_what_files_say(told, dunlin):
    page = history_page(*dunlin)
    assert "The next bench is due" in page
    assert page.count("<figure") == history_text(*dunlin, width=80, colour=False).count(": LATENCY") + 5
    assert "changed: tail servo replaced" in page
    assert "It has moved from the first pass of the present build, beyond its limits." in page
    assert re.search(r"Gyro bias, x: 7\.98 ± 0\.0\d °/s at the newest of 4 benches", page)
    other = history_page(*told[1])
    assert "<b>yy" not in other
    assert "&lt;b&gt;yy" in other
    assert "\x1b" not in other
    assert "<script" not in page


def test_the_json_holds_every_bench_and_every_figure_with_its_uncertainty(told, dunlin):
    said = json.loads(book_json(told))
    assert said["schema"] == SCHEMA == "benchrig-book/1"
    assert [one["due"] for one in said["airframes"]] == [True, True]
    assert "benches" not in said["airframes"][0]
    (one,) = json.loads(book_json([dunlin], benches=True))["airframes"]
    assert [bench["verdict"] for bench in one["benches"]] == ["pass", "fail", "pass", "pass"]
    assert [bench["of_present_build"] for bench in one["benches"]] == [False, False, True, True]
    (series,) = (s for s in one["figures"] if s["name"] == "gyro bias, x")
    assert len(series["points"]) == 4
    assert all(point["uncertainty"] > 0 for point in series["points"])
    assert (series["limit"], series["told"]) == (5.0, "matters")
    assert series["change"] == pytest.approx(8.0)
    assert one["changes"] == [{"when": "2026-03-20T00:00:00+00:00", "what": "tail servo replaced"}]
