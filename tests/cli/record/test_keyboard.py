"""A real pseudo-terminal: keys come one by one, and it is given back as it was, whatever happens."""

import os
import select
import termios
from contextlib import suppress

import pytest

from benchrig.cli.record.keyboard import Keyboard
from benchrig.live.view import BACK, NEXT, QUIT, REPEAT


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


def test_a_key_that_is_held_down_is_pressed_once(terminal):
    ours, theirs = terminal
    now = 0.0
    with Keyboard(theirs, clock=lambda: now) as keyboard:
        pressed = []
        for now in (0.0, 0.66, 0.69, 0.72, 1.3, 2.5):  # noqa: B007 - the keyboard reads the clock
            os.write(ours, b"\x7f")
            pressed.append(keyboard.pressed())
        assert pressed == [[BACK], [], [], [], [], [BACK]]


def test_what_was_typed_before_and_what_is_left_over_goes_to_nobody(terminal):
    ours, theirs = terminal
    os.write(ours, b"q\n")
    assert select.select([theirs], [], [], 10.0)[0]
    with Keyboard(theirs) as keyboard:
        assert keyboard.pressed() == []
        os.write(ours, b"rm\n")
        assert select.select([theirs], [], [], 10.0)[0]
    os.set_blocking(theirs, False)
    with pytest.raises(BlockingIOError):
        os.read(theirs, 10)


def test_after_a_halt_the_terminal_is_taken_again_and_still_given_back_as_it_was_first(terminal, monkeypatch):
    ours, theirs = terminal
    monkeypatch.setattr("os.tcgetpgrp", lambda _: os.getpgrp())  # this terminal is nobody's
    before = termios.tcgetattr(theirs)
    with Keyboard(theirs) as keyboard:
        taken = termios.tcgetattr(theirs)
        termios.tcsetattr(theirs, termios.TCSANOW, before)  # as a shell does
        keyboard.take_again()
        assert termios.tcgetattr(theirs) == taken
        os.write(ours, b"u")
        assert keyboard.pressed() == ["u"]
        termios.tcsetattr(theirs, termios.TCSANOW, before)
        monkeypatch.setattr("os.tcgetpgrp", lambda _: os.getpgrp() + 1)
        keyboard.take_again()
        assert termios.tcgetattr(theirs) == before
    assert termios.tcgetattr(theirs) == before


def test_an_enter_is_told_from_no_key(terminal):
    ours, theirs = terminal
    with Keyboard(theirs) as keyboard:
        os.write(ours, b"\r")
        assert keyboard.pressed() == ["next"]


def test_line_by_line_a_terminal_shows_what_is_typed_and_an_enter_ends_it(terminal):
    ours, theirs = terminal
    before = termios.tcgetattr(theirs)
    with Keyboard(theirs, by_line=True) as keyboard:
        os.write(ours, b"sto")
        assert keyboard.pressed() == []
        assert os.read(ours, 10) == b"sto"
        os.write(ours, b"p\r\x1a\x13stpo\r\r")
        keys = [*keyboard.pressed(), *keyboard.pressed(), *keyboard.pressed()]  # a terminal gives a line at a time
        assert [keys[0], keys[-1]] == [QUIT, NEXT]
        assert [line[-4:] for line in keyboard.misread()] == ["stpo"]
    assert termios.tcgetattr(theirs) == before


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
