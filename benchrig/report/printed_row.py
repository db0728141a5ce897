"""A row of a printed table: words in columns, with a sign in a colour of its own or a box to tick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from benchrig.report.flow import Block
from benchrig.report.lettering import NO_BREAK
from benchrig.report.press import BLACK, HAIR, Ink, Press, leading

SIZE: Final = 6.2
"""Points of the letters in a table."""
_HEAVY: Final = 0.45
_FINE: Final = 0.1
"""mm of a line."""
_BOX: Final = 2.0
_SPACE: Final = 1.0
"""mm between words and what follows them."""
_PAD: Final = 0.32
"""mm above and below the letters of a row."""
_GUTTER: Final = 1.5
"""mm between two cells of a row."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell of a row: words, then perhaps a sign in a colour of its own, or a box to tick."""

    text: str = ""
    sign: str = ""
    bold: bool = False
    ink: Ink = BLACK
    box: bool = False
    sign_ink: Ink = BLACK


def laid_row(
    press: Press, cells: Sequence[Cell], widths: Sequence[float], *, heavy: bool = False, keeps: bool = False
) -> Block:
    """Lay a row of a table out, a line above it.

    Parameters
    ----------
    press : Press
    cells : sequence of Cell
    widths : sequence of float, mm
        Of the columns, with the room between them.
    heavy : bool
        Whether the line above it is one that parts a heading from its rows.
    keeps : bool
        Whether the row stays with the next one.
    """
    set_ = [_broken(press, cell, width - _GUTTER) for cell, width in zip(cells, widths, strict=True)]
    height = max(map(len, set_)) * leading(SIZE) + 2 * _PAD
    weight, ink = (_HEAVY, BLACK) if heavy else (_FINE, HAIR)

    def draw(x: float, y: float) -> None:
        press.rule(x, y, x + sum(widths), weight=weight, ink=ink)
        at = x
        for cell, width, lines in zip(cells, widths, set_, strict=True):
            press.write(at, y + _PAD, lines, SIZE, bold=cell.bold, ink=cell.ink)
            _tail(press, cell, lines, at, y + _PAD)
            at += width

    return Block(height, draw, keeps=keeps)


def _broken(press: Press, cell: Cell, width: float) -> list[str]:
    """Break a cell's words into lines that leave room for what follows; what is held together stays so if it fits."""
    tail = press.wide(f" {cell.sign}", SIZE, bold=True) if cell.sign else _BOX + _SPACE
    room = width - tail if cell.text and (cell.sign or cell.box) else width
    fits = all(press.wide(held, SIZE, bold=cell.bold) <= room for held in cell.text.split(" "))
    return press.lines(cell.text if fits else cell.text.replace(NO_BREAK, " "), room, SIZE, bold=cell.bold)


def _tail(press: Press, cell: Cell, lines: Sequence[str], x: float, y: float) -> None:
    """Set the sign or the box that follows the words of a cell."""
    x += press.wide(lines[-1], SIZE, bold=cell.bold) + _SPACE if lines[-1] else 0.0
    y += (len(lines) - 1) * leading(SIZE)
    if cell.sign:
        press.write(x, y, [cell.sign], SIZE, bold=True, ink=cell.sign_ink)
    elif cell.box:
        press.box(x, y + 0.15, _BOX, _BOX)
