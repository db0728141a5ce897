"""Ctrl-C and the signals by which a system ends or halts programs: a recording stops, and everything is kept."""

from __future__ import annotations

import signal
from types import FrameType, TracebackType
from typing import Any, Final, Self

_ENDING: Final = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Stops:
    """Whether the program was asked to stop, noted instead of obeyed on the spot.

    While it is entered, a first signal only sets `asked`, so that nothing is torn out of the middle of a write. A third
    Ctrl-C interrupts after all: somebody means it. To be halted is refused where it can be, since a unit that is not
    read loses rows; a halt that could not be refused is noted when it is over.

    Attributes
    ----------
    asked : bool
    was_halted : bool
        Whether the program goes on after a halt; to be set back by whoever has seen to it.
    """

    def __init__(self) -> None:
        self.asked = self.was_halted = False
        self._times = 0
        self._before: dict[signal.Signals, Any] = {}

    def __enter__(self) -> Self:
        self._before = {ending: signal.signal(ending, self._note) for ending in _ENDING}
        self._before[signal.SIGTSTP] = signal.signal(signal.SIGTSTP, signal.SIG_IGN)
        self._before[signal.SIGCONT] = signal.signal(signal.SIGCONT, self._go_on)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for ending, before in self._before.items():
            signal.signal(ending, before)

    def _note(self, number: int, _frame: FrameType | None) -> None:
        self.asked = True
        self._times += number == signal.SIGINT
        if self._times >= _MEANT:
            raise KeyboardInterrupt

    def _go_on(self, _number: int, _frame: FrameType | None) -> None:
        self.was_halted = True


_MEANT: Final = 3
