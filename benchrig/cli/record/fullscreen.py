"""The whole terminal as the screen of a bench: only what changed is written, and everything is put back at the end."""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from typing import Final, TextIO

from benchrig.cli.record.ink import Ink
from benchrig.cli.record.screen import Bench, page
from benchrig.cli.terminal import is_written
from benchrig.live.view import View

USUAL: Final = (80, 24)
"""Columns and lines of a terminal that does not say how large it is."""

_ENTER: Final = "\x1b[?1049h\x1b[?25l\x1b[?7l\x1b[2J"
_LEAVE: Final = "\x1b[?7h\x1b[?25h\x1b[?1049l"
"""The other page, no cursor, no wrapping (xterm's private modes 1049, 25 and 7, which terminals in use share)."""


class FullScreen:
    """Draws views on a terminal's other page, so that what stood there before comes back.

    Parameters
    ----------
    stream : text file
        A terminal.
    bench : Bench
    ink : Ink
    """

    def __init__(self, stream: TextIO, bench: Bench, ink: Ink) -> None:
        self._stream, self._bench, self._ink = stream, bench, ink
        self._shown: list[str] = []
        self._size = (0, 0)
        self._is_entered = False
        self.is_lost = False

    def show(self, view: View, now: float) -> None:
        """Draw a view as it is at `now` (s, by an even clock)."""
        size = self._measured()
        before = self._shown if size == self._size else []
        lines = page(self._bench, view, size, self._ink, now)[: size[1]]
        text = "" if before else "\x1b[2J"
        for number, line in enumerate(lines):
            if number >= len(before) or before[number] != line:
                text += f"\x1b[{number + 1};1H\x1b[2K{line}"
        self._shown, self._size = lines, size
        if not self._is_entered:
            self._is_entered = True
            text = _ENTER + text
        self._write(text)

    def ring(self, bell: str) -> None:
        """Let the terminal ring."""
        self._write(bell)

    def answer(self, keys: Sequence[str]) -> None:
        """Nothing: all that was said stands there."""

    def refuse(self, line: str) -> None:  # noqa: ARG002 - there is no place for a line that came from elsewhere
        """Ring for a line that means nothing."""
        self._write("\a")

    def draw_again(self) -> None:
        """Draw everything anew the next time: another program had the terminal."""
        self._shown, self._is_entered = [], False

    def close(self) -> None:
        """Put the terminal's own page back; may be called twice."""
        if self._is_entered:
            self._is_entered = False
            self._shown = []
            self._write(_LEAVE)

    def _write(self, text: str) -> None:
        if text and not self.is_lost:
            self.is_lost = not is_written(self._stream, text)

    def _measured(self) -> tuple[int, int]:
        size = USUAL
        with suppress(OSError, ValueError):
            columns, lines = os.get_terminal_size(self._stream.fileno())
            size = (columns, lines)
        return size if min(size) > 0 else USUAL
