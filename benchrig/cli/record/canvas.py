"""A page of so many columns and lines on which pieces of text are put, and which becomes lines for the terminal."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby

from benchrig.cli.record.ink import Ink, Role
from benchrig.report.lettering import columns

_columns = lru_cache(maxsize=1024)(columns)
"""A page is made of few letters, drawn again and again."""
_TAKEN = ""
"""The second column of a wide letter."""


class Canvas:
    """A page for one moment. What does not fit is cut off, so that no size of a window can break it.

    Parameters
    ----------
    width, height : int
        Columns and lines.
    ink : Ink
    """

    def __init__(self, width: int, height: int, ink: Ink) -> None:
        self.width = width
        self.height = height
        self.ink = ink
        self._cells: list[list[tuple[str, Role]]] = [[(" ", "")] * width for _ in range(height)]

    def put(self, line: int, column: int, text: str, role: Role = "") -> None:
        """Put text down as it is; it must be safe to print and within the terminal's alphabet."""
        if not 0 <= line < self.height:
            return
        for letter in text:
            size = _columns(letter)
            if not size:
                continue  # a mark above the letter before: the letter alone must do
            if column < 0 or column + size > self.width:
                return
            self._cells[line][column] = (letter, role)
            for place in range(column + 1, column + size):
                self._cells[line][place] = (_TAKEN, role)
            column += size

    def end(self, line: int, text: str, role: Role = "") -> None:
        """Put text down so that it ends at the right edge."""
        self.put(line, max(0, self.width - columns(text)), text, role)

    def block(self, line: int, column: int, lines: list[str], role: Role = "") -> None:
        """Put lines below one another; blanks of theirs leave what was there."""
        for below, text in enumerate(lines):
            for word, start in _words(text):
                self.put(line + below, column + start, word, role)

    def lines(self) -> list[str]:
        """Give the page line by line, without blanks at the ends."""
        return [self._line(cells) for cells in self._cells]

    def _line(self, cells: list[tuple[str, Role]]) -> str:
        last = max((place for place, (letter, _) in enumerate(cells) if letter != " "), default=-1)
        pieces = groupby(cells[: last + 1], key=lambda cell: cell[1])
        return "".join(self.ink.paint("".join(letter for letter, _ in piece), role) for role, piece in pieces)


def _words(text: str) -> list[tuple[str, int]]:
    found = []
    for filled, piece in groupby(enumerate(text), key=lambda pair: pair[1] != " "):
        if filled:
            letters = list(piece)
            found.append(("".join(letter for _, letter in letters), letters[0][0]))
    return found
