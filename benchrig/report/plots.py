"""Figures as inline SVG: each curve is told apart by its own stroke and sign and named beside it, without colour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.figure import Curve, Figure
from benchrig.report.frame import BOTTOM, LEFT, RIGHT, TOP, Axis, axes_of
from benchrig.report.lettering import shorten_middle
from benchrig.report.plot_signs import Look, cross, dot, looks_of, sign
from benchrig.report.svg import text
from benchrig.report.ticks import tick_label
from benchrig.report.traces import thinned
from benchrig.signals.body import BoolArray, IntArray

WIDTH: Final = RIGHT + 36.0
_FOOT: Final = 62.0
"""Below the frame, for the numbers and the name of its axis."""
_ORDER: Final = ("dots", "line", "dashed", "cross")
"""In which curves are drawn, so that none hides what is rarer."""
_ALONG: Final = 7
"""Signs along one line."""
_BARS: Final = 40
"""Bars of spread along one curve, at most."""
_MOST: Final = 900
"""Points of a curve; a screen shows no more apart."""
_LABEL: Final = 64
"""Letters of a curve's name, at most."""
_ROW: Final = 24.0
_WIDE: Final = 400.0
"""Of a frame whose axis is named at its right end."""


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
    height = axes[1].start + _FOOT + _ROW * len(figure.curves) if axes else BOTTOM
    title, description = text(figure.title), text(figure.description)
    return (
        f'<svg viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" aria-labelledby="{name}-t {name}-d">'
        f'<title id="{name}-t">{title}</title><desc id="{name}-d">{description}</desc>{"".join(drawn)}</svg>'
    )


def _nothing() -> Iterator[str]:
    yield f'<text class="name" x="{LEFT}" y="{TOP + 20}">There is nothing to draw.</text>'


def _framed(figure: Figure, across: Axis, up: Axis) -> Iterator[str]:
    yield from _grid(across, up)
    yield f'<text class="name" x="{LEFT - 50}" y="{TOP - 16}">{text(figure.y_label)}</text>'
    wide = across.end - LEFT > _WIDE
    place = f'x="{across.end if wide else LEFT:.1f}" y="{up.start + 42:.1f}" text-anchor="{"end" if wide else "start"}"'
    yield f'<text class="name" {place}>{text(figure.x_label)}</text>'
    looks = looks_of(figure)
    for curve, look in sorted(zip(figure.curves, looks, strict=True), key=lambda entry: _ORDER.index(entry[0].style)):
        yield from _curve(curve, look, across, up)
    yield from _names(figure, looks, up.start + _FOOT)


def _grid(across: Axis, up: Axis) -> Iterator[str]:
    for value, y in zip(up.ticks(), up.place(np.array(up.ticks())).tolist(), strict=True):
        kind = "zero" if value == 0 else "line"
        yield f'<line class="{kind}" x1="{LEFT}" y1="{y:.1f}" x2="{across.end:.1f}" y2="{y:.1f}"/>'
        yield f'<text class="tick" x="{LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{tick_label(value)}</text>'
    for value, x in zip(across.ticks(), across.place(np.array(across.ticks())).tolist(), strict=True):
        kind = "zero" if value == 0 else "line"
        yield f'<line class="{kind}" x1="{x:.1f}" y1="{TOP}" x2="{x:.1f}" y2="{up.start:.1f}"/>'
        yield f'<text class="tick" x="{x:.1f}" y="{up.start + 18:.1f}" text-anchor="middle">{tick_label(value)}</text>'


def _curve(curve: Curve, look: Look, across: Axis, up: Axis) -> Iterator[str]:
    x, y = across.place(curve.x), up.place(curve.y)
    kept = np.isfinite(x) & np.isfinite(y)
    if curve.spread is not None:
        yield from _bars(curve, x, up, kept, look.kind)
    if curve.style == "cross":
        yield from (cross(a, b, look) for a, b in zip(x[kept].tolist(), y[kept].tolist(), strict=True))
    elif curve.style == "dots":
        near = np.unique(np.column_stack([x[kept], y[kept]]).round(), axis=0)
        yield from (dot(a, b, look, alone=len(near) == 1) for a, b in near.tolist())
    else:
        style = f"{look.kind} dashed" if curve.style == "dashed" else look.kind
        yield f'<path class="curve {style}" d="{_path(x, y, kept)}"/>'
        yield from (dot(float(x[k]), float(y[k]), look, alone=True) for k in _lone(kept))
        yield from (sign(float(x[k]), float(y[k]), look) for k in _signed(np.flatnonzero(kept), look))


def _lone(kept: BoolArray) -> IntArray:
    """Find the points of a line that have no neighbour to be joined with."""
    beside = np.r_[False, kept[:-1]] | np.r_[kept[1:], False]
    found: IntArray = np.flatnonzero(kept & ~beside)
    return found


def _signed(at: IntArray, look: Look) -> list[int]:
    """Pick the points of a line that carry its sign, for each curve a little further along than for the one before."""
    if not look.signed or not at.size:
        return []
    along = np.linspace(0.04, 0.96, _ALONG) * (len(at) - 1) + 0.02 * look.place * len(at)
    return [int(k) for k in at[np.unique(along.astype(int).clip(0, len(at) - 1))]]


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
    low = np.where(np.isfinite(low), low, up.start)  # a logarithmic axis has no place for what reaches below zero
    at = np.flatnonzero(kept & np.isfinite(spread) & np.isfinite(high))
    for k in at[:: max(1, -(-len(at) // _BARS))]:
        place = f'x1="{x[k]:.1f}" y1="{low[k]:.1f}" x2="{x[k]:.1f}" y2="{high[k]:.1f}"'
        yield f'<line class="spread {kind}" {place}/>'


def _names(figure: Figure, looks: Sequence[Look], top: float) -> Iterator[str]:
    """Write each curve's name below the frame, behind a sample of its stroke."""
    for place, (curve, look) in enumerate(zip(figure.curves, looks, strict=True)):
        y = top + _ROW * place
        yield from _sample(curve, look, y)
        words = escape(shorten_middle(curve.label, _LABEL))
        yield f'<text class="name" x="{LEFT + 56}" y="{y + 5:.1f}">{words}</text>'


def _sample(curve: Curve, look: Look, y: float) -> Iterator[str]:
    middle = LEFT + 22
    if curve.style == "cross":
        yield cross(middle, y, look)
    elif curve.style == "dots":
        alone = curve.x.size == 1
        yield from (dot(middle + dx, y, look, alone=alone) for dx in ((0,) if alone else (-14, 0, 14)))
    else:
        style = f"{look.kind} dashed" if curve.style == "dashed" else look.kind
        yield f'<path class="curve {style}" d="M{LEFT} {y:.1f}H{LEFT + 44}"/>'
        if look.signed:
            yield sign(middle, y, look)
