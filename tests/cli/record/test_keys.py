"""From bytes to what they mean, in whatever pieces they arrive."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.cli.record.keys import Once, Typed, Written
from benchrig.live.view import BACK, NEXT, QUIT, REPEAT, UNSURE


@pytest.mark.parametrize(
    ("pressed", "keys"),
    [
        (b" ", [REPEAT]),
        (b"\x7f", [BACK]),
        (b"\x08", [BACK]),
        (b"\r", [NEXT]),
        (b"\n", [NEXT]),
        (b"qQ", [QUIT, QUIT]),
        (b"\x04", [QUIT]),
        (b"uD", ["u", "d"]),
        ("ä".encode(), ["ä"]),
        (b"\x1b[A\x1bOP\x1b[1;5C\x1b[15~", []),
        (b"\x1b[200~", []),
        (b"\x00\x01\t", []),
        (b"\xff\xfe", []),
        (b"\x1bu", ["u"]),
    ],
)
def test_each_key_has_one_meaning(pressed, keys):
    assert Typed().keys(pressed) == keys


@given(st.lists(st.sampled_from([b" ", b"u", b"\x7f", b"\x1b[A", b"\x1bOQ", "é".encode(), b"\x1b[1;2D"])), st.data())
def test_keys_are_the_same_however_their_bytes_are_cut(pressed, data):
    whole = b"".join(pressed)
    cuts = sorted(data.draw(st.lists(st.integers(0, len(whole)), max_size=6)))
    typed = Typed()
    found = []
    for start, stop in zip([0, *cuts], [*cuts, len(whole)], strict=True):
        found += typed.keys(whole[start:stop])
    assert found == Typed().keys(whole)


@given(st.binary())
def test_no_bytes_break_it(data):
    assert all(isinstance(key, str) for key in [*Typed().keys(data), *Written().keys(data)])


def test_lines_are_words_or_one_letter():
    lines = b"again\n back \nu\nstop\n\ngo on\nnonsense\nq\n"
    assert Written().keys(lines) == [REPEAT, BACK, "u", QUIT, NEXT, NEXT, QUIT]


def test_a_line_that_means_nothing_is_handed_back_once():
    written = Written()
    written.keys(b"stpo\nback\ngo  on\n")
    assert written.misread() == ["stpo", "go  on"]
    assert written.misread() == []


def test_an_enter_at_the_end_of_a_word_goes_nowhere():
    once = Once()
    assert once.keys(Typed().keys(b"stop\r"), 0.0) == ["s", "t", "o", "p", UNSURE]
    assert once.keys([NEXT], 2.0) == [NEXT]
    assert once.keys([REPEAT], 4.0) + once.keys([NEXT], 4.1) == [REPEAT, NEXT]


def test_a_line_means_nothing_before_it_ends():
    written = Written()
    assert written.keys(b"ba") == []
    assert written.keys(b"ck\n") == [BACK]
