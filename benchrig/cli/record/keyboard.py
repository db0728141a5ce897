"""The keyboard of a terminal, key by key; whatever happens, the terminal is given back as it was."""

from __future__ import annotations

import os
import select
import sys
import termios
import time
from collections.abc import Callable
from contextlib import suppress
from types import TracebackType
from typing import Any, Final, Self

from benchrig.cli.record.keys import Once, Typed, Written

_READ: Final = 1024  # bytes

LOCAL, CHARACTERS, INPUT = 3, 6, 0
"""Places in what `termios.tcgetattr` gives."""


class Keyboard:
    """What the person at the bench presses, without waiting for it.

    A terminal is switched to give every key at once, unseen; suspending and halting the output are switched off, since
    both would stop a recording. Ctrl-C stays a signal. Where standard input is no terminal its lines are read, and
    those of a terminal too where that is wished: then it shows what is typed, and nothing means anything before enter.

    Parameters
    ----------
    descriptor : int or None
        Of the file that is read; None for standard input, where there is one.
    clock : callable
        Gives s, evenly; by it a key that is held down is told from one that is pressed again.
    by_line : bool
        Whether lines are read from a terminal too.
    """

    def __init__(
        self, descriptor: int | None = None, clock: Callable[[], float] = time.monotonic, *, by_line: bool = False
    ) -> None:
        self._clock, self._by_line = clock, by_line
        self._descriptor = _standard_input() if descriptor is None else descriptor
        self._found: list[Any] | None = None
        self._ended = self._descriptor is None
        self._reading: Typed | Written = Written()
        self._once: Once | None = None

    def __enter__(self) -> Self:
        if self._descriptor is not None and os.isatty(self._descriptor):
            if not self._by_line:
                self._reading, self._once = Typed(), Once()
            self._switch(self._descriptor)
        return self

    def take_again(self) -> None:
        """Switch the terminal once more, after the program was halted and whoever halted it had it meanwhile."""
        if self._found is None or self._descriptor is None:
            return
        with suppress(OSError, termios.error):
            if os.tcgetpgrp(self._descriptor) == os.getpgrp():  # in the background it is not this program's
                found = self._found
                self._switch(self._descriptor)
                self._found = found

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.give_back()

    def give_back(self) -> None:
        """Leave the terminal as it was found; may be called twice."""
        found, self._found = self._found, None
        if found is None or self._descriptor is None:
            return
        try:
            termios.tcsetattr(self._descriptor, termios.TCSAFLUSH, found)  # what is left over is for nobody
        except termios.error:
            return  # the terminal is gone: nothing is left to give back

    def pressed(self) -> list[str]:
        """Give what was pressed since the last call."""
        if self._ended or self._descriptor is None:
            return []
        data = b""
        try:
            if select.select([self._descriptor], [], [], 0)[0]:
                data = os.read(self._descriptor, _READ)
                self._ended = not data
        except (OSError, ValueError):
            self._ended = True  # closed, or its terminal is gone: the recording goes on without keys
        pressed = self._reading.keys(data)
        return pressed if self._once is None else self._once.keys(pressed, self._clock())

    def misread(self) -> list[str]:
        """Give the lines that meant nothing since the last call."""
        return self._reading.misread() if isinstance(self._reading, Written) else []

    def _switch(self, descriptor: int) -> None:
        try:
            self._found = termios.tcgetattr(descriptor)
            raw = termios.tcgetattr(descriptor)
        except termios.error:
            return
        raw[INPUT] &= ~termios.IXON
        characters = raw[CHARACTERS]
        if not self._by_line:
            raw[LOCAL] &= ~(termios.ICANON | termios.ECHO)
            raw[INPUT] &= ~termios.ICRNL
            characters[termios.VMIN], characters[termios.VTIME] = 1, 0
        characters[termios.VSUSP] = characters[termios.VQUIT] = b"\x00"
        termios.tcsetattr(descriptor, termios.TCSAFLUSH, raw)  # what was typed before answers nothing


def _standard_input() -> int | None:
    try:
        return sys.stdin.fileno()
    except (AttributeError, OSError, ValueError):
        return None
