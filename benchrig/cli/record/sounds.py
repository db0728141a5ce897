"""The terminal's bell in patterns: once for done, twice for again, three times for trouble."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from benchrig.live.view import Cue

PATTERNS: Final[Mapping[Cue, int]] = {
    Cue.BEGIN: 0,
    Cue.DONE: 1,
    Cue.QUESTION: 1,
    Cue.FINISHED: 1,
    Cue.AGAIN: 2,
    Cue.TROUBLE: 3,
}
APART: Final = 0.25  # s; nearer together, many terminals ring once
BELL: Final = "\a"


class Bells:
    """Bells that are due, one after the other; of two cues at once the one with more bells is rung."""

    def __init__(self) -> None:
        self._left = 0
        self._next = 0.0

    def ring(self, cues: Sequence[Cue], now: float) -> str:
        r"""Give the bell if one is due at `now` (s, by an even clock), else nothing.

        Examples
        --------
        >>> bells = Bells()
        >>> [bells.ring([Cue.AGAIN], 0.0), bells.ring([], 0.1), bells.ring([], 0.3), bells.ring([], 0.6)]
        ['\x07', '', '\x07', '']
        """
        self._left = max([self._left, *(PATTERNS[cue] for cue in cues)])
        if not self._left or now < self._next:
            return ""
        self._left -= 1
        self._next = now + APART
        return BELL
