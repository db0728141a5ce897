"""The bench sheet as one HTML page that needs nothing else, set so that it prints on A4."""

from __future__ import annotations

from typing import Final

from benchrig.report.marks import MARKS, SEVERITY
from benchrig.report.rendering import render
from benchrig.report.sheet import SIGNS_KEY, TICK
from benchrig.report.sheet_content import Sheet, blocks_of

MOST_SIGNS: Final = 8
"""Columns of sign places that the width of a page holds."""


def sheet_page(sheet: Sheet) -> str:
    """Write a sheet as one self-contained HTML page.

    Every text that came from a file is cleaned and escaped; the page holds no script and asks for nothing outside.

    Returns
    -------
    str
        HTML 5, to be stored as UTF-8.
    """
    context = {
        "sheet": sheet,
        "mark": MARKS[sheet.outcome],
        "open_points": [(*SEVERITY[point.severity][1:], point) for point in sheet.open_points],
        "blocks": list(blocks_of(sheet.signs, MOST_SIGNS)),
        "marks": MARKS,
        "not_asked": "not applicable",
        "signs_key": SIGNS_KEY,
        "tick": TICK,
    }
    return render("sheet.html", context)
