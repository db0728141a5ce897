"""One figure over the benches as lines of text: a strip a bench, all on one scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from benchrig.keeping.book_history import Series
from benchrig.keeping.figures import Figure

VALUE, SPREAD, LIMIT, SHARED = "o", "-", "|", "8"
"""What a strip is drawn with: a value, one standard deviation to either side, a limit, and a value upon a limit."""

_MARGIN: Final = 0.04


def strips(series: Series, width: int) -> tuple[str, ...]:
    """Draw a series, a strip for each of its points.

    Limits stand at the first pass of the present build plus and minus what the figure may move.

    Parameters
    ----------
    series : Series
    width : int
        Columns of a strip.

    Examples
    --------
    >>> from benchrig.keeping.figures import Figure
    >>> told = [Figure("latency", "tail: latency", value, 1.0, "ms") for value in (20.0, 21.0, 29.0)]
    >>> [s.rstrip() for s in strips(Series("tail: latency", "ms", tuple((None, f) for f in told), None, None), 24)]
    [' --o--', '   --o--', '                  --o--']
    """
    figures = [figure for _, figure in series.points]
    limits = limits_of(series)
    low, high = _range(figures, limits)
    return tuple(_strip(figure, limits, low, high, width) for figure in figures)


def limits_of(series: Series) -> tuple[float, ...]:
    """Give the least and the largest value that a figure may move to; empty where nothing says so."""
    moved, first = series.moved, series.first
    if moved is None or first is None or first.value is None or moved.limit is None or moved.allowed is None:
        return ()
    if moved.allowed.measure == "ratio":
        return first.value / moved.limit, first.value * moved.limit
    return first.value - moved.limit, first.value + moved.limit


def _range(figures: Sequence[Figure], limits: Sequence[float]) -> tuple[float, float]:
    ends = [*limits]
    for figure in figures:
        value, spread = figure.value or 0.0, figure.uncertainty or 0.0
        ends += [value - spread, value + spread]
    low, high = min(ends), max(ends)
    margin = _MARGIN * (high - low) or abs(high) * _MARGIN or 1.0
    return low - margin, high + margin


def _strip(figure: Figure, limits: Sequence[float], low: float, high: float, width: int) -> str:
    def column(value: float) -> int:
        return min(max(round((value - low) / (high - low) * (width - 1)), 0), width - 1)

    value, spread = figure.value or 0.0, figure.uncertainty or 0.0
    letters = [" "] * width
    for place in range(column(value - spread), column(value + spread) + 1):
        letters[place] = SPREAD
    for limit in limits:
        letters[column(limit)] = LIMIT
    at = column(value)
    letters[at] = SHARED if letters[at] == LIMIT else VALUE
    return "".join(letters)
