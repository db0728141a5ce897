"""A comparison of two benches for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from benchrig.cautions import CAUTIONS
from benchrig.keeping import comparison_wording as wording
from benchrig.keeping.change_lines import ARROW, declared_lines, judged_lines, name_of
from benchrig.keeping.comparison import Comparison
from benchrig.keeping.moved import Moved, Weight
from benchrig.report.blocks import NARROWEST, Paper, column_widths, joined, table_rows
from benchrig.report.lettering import clean, shorten, wrap
from benchrig.report.marks import MARKS
from benchrig.report.stored_result import StoredResult

_NAME: Final = 40
"""Columns that a name from a file may take."""


def comparison_text(compared: Comparison, *, width: int = 80, colour: bool) -> str:
    """Write what moved between two benches, and whether it matters.

    Parameters
    ----------
    compared : Comparison
    width : int
        Columns of the terminal.
    colour : bool
        Whether to write the terminal's colour codes; nothing is told by colour alone.

    Returns
    -------
    str
        Lines of at most `width` columns, without a newline at its end.
    """
    paper = Paper(max(width, NARROWEST), colour)
    return joined(
        paper.cautions(CAUTIONS),
        _head(compared, paper),
        _read(compared, paper),
        _declared(compared, paper),
        _judged(compared, paper),
        _figures(compared, paper),
        paper.findings(wording.to_fix(compared)),
        _matters(compared, paper),
        _open(compared, paper),
        _sum(compared, paper),
    )


def _head(compared: Comparison, paper: Paper) -> Iterator[str]:
    yield paper.title("two benches of one airframe")
    yield from wrap(shorten(wording.airframe_name(compared), _NAME), paper.width, name_of("airframe"))
    yield from _bench(compared.first, paper, "first")
    yield from _bench(compared.second, paper, "second")
    if compared.is_backwards:
        yield from wrap("the second was recorded before the first: every change goes back in time", paper.width, "! ")
    yield from wrap(wording.declaration(compared), paper.width, name_of("airframe file"))
    yield from wrap(clean(wording.software(compared)), paper.width, name_of("software"))
    temperature = wording.temperature(compared)
    if temperature:
        yield from wrap(temperature, paper.width, name_of("temperature"))


def _bench(result: StoredResult, paper: Paper, name: str) -> Iterator[str]:
    yield from wrap(wording.bench(result, _NAME), paper.width, name_of(name))


def _read(compared: Comparison, paper: Paper) -> Iterator[str]:
    """Say what was recorded, read or taken back of one bench alone."""
    first, second = wording.read_otherwise(compared)
    if first or second:
        yield paper.title("recorded or read otherwise")
    for name, notes in (("first", first), ("second", second)):
        for note in notes:
            yield from wrap(note, paper.width, name_of(name))


def _declared(compared: Comparison, paper: Paper) -> Iterator[str]:
    if compared.declared:
        yield paper.title("declared otherwise")
        yield from declared_lines(paper, compared.declared)


def _judged(compared: Comparison, paper: Paper) -> Iterator[str]:
    if compared.judged:
        yield paper.title("judged otherwise")
        yield from judged_lines(paper, [change for change, _ in compared.judged])


def _figures(compared: Comparison, paper: Paper) -> Iterator[str]:
    listed = [moved for moved in compared.moved if moved.weight not in {Weight.UNTOLD, Weight.CONTEXT}]
    if not listed:
        yield "Neither bench tells a figure that could be compared."
        return
    rows = [wording.row(moved) for moved in listed]
    heads = ("", "FIGURE", "FIRST", "SECOND", "CHANGE")
    widths = _widths([heads, *rows], paper.width)
    yield paper.title(table_rows([heads], widths)[0][0])
    codes = [wording.CODES[moved.weight] if paper.colour else "" for moved in listed]
    for lines in table_rows(rows, widths, codes):
        yield from lines
    yield from wrap(wording.key(listed), paper.width, "key: ")
    untold = [moved.first.name for moved in compared.moved if moved.weight is Weight.UNTOLD]
    if untold:
        yield from wrap("; ".join(untold), paper.width, "told by neither bench: ")


def _widths(rows: Sequence[Sequence[str]], width: int) -> list[int]:
    sign, gap = 2, 2
    return [sign, *column_widths([row[1:] for row in rows], width - sign - gap)]


def _matters(compared: Comparison, paper: Paper) -> Iterator[str]:
    """Say of each kind that matters why it does and what to do."""
    groups: dict[str, list[Moved]] = {}
    for moved in compared.moved:
        if moved.weight is Weight.MATTERS:
            groups.setdefault(moved.first.kind, []).append(moved)
    if groups:
        yield paper.title("figures that matter")
    for place, group in enumerate(groups.values(), 1):
        yield from wrap(wording.why(group), paper.width, f"{place:2d}. {wording.SIGNS[Weight.MATTERS]} ")
        yield from wrap(wording.act(group[0]), paper.width, "      Do: ", "      ")


def _open(compared: Comparison, paper: Paper) -> Iterator[str]:
    """Say why figures cannot be compared."""
    groups: dict[str, list[str]] = {}
    for moved in compared.moved:
        if moved.weight is Weight.OPEN:
            groups.setdefault(moved.reason, []).append(moved.first.name)
    if groups:
        yield paper.title("cannot be compared")
    for reason, names in groups.items():
        yield from wrap(f"{reason}: {'; '.join(names)}", paper.width, "- ")


def _sum(compared: Comparison, paper: Paper) -> Iterator[str]:
    yield paper.rule()
    yield paper.bar(wording.mark(compared))
    yield from wrap(wording.sentence(compared), paper.width, "    ")
    verdict = f"{paper.outcome(compared.first.outcome)} {ARROW} {paper.outcome(compared.second.outcome)}"
    yield f"    verdicts    {verdict}"
    if compared.second.outcome is not compared.outcome:
        yield from wrap(f"{wording.OWN_VERDICT} {MARKS[compared.second.outcome].word}.", paper.width, "    ")
    yield paper.rule()
