"""Ctrl-C and the signals by which a system ends programs: the recording stops, and everything is kept."""

from __future__ import annotations

import signal
from types import FrameType, TracebackType
from typing import Any, Final, Self

_ENDING: Final = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Stops:
    """Whether the program was asked to stop, noted instead of obeyed on the spot.

    While it is entered, a first signal only sets `asked`, so that nothing is torn out of the middle of a write. A third
    Ctrl-C interrupts after all: somebody means it.

    Attributes
    ----------
    asked : bool
    """

    def __init__(self) -> None:
        self.asked = False
        self._times = 0
        self._before: dict[signal.Signals, Any] = {}

    def __enter__(self) -> Self:
        self._before = {ending: signal.signal(ending, self._note) for ending in _ENDING}
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


_MEANT: Final = 3
