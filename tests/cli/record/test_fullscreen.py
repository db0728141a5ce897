"""The whole terminal: what a person sees is the page, and afterwards the terminal is as before."""

import fcntl
import os
import struct
import termios
from contextlib import suppress
from dataclasses import replace

import pytest
from bench_views import VIEWS
from terminal_page import Terminal

from benchrig.cli.record.fullscreen import FullScreen
from benchrig.cli.record.ink import Ink
from benchrig.cli.record.screen import Bench, page

BENCH = Bench("Dunlin 450", "helicopter")
INK = Ink("utf-8", colour=True)


class Pty:
    """A real pseudo-terminal, and the page that what was written to it makes."""

    def __init__(self, columns=80, lines=24):
        self.ours, theirs = os.openpty()
        self.stream = os.fdopen(theirs, "w", encoding="utf-8")
        settings = termios.tcgetattr(theirs)
        settings[1] &= ~termios.OPOST
        termios.tcsetattr(theirs, termios.TCSANOW, settings)
        os.set_blocking(self.ours, False)
        self.resize(columns, lines)

    def resize(self, columns, lines):
        """Change its size, as a person does with a window."""
        fcntl.ioctl(self.stream.fileno(), termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))
        self.terminal = Terminal(columns, lines)

    def written(self):
        """Give what was written since the last call."""
        data = b""
        while True:
            try:
                data += os.read(self.ours, 65536)
            except BlockingIOError:
                return data.decode()

    def read(self):
        """Give what now stands on its page."""
        self.terminal.feed(self.written())
        return self.terminal.lines

    def close(self):
        """Close both ends."""
        self.stream.close()
        os.close(self.ours)


@pytest.fixture
def pty():
    opened = Pty()
    yield opened
    opened.close()


def plain(view, size):
    return page(BENCH, view, size, Ink("utf-8"), 2.0)


@pytest.mark.parametrize("moment", VIEWS)
def test_a_terminal_shows_the_page_and_keeps_it_through_changes(pty, moment):
    screen = FullScreen(pty.stream, BENCH, INK)
    screen.show(VIEWS["moving"], 1.0)
    screen.show(VIEWS[moment], 2.0)
    assert pty.read() == plain(VIEWS[moment], (80, 24))


def test_what_did_not_change_is_not_written_again(pty):
    screen = FullScreen(pty.stream, BENCH, INK)
    screen.show(VIEWS["hold"], 2.0)
    pty.written()
    screen.show(VIEWS["hold"], 2.0)
    assert pty.written() == ""
    screen.show(replace(VIEWS["hold"], held_s=0.5), 2.0)
    assert pty.written().count("\x1b[2K") == 1


@pytest.mark.parametrize("size", [(120, 40), (40, 12)])
def test_a_window_that_changes_its_size_is_drawn_anew(pty, size):
    screen = FullScreen(pty.stream, BENCH, INK)
    screen.show(VIEWS["hold"], 2.0)
    pty.written()
    pty.resize(*size)
    screen.show(VIEWS["hold"], 2.0)
    assert pty.read() == plain(VIEWS["hold"], size)


def test_a_window_too_small_for_anything_breaks_nothing(pty):
    pty.resize(3, 2)
    screen = FullScreen(pty.stream, BENCH, INK)
    screen.show(VIEWS["hold"], 2.0)
    assert not screen.is_lost


def test_the_terminal_is_given_back_with_its_cursor_and_its_own_page(pty):
    screen = FullScreen(pty.stream, BENCH, INK)
    screen.show(VIEWS["hold"], 2.0)
    pty.read()
    assert pty.terminal.modes == {1049: True, 25: False, 7: False}
    screen.close()
    screen.close()
    pty.read()
    assert pty.terminal.modes == {1049: False, 25: True, 7: True}


def test_after_a_halt_everything_is_drawn_anew_on_the_other_page(pty):
    screen = FullScreen(pty.stream, BENCH, INK)
    screen.show(VIEWS["hold"], 2.0)
    pty.written()
    pty.resize(80, 24)  # an empty page: another program had it
    screen.draw_again()
    screen.show(VIEWS["hold"], 2.0)
    assert pty.read() == plain(VIEWS["hold"], (80, 24))
    assert pty.terminal.modes == {1049: True, 25: False, 7: False}


def test_a_terminal_never_drawn_on_is_left_alone(pty):
    FullScreen(pty.stream, BENCH, INK).close()
    assert pty.written() == ""


def test_a_bell_is_one_bell(pty):
    screen = FullScreen(pty.stream, BENCH, INK)
    screen.ring("\a")
    pty.read()
    assert pty.terminal.bells == 1


def test_a_terminal_that_goes_away_is_noted_and_nothing_more():
    pty = Pty()
    screen = FullScreen(pty.stream, BENCH, INK)
    os.close(pty.ours)
    screen.show(VIEWS["hold"], 2.0)
    screen.close()
    assert screen.is_lost
    with suppress(OSError):
        pty.stream.close()
