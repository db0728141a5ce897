"""Figures as inline SVG: each curve is told apart by its own stroke and sign and named beside it, without colour."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.figure import Curve, Figure
from benchrig.report.frame import BOTTOM, LEFT, RIGHT, TOP, Axis, axes_of
from benchrig.report.lettering import shorten_middle, wrap
from benchrig.report.svg import text
from benchrig.report.ticks import tick_label
from benchrig.report.traces import thinned
from benchrig.signals.body import BoolArray

WIDTH: Final = 1000.0
HEIGHT: Final = 440.0
_KINDS: Final = 3
"""Of strokes and colours; the signs on them differ for the first five curves."""
_SIGNS: Final = ("circle", "square", "triangle", "diamond", "plus")
_ORDER: Final = ("dots", "line", "dashed", "cross")
"""In which curves are drawn, so that none hides what is rarer."""
_ALONG: Final = 7
"""Signs along one line."""
_BARS: Final = 40
"""Bars of spread along one curve, at most."""
_MOST: Final = 900
"""Points of a curve; a screen shows no more apart."""
_LABEL: Final = 27
"""Letters of a curve's name in one line."""
_LINES: Final = 3
_ROW: Final = 17.0


def plot_svg(figure: Figure, name: str) -> str:
    """Draw a figure.

    Parameters
    ----------
    figure : Figure
    name : str
        Unique on the page: the title and the description are found by it.

    Returns
    -------
    str
        An ``svg`` element without width and height: it fills the box that the page gives it.
    """
    axes = axes_of(figure)
    drawn = _framed(figure, *axes) if axes else _nothing()
    title, description = text(figure.title), text(figure.description)
    return (
        f'<svg viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" role="img" aria-labelledby="{name}-t {name}-d">'
        f'<title id="{name}-t">{title}</title><desc id="{name}-d">{description}</desc>{"".join(drawn)}</svg>'
    )


def _nothing() -> Iterator[str]:
    yield f'<text class="name" x="{LEFT}" y="{TOP + 20}">There is nothing to draw.</text>'


def _framed(figure: Figure, across: Axis, up: Axis) -> Iterator[str]:
    yield from _grid(across, up)
    yield f'<text class="name" x="{LEFT - 50}" y="{TOP - 16}">{text(figure.y_label)}</text>'
    yield f'<text class="name" x="{RIGHT}" y="{BOTTOM + 42}" text-anchor="end">{text(figure.x_label)}</text>'
    signed = len(figure.curves) > 1
    for place, curve in sorted(enumerate(figure.curves), key=lambda entry: _ORDER.index(entry[1].style)):
        yield from _curve(curve, place, across, up, signed=signed)
    yield from _names(figure, up)


def _grid(across: Axis, up: Axis) -> Iterator[str]:
    for value, y in zip(up.ticks(), up.place(np.array(up.ticks())).tolist(), strict=True):
        kind = "zero" if value == 0 else "line"
        yield f'<line class="{kind}" x1="{LEFT}" y1="{y:.1f}" x2="{RIGHT}" y2="{y:.1f}"/>'
        yield f'<text class="tick" x="{LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{tick_label(value)}</text>'
    for value, x in zip(across.ticks(), across.place(np.array(across.ticks())).tolist(), strict=True):
        kind = "zero" if value == 0 else "line"
        yield f'<line class="{kind}" x1="{x:.1f}" y1="{TOP}" x2="{x:.1f}" y2="{BOTTOM}"/>'
        yield f'<text class="tick" x="{x:.1f}" y="{BOTTOM + 18}" text-anchor="middle">{tick_label(value)}</text>'


def _curve(curve: Curve, place: int, across: Axis, up: Axis, *, signed: bool) -> Iterator[str]:
    x, y = across.place(curve.x), up.place(curve.y)
    kept = np.isfinite(x) & np.isfinite(y)
    kind = f"c{place % _KINDS}"
    if curve.spread is not None:
        yield from _bars(curve, x, up, kept, kind)
    if curve.style == "cross":
        yield from (_cross(a, b, place) for a, b in zip(x[kept].tolist(), y[kept].tolist(), strict=True))
        return
    if curve.style == "dots":
        near = np.unique(np.column_stack([x[kept], y[kept]]).round(), axis=0)
        yield from (f'<circle class="dot {kind}" cx="{a:.0f}" cy="{b:.0f}" r="2"/>' for a, b in near.tolist())
        return
    style = f"{kind} dashed" if curve.style == "dashed" else kind
    yield f'<path class="curve {style}" d="{_path(x, y, kept)}"/>'
    if signed:
        at = np.flatnonzero(kept)
        # each curve's signs stand a little further along, so that those of curves that coincide do not hide each other
        picked = at[np.unique((np.linspace(0.04, 0.96, _ALONG) * (len(at) - 1) + 0.02 * place * len(at)).astype(int))
                    .clip(0, len(at) - 1)]  # fmt: skip
        yield from (_sign(float(x[k]), float(y[k]), place, kind) for k in picked)


def _path(x: Vector, y: Vector, kept: BoolArray) -> str:
    """Join the points of each run without a gap."""
    pieces = []
    edges = np.flatnonzero(np.diff(np.r_[False, kept, False]))
    for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        steps = [f"{a:.1f} {b:.1f}" for a, b in zip(*_thinned(x[start:end], y[start:end]), strict=True)]
        pieces.append("M" + "L".join(steps))
    return "".join(pieces)


def _thinned(x: Vector, y: Vector) -> tuple[list[float], list[float]]:
    """Leave out points that a screen would not show apart."""
    if len(x) > _MOST and bool(np.all(np.diff(x) > 0)):
        x, y = thinned(x, y, LEFT, RIGHT, _MOST // 2)
    elif len(x) > _MOST:
        moved = np.r_[True, np.abs(np.diff(x.round())) + np.abs(np.diff(y.round())) > 0]
        x, y = x[moved], y[moved]
    return x.tolist(), y.tolist()


def _bars(curve: Curve, x: Vector, up: Axis, kept: BoolArray, kind: str) -> Iterator[str]:
    spread = np.asarray(curve.spread, dtype=np.float64)
    low, high = up.place(curve.y - spread), up.place(curve.y + spread)
    low = np.where(np.isfinite(low), low, BOTTOM)  # a logarithmic axis has no place for what reaches below zero
    at = np.flatnonzero(kept & np.isfinite(spread) & np.isfinite(high))
    for k in at[:: max(1, -(-len(at) // _BARS))]:
        place = f'x1="{x[k]:.1f}" y1="{low[k]:.1f}" x2="{x[k]:.1f}" y2="{high[k]:.1f}"'
        yield f'<line class="spread {kind}" {place}/>'


def _cross(x: float, y: float, place: int, reach: float = 6.0) -> str:
    """Mark one point; every second set of points stands in circles, so that two sets differ without colour."""
    kind = f"c{place % 2}"
    a, b, c, d = x - reach, x + reach, y - reach, y + reach
    lines = f"M{a:.1f} {c:.1f}L{b:.1f} {d:.1f}M{a:.1f} {d:.1f}L{b:.1f} {c:.1f}"
    ring = f'<circle class="sign {kind}" cx="{x:.1f}" cy="{y:.1f}" r="{1.7 * reach:.1f}"/>' if place % 2 else ""
    return f'{ring}<path class="halo" d="{lines}"/><path class="sign {kind}" d="{lines}"/>'


def _sign(x: float, y: float, place: int, kind: str) -> str:
    shape = _SIGNS[place % len(_SIGNS)]
    r = 4.5
    if shape == "circle":
        return f'<circle class="sign {kind}" cx="{x:.1f}" cy="{y:.1f}" r="{r}"/>'
    corners = {
        "square": [(-r, -r), (r, -r), (r, r), (-r, r)],
        "triangle": [(0.0, -1.3 * r), (1.2 * r, r), (-1.2 * r, r)],
        "diamond": [(0.0, -1.4 * r), (1.4 * r, 0.0), (0.0, 1.4 * r), (-1.4 * r, 0.0)],
    }.get(shape)
    if corners is None:
        return f'<path class="sign {kind}" d="M{x - r:.1f} {y:.1f}H{x + r:.1f}M{x:.1f} {y - r:.1f}V{y + r:.1f}"/>'
    points = " ".join(f"{x + dx:.1f},{y + dy:.1f}" for dx, dy in corners)
    return f'<polygon class="sign {kind}" points="{points}"/>'


def _names(figure: Figure, up: Axis) -> Iterator[str]:
    """Write each curve's name at the height where it ends, with a sample of its stroke; none over another."""
    named = [(_end(curve, up), place, curve, _wrapped(curve.label)) for place, curve in enumerate(figure.curves)]
    floor, levels = TOP - _ROW, []
    for end, place, curve, lines in sorted(named, key=lambda entry: entry[:2]):
        level = max(end, floor + _ROW)
        levels.append((level, place, curve, lines))
        floor = level + _ROW * (len(lines) - 1)
    over = max(0.0, floor - BOTTOM)
    for level, place, curve, lines in levels:
        y = level - over
        yield from _sample(curve, place, y, signed=len(figure.curves) > 1)
        for step, line in enumerate(lines):
            yield f'<text class="name" x="{RIGHT + 62}" y="{y + 5 + _ROW * step:.1f}">{escape(line)}</text>'


def _wrapped(label: str) -> list[str]:
    return wrap(shorten_middle(label, _LINES * _LABEL - 8), _LABEL)


def _end(curve: Curve, up: Axis) -> float:
    places = up.place(curve.y)
    finite = places[np.isfinite(places)]
    return float(finite[-1]) if finite.size else BOTTOM


def _sample(curve: Curve, place: int, y: float, *, signed: bool) -> Iterator[str]:
    kind = f"c{place % _KINDS}"
    middle = RIGHT + 34
    if curve.style == "cross":
        yield _cross(middle, y, place)
    elif curve.style == "dots":
        yield from (f'<circle class="dot {kind}" cx="{middle + dx}" cy="{y:.1f}" r="2"/>' for dx in (-14, 0, 14))
    else:
        style = f"{kind} dashed" if curve.style == "dashed" else kind
        yield f'<path class="curve {style}" d="M{RIGHT + 12} {y:.1f}H{RIGHT + 56}"/>'
        if signed:
            yield _sign(middle, y, place, kind)
