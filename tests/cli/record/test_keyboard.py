"""A real pseudo-terminal: keys come one by one, and it is given back as it was, whatever happens."""

import os
import termios
from contextlib import suppress

import pytest

from benchrig.cli.record.keyboard import Keyboard
from benchrig.live.view import BACK, REPEAT


@pytest.fixture
def terminal():
    ours, theirs = os.openpty()
    yield ours, theirs
    for handle in (ours, theirs):
        with suppress(OSError):  # a test closed it
            os.close(handle)


def test_keys_come_without_an_enter_and_are_not_echoed(terminal):
    ours, theirs = terminal
    with Keyboard(theirs) as keyboard:
        os.write(ours, b"u \x7f")
        assert keyboard.pressed() == ["u", REPEAT, BACK]
        assert keyboard.pressed() == []
        os.set_blocking(ours, False)
        with pytest.raises(BlockingIOError):
            os.read(ours, 10)


def test_nothing_on_the_keyboard_can_halt_or_suspend_a_recording(terminal):
    ours, theirs = terminal
    with Keyboard(theirs) as keyboard:
        os.write(ours, b"\x1a\x13\x1cu")  # Ctrl-Z, Ctrl-S, Ctrl-\
        assert keyboard.pressed() == ["u"]


def test_an_enter_is_told_from_no_key(terminal):
    ours, theirs = terminal
    with Keyboard(theirs) as keyboard:
        os.write(ours, b"\r")
        assert keyboard.pressed() == ["next"]


def test_the_terminal_is_given_back_as_it_was(terminal):
    _, theirs = terminal
    before = termios.tcgetattr(theirs)
    with Keyboard(theirs):
        assert termios.tcgetattr(theirs) != before
    assert termios.tcgetattr(theirs) == before


def test_it_is_given_back_when_something_breaks(terminal):
    _, theirs = terminal
    before = termios.tcgetattr(theirs)
    with pytest.raises(ZeroDivisionError), Keyboard(theirs):
        raise ZeroDivisionError
    assert termios.tcgetattr(theirs) == before


def test_a_terminal_that_goes_away_gives_no_keys_and_no_fault(terminal):
    ours, theirs = terminal
    with Keyboard(theirs) as keyboard:
        os.close(ours)
        assert keyboard.pressed() == []
        assert keyboard.pressed() == []


def test_where_no_terminal_is_lines_are_read_and_their_end_is_no_key():
    reading, writing = os.pipe()
    os.write(writing, b"back\nagain\n")
    os.close(writing)
    with Keyboard(reading) as keyboard:
        assert keyboard.pressed() == [BACK, REPEAT]
        assert keyboard.pressed() == []
        assert keyboard.pressed() == []
    os.close(reading)


def test_a_process_without_standard_input_has_no_keys(monkeypatch):
    monkeypatch.setattr("sys.stdin", None)
    with Keyboard() as keyboard:
        assert keyboard.pressed() == []
