"""Foreign text in messages: harmless, short, and beside the word that was meant."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.declaration.quotation import escape, kind_of, listed, nearest, quote


@given(st.text())
def test_whatever_is_shown_prints_and_is_short(text) -> None:
    shown = escape(text)
    assert shown.isprintable()
    assert len(shown) <= 60 * 6 + 1


def test_a_mark_that_turns_the_writing_direction_is_shown_as_its_code() -> None:
    assert escape("a\u202eb\x1b[31m") == "a\\u202eb\\u001b[31m"


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ("a\nb", '"a\\nb"'),
        (False, "false"),
        (3, "3"),
        (0.5, "0.5"),
        (float("-inf"), "-inf"),
        (date(2026, 11, 25), "2026-11-25"),
        (datetime(2026, 11, 25, 10, tzinfo=UTC), "2026-11-25T10:00:00+00:00"),
        ([1, "a", [2], {"b": 3}, 5], '[1, "a", […], {…}, …]'),
        ({"a\x1b": 1}, "{ a\\u001b = 1 }"),
        ([], "[]"),
        ({}, "{}"),
    ],
)
def test_a_value_is_shown_as_its_file_would_write_it(value, shown) -> None:
    assert quote(value) == shown


def test_an_integer_too_long_to_write_out_is_told_by_its_length() -> None:
    assert quote(10**5000) == "an integer of 16610 bits"


def test_a_boolean_is_not_called_a_number_nor_a_moment_a_date() -> None:
    assert kind_of(True) == "a boolean"
    assert kind_of(datetime(2026, 1, 1, tzinfo=UTC)) == "a date and time"


@pytest.mark.parametrize(
    ("word", "meant"), [("Foward", "forward"), ("counter_clockwise", "counter-clockwise"), ("qqq", None), ("", None)]
)
def test_a_misspelt_word_finds_the_one_that_was_meant(word, meant) -> None:
    assert nearest(word, ["forward", "counter-clockwise", "clockwise"]) == meant


def test_one_word_is_listed_alone() -> None:
    assert listed(["more thrust"]) == '"more thrust"'
