"""What the judge says so far: a table of motions and checks where there is room, else a line of motions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from benchrig.cli.record.canvas import Canvas
from benchrig.cli.record.ink import mark_of
from benchrig.live.view import Standing
from benchrig.outcome import Outcome, sentence, worst
from benchrig.report.grid import ACTUATOR, heading
from benchrig.report.lettering import columns, shorten, shorten_middle

_NAME: Final = 13
_CELL: Final = 9
_GAP: Final = 3
_KEY: Final = "marks: sensing, correction"


def table_size(standing: Standing) -> tuple[int, int]:
    """Give the columns and lines that the table takes; zeros before the first judgement."""
    if not standing.cells:
        return 0, 0
    return _NAME + _CELL * len(_checks(standing)), len(standing.cells) + 1


def draw_table(canvas: Canvas, line: int, column: int, standing: Standing) -> None:
    """Draw motions down and checks across, one mark each."""
    checks = _checks(standing)
    for place, check in enumerate(checks):
        name = canvas.ink.signs(shorten_middle(heading(check), _CELL - 1))[: _CELL - 1]
        canvas.put(line, column + _NAME + place * _CELL, name, "faint")
    for below, (motion, cells) in enumerate(standing.cells.items(), 1):
        canvas.put(line + below, column, canvas.ink.written(shorten(motion, _NAME - 1)))
        for place, check in enumerate(checks):
            if check in cells:
                sign, role = mark_of(cells[check])
                canvas.put(line + below, column + _NAME + place * _CELL, canvas.ink.signs(sign), role)


def draw_strip(canvas: Canvas, line: int, height: int, standing: Standing) -> None:
    """Draw every motion with the marks of what was sensed and of what corrected it, in at most `height` lines."""
    column, row = 0, 0
    for motion, cells in standing.cells.items():
        marks = [mark_of(word) for word in _parts(cells)]
        name = canvas.ink.written(motion)
        size = sum(columns(canvas.ink.signs(sign)) for sign, _ in marks) + 1 + columns(name)
        if column and column + size > canvas.width:
            column, row = 0, row + 1
        if row >= height:
            return
        for sign, role in marks:
            canvas.put(line + row, column, canvas.ink.signs(sign), role)
            column += columns(canvas.ink.signs(sign))
        canvas.put(line + row, column + 1, name)
        column += 1 + columns(name) + _GAP
    if column and column + columns(_KEY) <= canvas.width:
        canvas.end(line + row, _KEY, "faint")


def _parts(cells: Mapping[str, str]) -> Iterator[str]:
    """Give the worst of what was sensed, then the worst of what the actuators did, where there are any."""
    for is_actuator in (False, True):
        words = [word for check, word in cells.items() if check.startswith(ACTUATOR) is is_actuator]
        if words:
            yield worst(Outcome(word) if word in set(Outcome) else Outcome.NOT_SHOWN for word in words)


def in_words(standing: Standing) -> str:
    """Say how the verdict stands, with the gravest finding of a fail: what is not shown yet is asked for by and by."""
    if not standing.verdict:
        return "Nothing is judged yet."
    parts = [f"{name} {word}" for name, word in (("sensing", standing.sensing), ("correction", standing.correction))]
    said = f"So far: {standing.verdict} ({', '.join(part for part in parts if not part.endswith(' '))})."
    return (
        f"{said} {sentence(standing.found.rstrip('.'))}"
        if standing.found and standing.verdict == Outcome.FAIL
        else said
    )


def _checks(standing: Standing) -> list[str]:
    return list(dict.fromkeys(check for cells in standing.cells.values() for check in cells))
