"""Letters on paper."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from benchrig.report.press import Press


@pytest.fixture
def press():
    with Press("test", datetime(2026, 11, 25, tzinfo=UTC)) as opened:
        yield opened


def test_letters_that_the_font_lacks_are_spelled_as_their_code(press):
    assert press.printable("± ° µ − ≤ √ ≠ × … –") == "± ° µ − ≤ √ ≠ × … –"
    assert press.printable("尾") == "\\u5c3e"
    assert press.printable("a\x1b[2J\u202eb") == "a\\x1b[2J\\u202eb"


def test_lines_are_no_wider_than_asked(press):
    lines = press.lines("a word and a verylongwordthatcannotbebrokenanywhereatall", 20.0, 8.0)
    assert len(lines) > 2
    assert all(press.wide(line, 8.0) <= 20.0 for line in lines)
    assert press.lines("", 20.0, 8.0) == [""]
