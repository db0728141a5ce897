"""Blocks set on paper one below the other, in one column or two, over as many pages as they take."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from benchrig.report.press import BOTTOM, LEFT, RIGHT, TOP, Press


@dataclass(frozen=True, slots=True)
class Block:
    """Something to be set as a whole.

    Attributes
    ----------
    height : float, mm
    draw : callable
        Sets it with its upper left corner at x, y.
    keeps : bool
        Whether it stays with what follows, as a heading does.
    head : Block or None
        Set above it once more where it begins a column.
    """

    height: float
    draw: Callable[[float, float], None]
    keeps: bool = False
    head: Block | None = None


class Flow:
    """Blocks set one below the other, over as many pages as they take.

    Parameters
    ----------
    press : Press
    header : float, mm
        Room left at the top of every page but the first.
    """

    def __init__(self, press: Press, header: float = 0.0) -> None:
        self._press = press
        self._next_top = TOP + header
        self.y = TOP

    def skip(self, height: float) -> None:
        """Leave room, mm."""
        self.y += height

    def full(self, blocks: Iterable[Block]) -> None:
        """Set blocks across the page."""
        for group in _groups(blocks):
            height = sum(block.height for block in group)
            if self.y + height > BOTTOM and self.y > self._next_top:
                self._turn()
            for block in group:
                block.draw(LEFT, self.y)
                self.y += block.height

    def columns(self, blocks: Iterable[Block], gap: float) -> None:
        """Set blocks in two columns of even height, the left one first."""
        groups = _groups(blocks)
        second = LEFT + (RIGHT - LEFT + gap) / 2
        while groups:
            room = BOTTOM - self.y
            height = _even(groups, room)
            top, depth = self.y, 0.0
            for x in (LEFT, second):
                taken, groups = _taken(groups, height)
                y = top
                for block in taken:
                    block.draw(x, y)
                    y += block.height
                depth = max(depth, y - top)
            self.y = top + depth
            if groups:
                self._turn()

    def _turn(self) -> None:
        self._press.page()
        self.y = self._next_top


def _groups(blocks: Iterable[Block]) -> list[list[Block]]:
    """Join each block that stays with the next to it."""
    groups: list[list[Block]] = []
    open_ = False
    for block in blocks:
        if open_:
            groups[-1].append(block)
        else:
            groups.append([block])
        open_ = block.keeps
    return groups


def _height(groups: Sequence[Sequence[Block]]) -> float:
    return sum(block.height for group in groups for block in group)


def _taken(groups: list[list[Block]], height: float) -> tuple[list[Block], list[list[Block]]]:
    """Take groups from the front as long as they fit, one at least, with the first one's head; give what is left."""
    heads = [groups[0][0].head] if groups else []
    above = [head for head in heads if head is not None]
    used, count = _height([above]), 0
    for group in groups:
        used += _height([group])
        if used > height + 1e-6 and count:
            break
        count += 1
    return above + [block for group in groups[:count] for block in group], groups[count:]


def _even(groups: list[list[Block]], room: float) -> float:
    """Give the least height at which two columns hold all groups; all the room where they do not."""
    height = _height(groups) / 2
    while height < room:
        if not _taken(_taken(groups, height)[1], height)[1]:
            return height
        height += 1.0
    return room
