"""The direction matrix as a grid: motions down, checks across, in blocks that fit a page or a terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import ceil
from typing import Final

from benchrig.outcome import Outcome
from benchrig.verdict.record import BenchRecord, Cell

ACTUATOR: Final = "actuator:"
_RANK: Final = (Outcome.FAIL, Outcome.NOT_SHOWN, Outcome.PASS, Outcome.NOT_APPLICABLE)


@dataclass(frozen=True, slots=True)
class Block:
    """Some columns of the matrix.

    Attributes
    ----------
    part : {"sensing", "correction"}
    motions, checks : tuple of str
        Rows and columns, in the order of the record.
    cells : mapping of (motion, check) to Cell
    """

    part: str
    motions: tuple[str, ...]
    checks: tuple[str, ...]
    cells: Mapping[tuple[str, str], Cell]


def part_of(cell: Cell) -> str:
    """Say which part of the verdict a cell belongs to."""
    return "correction" if cell.check.startswith(ACTUATOR) else "sensing"


def heading(check: str) -> str:
    """Give a check's name without the word that marks it as an actuator."""
    return check.removeprefix(ACTUATOR)


def grid(record: BenchRecord, part: str) -> Block:
    """Collect the cells of one part; of two cells for one motion and check the worse stands."""
    cells: dict[tuple[str, str], Cell] = {}
    for cell in record.matrix:
        key = (cell.motion, cell.check)
        if part_of(cell) == part and (key not in cells or _rank(cell) < _rank(cells[key])):
            cells[key] = cell
    motions = tuple(dict.fromkeys(motion for motion, _ in cells))
    checks = tuple(dict.fromkeys(check for _, check in cells))
    return Block(part, motions, checks, cells)


def _rank(cell: Cell) -> int:
    return _RANK.index(cell.outcome)


def split(block: Block, width: int, wants: Callable[[str], int]) -> list[Block]:
    """Split a block into blocks whose columns together fit `width`, as even in number as they come.

    Parameters
    ----------
    block : Block
    width : int
        What all columns of one block may take.
    wants : callable
        What one check's column takes.
    """
    for most in range(len(block.checks), 0, -1):
        count = ceil(len(block.checks) / most)
        size = ceil(len(block.checks) / count)
        runs = [block.checks[start : start + size] for start in range(0, len(block.checks), size)]
        if most == 1 or all(sum(map(wants, run)) <= width for run in runs):
            return [replace(block, checks=run) for run in runs]
    return []


def differs(cell: Cell) -> bool:
    """Whether a cell saw something, and something else than it should have."""
    return cell.observed is not None and cell.expected is not None and cell.observed != cell.expected


def is_by_eye(cell: Cell) -> bool:
    """Whether a cell was decided by what one person saw."""
    return cell.evidence == "seen" and cell.outcome in {Outcome.PASS, Outcome.FAIL}
