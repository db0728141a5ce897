"""The bench book for a terminal: what was benched, what is due and why, and how figures moved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from benchrig.cautions import CAUTIONS
from benchrig.keeping.book_due import Reason
from benchrig.keeping.book_entry import BenchEntry
from benchrig.keeping.book_history import History, Series
from benchrig.keeping.book_strip import LIMIT, SPREAD, VALUE, strips
from benchrig.report.blocks import NARROWEST, Paper, joined
from benchrig.report.lettering import clean, columns, pad, shorten, shorten_middle, wrap
from benchrig.report.marks import MARKS
from benchrig.report.quantity import measured
from benchrig.report.wording import time_as_recorded

Told = tuple[History, tuple[Reason, ...]]
"""An airframe's history, and why it is due."""

_ENTRY: Final = 12
_FILE: Final = 32
_NAME: Final = 40
_MOMENT: Final = 18
_VALUE: Final = 22
_NARROWEST_STRIP: Final = 16
_WIDEST_STRIP: Final = 48
_USUAL: Final = ("gyro bias", "gyro scale", "accelerometer size", "latency")
"""The kinds of figures that are shown unless all are asked for."""


def book_text(told: Sequence[Told], *, width: int, colour: bool) -> str:
    """List the airframes of a book: last bench, last pass, and whether the next bench is due.

    Parameters
    ----------
    told : sequence of (History, tuple of Reason)
    width : int
        Columns of the terminal; under 40 it is taken as 40.
    colour : bool
        Whether to write the terminal's colour codes; nothing is told by colour alone.

    Returns
    -------
    str
        Lines of at most `width` columns, without a newline at its end.
    """
    paper = Paper(max(width, NARROWEST), colour)
    blocks = [_airframe(history, reasons, paper) for history, reasons in told]
    return joined(paper.cautions(CAUTIONS), *blocks, [sum_of(told)])


def due_text(told: Sequence[Told], *, width: int, colour: bool) -> str:
    """List only what is due, and why; parameters as of `book_text`."""
    paper = Paper(max(width, NARROWEST), colour)
    blocks = [_due_block(history, reasons, paper) for history, reasons in told if reasons]
    return joined(paper.cautions(CAUTIONS), *blocks, [sum_of(told)])


def history_text(
    history: History, reasons: Sequence[Reason], *, width: int, colour: bool, everything: bool = False
) -> str:
    """Show one airframe: what is due, every bench, and how its figures moved.

    Parameters
    ----------
    history : History
    reasons : sequence of Reason
    width, colour
        As of `book_text`.
    everything : bool
        Whether to show all figures, and not only the usual ones.
    """
    paper = Paper(max(width, NARROWEST), colour)
    shown = shown_series(history, everything=everything)
    return joined(
        paper.cautions(CAUTIONS),
        _airframe(history, tuple(reasons), paper),
        _benches(history, paper),
        *(_series(series, paper) for series in shown),
        _key(history, shown, paper),
    )


def shown_series(history: History, *, everything: bool) -> tuple[Series, ...]:
    """Give the series that are shown: all, or those of bias, scale, size and latency."""
    return tuple(s for s in history.series() if everything or s.points[-1][1].kind in _USUAL)


def sum_of(told: Sequence[Told]) -> str:
    """Sum up in one sentence how many airframes are due."""
    count = sum(bool(reasons) for _, reasons in told)
    if not told:
        return "The book holds no airframe."
    if len(told) == 1:
        return "A bench is due." if count else "No bench is due."
    return f"A bench is due for {count or 'none'} of {len(told)} airframes."


def _entry(name: str, text: str, paper: Paper) -> list[str]:
    return wrap(text, paper.width, pad(name, _ENTRY))


def _airframe(history: History, reasons: tuple[Reason, ...], paper: Paper) -> Iterator[str]:
    yield paper.title(shorten(history.airframe, _NAME))
    last, passed = history.last, history.last_pass
    if last is None:
        yield from _entry("last bench", "none", paper)
    else:
        yield from _entry("last bench", f"{MARKS[last.verdict].sign} {last.verdict.value}, {_told(last)}", paper)
    if passed is None:
        yield from _entry("last pass", "none", paper)
    elif passed is not last:
        yield from _entry("last pass", _told(passed), paper)
    yield from _entry("next bench", "due" if reasons else "not due", paper)
    yield from _reasons(reasons, paper)


def _due_block(history: History, reasons: tuple[Reason, ...], paper: Paper) -> Iterator[str]:
    yield paper.title(shorten(history.airframe, _NAME))
    yield from _reasons(reasons, paper)


def _reasons(reasons: Sequence[Reason], paper: Paper) -> Iterator[str]:
    for reason in reasons:
        yield from wrap(f"{reason.text}.", paper.width, "  - ")
        if reason.more:
            yield from wrap(_sentence(reason.more), paper.width, "    ")


def _sentence(text: str) -> str:
    whole = clean(text)
    return whole if whole.endswith((".", "!", "?")) else f"{whole}."


def _told(bench: BenchEntry) -> str:
    by = f", by {shorten(bench.operator, _NAME)}" if bench.operator else ""
    capture = shorten_middle(bench.capture_file.rpartition("/")[2], _FILE)
    when = time_as_recorded(bench.recorded) if bench.recorded else f"judged {time_as_recorded(bench.judged)}"
    return f"{when}{by}, {capture}"


def _benches(history: History, paper: Paper) -> Iterator[str]:
    """List the benches in the order of time, with what was changed between them."""
    yield paper.title("benches")
    build = {bench.seal for bench in history.build}
    events: list[tuple[float, int, list[str]]] = [
        (change.when.timestamp(), 0, wrap(f"{change.when:%Y-%m-%d %H:%M} changed: {change.what}", paper.width, "~ "))
        for change in history.changes
    ]
    for bench in history.benches:
        text = f"{bench.verdict.value}, {_told(bench)}{'' if bench.seal in build else ' (before a change)'}"
        events.append((bench.when.timestamp(), 1, wrap(text, paper.width, f"{MARKS[bench.verdict].sign} ")))
    for _, _, lines in sorted(events, key=lambda event: event[:2]):
        yield from lines


def _series(series: Series, paper: Paper) -> Iterator[str]:
    yield paper.title(shorten_middle(series.name, paper.width))
    width = paper.width - _MOMENT - _VALUE
    drawn = strips(series, min(width, _WIDEST_STRIP)) if width >= _NARROWEST_STRIP else ("",) * len(series.points)
    for (bench, figure), strip in zip(series.points, drawn, strict=True):
        value = measured(figure.value, figure.uncertainty, figure.unit)
        begin = pad(f"{bench.when:%Y-%m-%d %H:%M}", _MOMENT)
        if not strip or columns(value) >= _VALUE:
            yield from wrap(value, paper.width, begin)
            continue
        yield f"{begin}{pad(value, _VALUE)}{strip}".rstrip()


def _key(history: History, shown: Sequence[Series], paper: Paper) -> Iterator[str]:
    if not shown:
        yield from wrap("No bench told any figure.", paper.width)
        return
    text = f"{VALUE} is what a bench told, {SPREAD} one standard deviation to either side."
    first = history.first_of_build
    if any(series.moved for series in shown) and first is not None:
        since = f"the first pass of the airframe as it is built now, {first.when:%Y-%m-%d}"
        text += f" {LIMIT} is how far it may move from {since}."
    yield from wrap(text, paper.width, "key: ")
