"""The bench sheet printed on A4: the same content as the page, in a font that comes with the program."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final

from benchrig.outcome import Finding, Outcome
from benchrig.report.flow import Block, Flow
from benchrig.report.lettering import shorten
from benchrig.report.marks import MARKS, SEVERITY
from benchrig.report.press import BLACK, INKS, LEFT, RIGHT, SOFT, WHITE, Ink, Press, leading
from benchrig.report.printed_row import SIZE, Cell, laid_row
from benchrig.report.sheet import SIGNS_KEY, TICK
from benchrig.report.sheet_content import OpenPoint, Section, Sheet, SignPlace, SignTable, blocks_of

MOST_SIGNS: Final = 8
"""Columns of sign places that the width of a page holds."""
_BODY: Final = 7.0
_HEADING: Final = 8.2
_PAD: Final = 0.5
"""mm above and below the letters of a point."""
_TOGETHER: Final = 6
"""Rows of a section that are never parted; a longer one may go on in the next column, two rows at least."""
_NAME: Final = 60
"""Letters of the airframe's name above later pages."""
_GAP: Final = 6.0
"""mm between the two columns of sections."""
_SHARES: Final = (0.375, 0.25, 0.225, 0.15)
"""Of a section's width, for what, declared, measured and outcome."""
_BLOCKS: Final[dict[str, Ink]] = {"agrees": (0, 114, 178), "differs": (213, 94, 0), "open": SOFT, "none": SOFT}


def sheet_pdf(sheet: Sheet, made: datetime) -> bytes:
    """Print a sheet on A4; what does not fit one page flows on to the next.

    Parameters
    ----------
    sheet : Sheet
    made : datetime
        With its zone; stands in the document's properties.

    Returns
    -------
    bytes
        A PDF with its fonts in it.
    """
    with Press(f"{MARKS[sheet.outcome].word}: {sheet.name}, bench sheet", made) as press:
        _set(sheet, press)
        mark = MARKS[sheet.outcome]
        header = f"{mark.sign} {mark.word}: {shorten(sheet.name, _NAME)}, SHA-256 {sheet.digest}"
        press.number_pages(sheet.name, SIZE, header)
        return press.printed()


def _set(sheet: Sheet, press: Press) -> None:
    flow = Flow(press, header=leading(SIZE) + 2)
    flow.full([*_head(sheet, press), *_cautions(sheet.cautions, press)])
    flow.skip(2)
    flow.full([_verdict(sheet, press)])
    flow.skip(1)
    flow.full(_open(sheet.open_points, press))
    flow.full(_advice(sheet.advice, press))
    flow.skip(1)
    flow.columns(_sections(sheet.sections, press), _GAP)
    flow.skip(1)
    flow.full(_signs(sheet.signs, press))
    flow.skip(0.5)
    flow.full([_heading(press, "Made from")])
    flow.columns(_sources(sheet.sources, press), _GAP)
    flow.full([_done(press)])


def _paragraph(
    press: Press,
    text: str,
    size: float,
    *,
    width: float = RIGHT - LEFT,
    bold: bool = False,
    ink: Ink = BLACK,
    keeps: bool = True,
) -> Block:
    lines = press.lines(text, width, size, bold=bold)

    def draw(x: float, y: float) -> None:
        press.write(x, y, lines, size, bold=bold, ink=ink)

    return Block(len(lines) * leading(size), draw, keeps=keeps)


def _heading(press: Press, text: str) -> Block:
    def draw(x: float, y: float) -> None:
        press.write(x, y + 1.0, [text], _HEADING, bold=True)

    return Block(leading(_HEADING) + 1.6, draw, keeps=True)


def _head(sheet: Sheet, press: Press) -> Iterator[Block]:
    yield _paragraph(press, "Bench sheet", _BODY, ink=SOFT)
    yield _paragraph(press, sheet.name, 15, bold=True)
    yield _paragraph(press, f"{sheet.kind}, {sheet.file}, SHA-256 {sheet.digest}", SIZE, ink=SOFT)
    yield Block(2.0, _nothing)


def _cautions(cautions: Sequence[str], press: Press) -> Iterator[Block]:
    """Set the cautions behind a bar."""
    for caution in cautions:
        yield _behind_bar(press.lines(caution, RIGHT - LEFT - 6, _BODY), press)


def _behind_bar(lines: list[str], press: Press) -> Block:
    height = len(lines) * leading(_BODY) + 0.2

    def draw(x: float, y: float) -> None:
        press.box(x, y, 1.0, height, style="F")
        press.write(x + 3, y + 0.1, ["!"], _BODY, bold=True)
        press.write(x + 5.4, y + 0.1, lines, _BODY)

    return Block(height, draw)


def _verdict(sheet: Sheet, press: Press) -> Block:
    mark = MARKS[sheet.outcome]
    ink, height = _BLOCKS[mark.role], 11.0

    def draw(x: float, y: float) -> None:
        press.box(x, y, RIGHT - LEFT, height, ink=ink)
        press.box(x, y, 13, height, style="F", ink=ink)
        press.write(x + 6.5 - press.wide(mark.sign, 20, bold=True) / 2, y + 1.7, [mark.sign], 20, bold=True, ink=WHITE)
        press.write(x + 17, y + 1.2, [mark.word], 12, bold=True)
        press.write(x + 17, y + 6.6, press.lines(sheet.sentence, RIGHT - LEFT - 20, 8), 8)

    return Block(height, draw)


def _open(points: Sequence[OpenPoint], press: Press) -> Iterator[Block]:
    if points:
        yield _heading(press, "Still open")
    yield from (_point(place, point, press) for place, point in enumerate(points, 1))


def _point(place: int, point: OpenPoint, press: Press) -> Block:
    _, sign, role = SEVERITY[point.severity]
    width = RIGHT - LEFT - 11
    text, fix = press.lines(point.text, width, _BODY), press.lines(f"Do: {point.fix}", width, _BODY)

    def draw(x: float, y: float) -> None:
        press.rule(x, y, RIGHT)
        press.write(x + 1, y + _PAD, [str(place)], _BODY, bold=True)
        press.write(x + 7, y + _PAD, [sign], _BODY, bold=True, ink=INKS[role])
        press.write(x + 11, y + _PAD, text, _BODY)
        press.write(x + 11, y + _PAD + len(text) * leading(_BODY), fix, _BODY, ink=SOFT)

    return Block((len(text) + len(fix)) * leading(_BODY) + 2 * _PAD, draw)


def _advice(findings: Sequence[Finding], press: Press) -> Iterator[Block]:
    if findings:
        yield _heading(press, "Advice")
    for finding in findings:
        yield _marked(SEVERITY[finding.severity][1], f"{finding.text} {finding.fix}", press)


def _marked(sign: str, text: str, press: Press) -> Block:
    lines = press.lines(text, RIGHT - LEFT - 4, SIZE)

    def draw(x: float, y: float) -> None:
        press.write(x + 1, y, [sign], SIZE, bold=True, ink=SOFT)
        press.write(x + 4, y, lines, SIZE)

    return Block(len(lines) * leading(SIZE) + 0.4, draw)


def _sections(sections: Sequence[Section], press: Press) -> Iterator[Block]:
    width = (RIGHT - LEFT - _GAP) / 2
    widths = [share * width for share in _SHARES]
    for section in sections:
        count = len(section.rows)
        again = _title(press, f"{section.title}, continued", widths)
        yield _title(press, section.title, widths)
        for place, row in enumerate(section.rows):
            cells = [Cell(row.name, bold=True), Cell(row.declared), Cell(row.measured), _outcome(row.outcome)]
            keeps = count <= _TOGETHER or place in {0, count - 2, count - 1}
            laid = laid_row(press, cells, widths, heavy=place == 0, keeps=keeps)
            yield laid if place in {0, 1, count - 1} else replace(laid, head=again)
        yield Block(0.8, _nothing)


def _title(press: Press, title: str, widths: Sequence[float]) -> Block:
    """Set the heading of a section with those of its columns on the same line."""
    height = leading(_HEADING) + 0.8
    foot = height - leading(SIZE) - 0.6

    def draw(x: float, y: float) -> None:
        press.write(x, y + 0.2, [title], _HEADING, bold=True)
        at = x + widths[0]
        for head, width in zip(("declared", "measured", "outcome"), widths[1:], strict=True):
            if at > x + press.wide(title, _HEADING, bold=True) + 1:
                press.write(at, y + foot, [head], SIZE, ink=SOFT)
            at += width

    return Block(height, draw, keeps=True)


def _nothing(x: float, y: float) -> None:
    """Leave room only."""


def _outcome(outcome: Outcome | None) -> Cell:
    if outcome is None:
        return Cell(box=True)
    mark = MARKS[outcome]
    text = mark.sign if mark.short == mark.sign else f"{mark.sign} {mark.short}"
    return Cell(text, bold=outcome is Outcome.FAIL, ink=INKS[mark.role])


def _signs(table: SignTable, press: Press) -> Iterator[Block]:
    yield _heading(press, "Signs")
    for block in blocks_of(table, MOST_SIGNS):
        places = len(block.heads)
        rest = (RIGHT - LEFT - 19 - 9) / places
        widths = [19.0, 9.0, *([rest] * places)]
        heads = [Cell(head, bold=True) for head in ("motion", "rate", *block.heads)]
        yield laid_row(press, heads, widths, heavy=True, keeps=True)
        for row in block.rows:
            cells = [Cell(row.motion, bold=True), Cell(row.rate), *map(_place, row.places)]
            yield laid_row(press, cells, widths, keeps=row is not block.rows[-1])
        yield Block(0.8, _nothing)
    key = f"{SIGNS_KEY} = as declared, ≠ not as declared, ? not shown. {TICK}"
    yield _paragraph(press, key, SIZE, ink=SOFT)


def _place(place: SignPlace) -> Cell:
    if place.outcome is None:
        return Cell(place.words, box=True)
    if place.outcome is Outcome.NOT_APPLICABLE:
        return Cell(place.words)
    failed = place.outcome is Outcome.FAIL
    return Cell(place.words, bold=failed, sign=place.sign, sign_ink=INKS[MARKS[place.outcome].role])


def _sources(sources: Iterable[tuple[str, str]], press: Press) -> Iterator[Block]:
    told = [f"{file}: {what}" for file, what in sources] or ["The airframe file alone; no result was given."]
    yield from (_paragraph(press, line, SIZE, width=(RIGHT - LEFT - _GAP) / 2, ink=BLACK, keeps=False) for line in told)


def _done(press: Press) -> Block:
    def draw(x: float, y: float) -> None:
        foot = y + 5
        press.rule(x, foot, x + 110, ink=BLACK)
        press.rule(x + 120, foot, RIGHT, ink=BLACK)
        press.write(x, foot + 0.6, ["Done by"], SIZE, ink=SOFT)
        press.write(x + 120, foot + 0.6, ["Date"], SIZE, ink=SOFT)

    return Block(8.6, draw)
