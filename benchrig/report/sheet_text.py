"""The bench sheet for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from benchrig.outcome import Outcome
from benchrig.report.blocks import Paper, joined, table_rows
from benchrig.report.lettering import columns, pad, shorten, shorten_middle, tight, wrap
from benchrig.report.marks import MARKS, SEVERITY, paint
from benchrig.report.sheet import SIGNS_KEY, TICK
from benchrig.report.sheet_content import Row, Section, Sheet, SignPlace, SignTable, blocks_of

BOX: Final = "[ ]"
SIGN_OFF: Final = "Done by ____________________   Date ______________"
_HEADS: Final = ("", "DECLARED", "MEASURED", "OUTCOME")
_GAP: Final = 2
_NARROWEST: Final = 60
"""Columns below which the tables of a sheet would break."""
_NAME: Final = 40
_OUTCOME: Final = 11
_MOST_NAME: Final = 22
_MOST_MEASURED: Final = 21
_LABEL: Final = 14
"""Columns that an actuator's name may take at most."""


def sheet_text(sheet: Sheet, *, width: int = 80, colour: bool) -> str:
    """Write a sheet for a terminal.

    Parameters
    ----------
    sheet : Sheet
    width : int
        Columns of the terminal; under 60 it is taken as 60.
    colour : bool
        Whether to write the terminal's colour codes; nothing is told by colour alone.

    Returns
    -------
    str
        Lines of at most `width` columns, without a newline at its end.
    """
    paper = Paper(max(width, _NARROWEST), colour)
    widths = _widths([row for section in sheet.sections for row in section.rows], paper.width)
    return joined(
        paper.cautions(sheet.cautions),
        _head(sheet, paper),
        *(_section(section, widths, paper) for section in sheet.sections),
        _signs(sheet.signs, paper),
        _verdict(sheet, paper),
        _open(sheet, paper),
        _advice(sheet, paper),
        _sources(sheet, paper),
        [SIGN_OFF],
    )


def _head(sheet: Sheet, paper: Paper) -> Iterator[str]:
    yield from wrap(f"{shorten(sheet.name, _NAME)}, {sheet.kind}", paper.width, pad("sheet of", 10))
    file = shorten_middle(sheet.file, _NAME)
    yield from wrap(f"{file}, SHA-256 {sheet.digest[:16]}…", paper.width, pad("airframe", 10))


def _widths(rows: Sequence[Row], width: int) -> list[int]:
    """Share the columns out alike for all sections."""
    name = min(max(map(columns, (row.name for row in rows)), default=8), _MOST_NAME, width // 3)
    found = min(max(map(columns, (row.measured for row in rows)), default=8), _MOST_MEASURED, width // 4)
    found = max(found, columns(_HEADS[2]))
    return [name, max(8, width - name - found - _OUTCOME - 3 * _GAP), found, _OUTCOME]


def _section(section: Section, widths: list[int], paper: Paper) -> Iterator[str]:
    heads = (section.title.upper(), *_HEADS[1:])
    name = columns(heads[0])
    room = widths[0] + _GAP + widths[1]
    # a long title takes the place of the word that heads the next column
    first = pad(heads[0], room) if name > widths[0] else pad(pad(heads[0], widths[0] + _GAP) + heads[1], room)
    yield paper.title(f"{first}  {pad(heads[2], widths[2])}  {heads[3]}".rstrip())
    rows = [(row.name, row.declared, _held(row.measured, widths[2]), _word(row.outcome)) for row in section.rows]
    codes = [MARKS[row.outcome].ansi if paper.colour and row.outcome else "" for row in section.rows]
    for lines in table_rows(rows, widths, codes):
        yield from lines


def _held(text: str, width: int) -> str:
    """Keep a value on one line, if it fits."""
    return tight(text) if columns(text) <= width else text


def _word(outcome: Outcome | None) -> str:
    if outcome is None:
        return BOX
    mark = MARKS[outcome]
    return mark.sign if mark.short == mark.sign else tight(f"{mark.sign} {mark.short}")


def _signs(table: SignTable, paper: Paper) -> Iterator[str]:
    motion, rate = max(columns(row.motion) for row in table.rows) + _GAP, 6
    for block, widths in _fitting(table, paper.width - motion - rate):
        names = "".join(pad(shorten_middle(head, _LABEL), wide) for head, wide in zip(block.heads, widths, strict=True))
        yield paper.title(pad("signs", motion)) + pad("rate", rate) + names.rstrip()
        for row in block.rows:
            places = "".join(_painted(place, wide, paper) for place, wide in zip(row.places, widths, strict=True))
            yield (pad(row.motion, motion) + pad(row.rate, rate) + places).rstrip()
        yield ""
    yield from wrap(SIGNS_KEY, paper.width)
    yield from wrap(f"= as declared; ≠ not as declared; ? not shown; {BOX} no result speaks of it. {TICK}", paper.width)


def _fitting(table: SignTable, width: int) -> list[tuple[SignTable, list[int]]]:
    """Part the table into as few tables as fit the terminal, each with the widths of its columns."""
    parted: list[tuple[SignTable, list[int]]] = []
    for most in range(len(table.heads), 0, -1):
        parted = [(block, _sign_widths(block)) for block in blocks_of(table, most)]
        if all(sum(widths) - _GAP <= width for _, widths in parted):
            break
    return parted


def _sign_widths(block: SignTable) -> list[int]:
    heads = [min(columns(head), _LABEL) for head in block.heads]
    cells = [[columns(_place(row.places[k])) for row in block.rows] for k in range(len(heads))]
    return [max(head, *column) + _GAP for head, column in zip(heads, cells, strict=True)]


def _place(place: SignPlace) -> str:
    return " ".join(part for part in (place.words, BOX if place.outcome is None else place.sign) if part)


def _painted(place: SignPlace, width: int, paper: Paper) -> str:
    text = _place(place)
    code = MARKS[place.outcome].ansi if place.outcome else ""
    return paint(text, code, colour=paper.colour) + " " * (width - columns(text))


def _verdict(sheet: Sheet, paper: Paper) -> Iterator[str]:
    yield paper.rule()
    yield paper.bar(MARKS[sheet.outcome])
    yield from wrap(sheet.sentence, paper.width, "    ")
    yield paper.rule()


def _open(sheet: Sheet, paper: Paper) -> Iterator[str]:
    if sheet.open_points:
        yield paper.title("still open")
    for place, point in enumerate(sheet.open_points, 1):
        lines = wrap(point.text, paper.width, f"{place:2d}. {SEVERITY[point.severity][1]} ")
        yield paper.paint(lines[0], MARKS[Outcome.FAIL].ansi) if point.severity == "fail" else lines[0]
        yield from lines[1:]
        yield from wrap(point.fix, paper.width, "      Do: ", "      ")


def _advice(sheet: Sheet, paper: Paper) -> Iterator[str]:
    if sheet.advice:
        yield paper.title("advice")
    for finding in sheet.advice:
        yield from wrap(f"{finding.text} {finding.fix}", paper.width, f"{SEVERITY[finding.severity][1]} ")


def _sources(sheet: Sheet, paper: Paper) -> Iterator[str]:
    yield paper.title("made from")
    for file, told in sheet.sources:
        yield from wrap(f"{shorten_middle(file, _NAME)}: {told}", paper.width, "- ")
    if not sheet.sources:
        yield "- the airframe file alone; no result was given"
