"""From the bytes of a keyboard, or the lines of a pipe, to what they mean for a session."""

from __future__ import annotations

import codecs
import re
from collections.abc import Mapping, Sequence
from typing import Final

from benchrig.live.view import BACK, NEXT, QUIT, REPEAT, UNSURE

_NAMED: Final[Mapping[str, str]] = {
    " ": REPEAT,
    "\x7f": BACK,
    "\x08": BACK,
    "\r": NEXT,
    "\n": NEXT,
    "q": QUIT,
    "\x03": QUIT,
    "\x04": QUIT,
}
_WORDS: Final[Mapping[str, str]] = {
    "": NEXT,
    "go on": NEXT,
    "again": REPEAT,
    "back": BACK,
    "stop": QUIT,
    "q": QUIT,
}
_MEANT: Final = frozenset(_NAMED.values())
_SEQUENCE: Final = re.compile("\x1b(?:[\\[O][0-?]*[ -/]*[@-~]?)?")
"""What arrow and function keys send (ECMA-48, 5.4: control sequences), whole or cut short: none means anything here."""
_UNFINISHED: Final = re.compile("\x1b(?:[\\[O][0-?]*[ -/]*)?$")


class Typed:
    """Keys of a terminal, out of whatever pieces their bytes arrive in."""

    def __init__(self) -> None:
        self._decoder = codecs.getincrementaldecoder("utf-8")("ignore")
        self._rest = ""

    def keys(self, data: bytes) -> list[str]:
        r"""Give what was pressed: `REPEAT`, `BACK`, `NEXT`, `QUIT`, or one small letter.

        Examples
        --------
        >>> Typed().keys(b"U\x1b[A q")
        ['u', 'repeat', 'quit']
        """
        text = self._rest + self._decoder.decode(data)
        cut = _UNFINISHED.search(text)
        self._rest = text[cut.start() :] if cut else ""
        text = _SEQUENCE.sub("", text[: cut.start()] if cut else text)
        pressed = (_NAMED.get(letter, letter) for letter in text.lower())
        return [key for key in pressed if key in _MEANT or key.isprintable()]


class Once:
    """Takes a key that is held down for one press: a keyboard repeats it by itself, and would answer what comes next.

    A person who means the same key again lets go of it first, and finds what was asked meanwhile. Nor does an enter
    right after a letter go on: whoever types a word and ends it by enter never meant to accept a motion.
    """

    def __init__(self) -> None:
        self._last, self._when = "", 0.0

    def keys(self, pressed: Sequence[str], now: float) -> list[str]:
        """Give what was pressed, without repeats; `now` in s, by an even clock.

        Examples
        --------
        >>> once = Once()
        >>> [once.keys(["u"], 0.0), once.keys(["u"], 0.5), once.keys(["u", "d"], 0.53), once.keys(["u"], 2.0)]
        [['u'], [], ['d'], ['u']]
        """
        meant = []
        for key in pressed:
            if key != self._last or now - self._when > HELD_S:
                meant.append(UNSURE if key == NEXT and len(self._last) == 1 else key)
            self._last, self._when = key, now
        return meant


HELD_S: Final = 0.7
"""Within which keyboards begin to repeat a key that is held down (common practice: 0.25 s to 0.66 s)."""


class Written:
    """Keys written on lines, one a line, for where no terminal is: words, or the letter of an answer."""

    def __init__(self) -> None:
        self._decoder = codecs.getincrementaldecoder("utf-8")("ignore")
        self._rest = ""
        self._misread: list[str] = []

    def keys(self, data: bytes) -> list[str]:
        r"""Give what the finished lines ask for; a line that is neither a word nor one letter asks for nothing.

        Examples
        --------
        >>> Written().keys(b"back\nu\nqui")
        ['back', 'u']
        """
        *lines, self._rest = (self._rest + self._decoder.decode(data)).split("\n")
        self._rest = self._rest[-_LONGEST:]
        words = [line.strip().lower() for line in lines]
        known = [word in _WORDS or (len(word) == 1 and word.isprintable()) for word in words]
        self._misread += [word for word, is_known in zip(words, known, strict=True) if not is_known]
        return [_WORDS.get(word, word) for word, is_known in zip(words, known, strict=True) if is_known]

    def misread(self) -> list[str]:
        """Give the lines that asked for nothing since the last call."""
        misread, self._misread = self._misread, []
        return misread


_LONGEST: Final = 64
"""Characters of an unfinished line that are kept."""
