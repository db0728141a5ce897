"""One airframe's history as a page that needs nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from benchrig.cautions import CAUTIONS
from benchrig.keeping.book_due import Reason
from benchrig.keeping.book_history import History, Series
from benchrig.keeping.book_strip import limits_of
from benchrig.keeping.book_text import shown_series
from benchrig.keeping.moved import Weight
from benchrig.measure.figure import Curve, Figure
from benchrig.report.marks import MARKS
from benchrig.report.plots import plot_svg
from benchrig.report.quantity import measured, number
from benchrig.report.rendering import markup, render
from benchrig.report.wording import time_as_recorded

_DAY: Final = 86_400.0
_FIRST: Final = "the first pass of the present build"
_AGAINST: Final = {
    Weight.NONE: f"It has not moved from {_FIRST}.",
    Weight.INSIDE: f"It has moved from {_FIRST}, inside its limits.",
    Weight.MATTERS: f"It has moved from {_FIRST}, beyond its limits.",
    Weight.OPEN: f"It cannot be held against {_FIRST}.",
    Weight.UNTOLD: "",
    Weight.CONTEXT: "It explains the others, and has no limits.",
}


def history_page(history: History, reasons: Sequence[Reason], *, everything: bool = False) -> str:
    """Write one airframe's benches, what is due and how its figures moved, as one self-contained HTML page.

    Parameters
    ----------
    history : History
    reasons : sequence of Reason
    everything : bool
        Whether to show all figures, and not only the usual ones.

    Returns
    -------
    str
        HTML 5, to be stored as UTF-8.
    """
    figures = [figure_of(series) for series in shown_series(history, everything=everything)]
    return render(
        "book.html",
        {
            "airframe": history.airframe,
            "cautions_listed": CAUTIONS,
            "reasons": reasons,
            "rows": _rows(history),
            "figures": [
                (figure.title, figure.description, markup(plot_svg(figure, f"figure-{place}")))
                for place, figure in enumerate(figures)
            ],
        },
    )


def _rows(history: History) -> list[dict[str, Any]]:
    """List benches and changes in the order of time."""
    build = {bench.seal for bench in history.build}
    rows: list[tuple[float, int, dict[str, Any]]] = [
        (
            change.when.timestamp(),
            0,
            {"when": time_as_recorded(change.when), "mark": None, "told": f"changed: {change.what}", "operator": ""},
        )
        for change in history.changes
    ]
    for bench in history.benches:
        before = "" if bench.seal in build else " (before a change)"
        row = {
            "when": time_as_recorded(bench.when),
            "mark": MARKS[bench.verdict],
            "told": f"{bench.capture_file.rpartition('/')[2]}{before}{f': {bench.finding}' if bench.finding else ''}",
            "operator": bench.operator or "",
        }
        rows.append((bench.when.timestamp(), 1, row))
    return [row for _, _, row in sorted(rows, key=lambda entry: entry[:2])]


def figure_of(series: Series) -> Figure:
    """Draw a series over the days since its first bench, with the limits of the present build."""
    moments = np.array([bench.when.timestamp() for bench, _ in series.points])
    days = (moments - moments[0]) / _DAY
    values = np.array([figure.value for _, figure in series.points], dtype=np.float64)
    spread = np.array([figure.uncertainty or 0.0 for _, figure in series.points])
    curves = [Curve("what each bench told, with one standard deviation", days, values, "cross", spread)]
    limits = limits_of(series)
    span = np.array([0.0, float(days[-1])])
    curves += [Curve(f"as far as {number(limit, series.unit)}", span, np.full(2, limit), "dashed") for limit in limits]
    newest, unit = series.points[-1][1], number(1.0, series.unit).removeprefix("1").strip()
    told = measured(newest.value, newest.uncertainty, series.unit)
    moved = "" if series.moved is None else f" {_AGAINST[series.moved.weight]}"
    return Figure(
        title=f"{series.name[0].upper()}{series.name[1:]}: {told} at the newest of {_benches(len(days))}",
        description=f"Each cross is one bench, the newest at the right: {told}.{moved}",
        x_label="days since the first bench",
        y_label=f"{series.name}{f' ({unit})' if unit else ''}",
        curves=tuple(curves),
    )


def _benches(count: int) -> str:
    return "1 bench" if count == 1 else f"{count} benches"
