"""Text that is safe to show and fits its place."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.report.lettering import clean, columns, pad, shorten, shorten_middle, wrap

ANY = st.text(st.characters(codec=None), max_size=40)


@given(ANY)
def test_nothing_that_steers_a_terminal_is_left(text):
    shown = clean(text)
    assert not [c for c in shown if unicodedata.category(c) in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}]
    shown.encode()


@given(ANY)
def test_cleaning_twice_changes_nothing(text):
    assert clean(clean(text)) == clean(text)


def test_a_reader_sees_that_something_was_there():
    assert clean("a\x1b[31mb\u202ec\x85") == "a\\x1b[31mb\\u202ec\\x85"


@given(ANY, st.integers(8, 30))
def test_shortened_text_fits(text, width):
    assert columns(shorten(text, width)) <= width
    assert columns(shorten_middle(text, width)) <= width


def test_names_that_share_their_beginning_still_differ():
    names = [f"front left outer rotor {place}" for place in (1, 2)]
    assert shorten_middle(names[0], 12) != shorten_middle(names[1], 12)


@given(ANY, st.integers(12, 40))
def test_wrapped_lines_fit_and_lose_nothing(text, width):
    lines = wrap(text, width, "! ")
    assert max(map(columns, lines)) <= width
    assert "".join(lines).replace(" ", "").removeprefix("!") == clean(text).replace(" ", "")


@pytest.mark.parametrize(("text", "width"), [("≠ FAIL", 6), ("尾部", 4), ("e\u0301", 1)])
def test_columns_are_those_of_the_terminal(text, width):
    assert columns(text) == width
    assert columns(pad(text, 9)) == 9
