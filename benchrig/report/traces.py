"""The recorded curves as inline SVG: three strips on one time scale, rests and motions shaded, gaps left open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.report.svg import text
from benchrig.report.ticks import linear_ticks, tick_label
from benchrig.verdict.record import Span, Traces

WIDTH: Final = 1000.0
_LEFT: Final = 62.0
_RIGHT: Final = 920.0
_HEIGHT: Final = 150.0
_STEPS: Final = 430
"""Pairs of least and greatest value along a strip: finer than a screen shows them apart."""
_LETTER: Final = 6.6
"""Width of a letter of the labels."""
_ROW: Final = 15.0


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip of curves: what it shows, in which unit, and three curves with their names."""

    title: str
    unit: str
    names: tuple[str, str, str]
    values: Vector


def thinned(time: Vector, values: Vector, start: float, end: float, steps: int = _STEPS) -> tuple[Vector, Vector]:
    """Thin a curve to its least and greatest value in each of `steps` equal steps of time.

    A spike of one sample stays to be seen.

    Parameters
    ----------
    time, values : ndarray, shape (N,)
        Of one segment, without a gap.
    start, end : float
        Of the whole strip, so that the segments of a recording share their steps.
    steps : int

    Returns
    -------
    time, values : ndarray, shape (M,)
        M is at most twice the number of steps; the samples kept are samples of the curve, in order.
    """
    if len(time) <= 2 * steps:
        return time, values
    step = np.minimum((steps * (time - start) / (end - start)).astype(int), steps - 1)
    order = np.lexsort((values, step))
    sorted_steps = step[order]
    first = np.flatnonzero(np.r_[True, np.diff(sorted_steps) > 0])
    last = np.r_[first[1:], len(order)] - 1
    keep = np.unique(np.r_[order[first], order[last]])
    return time[keep], values[keep]


def strips(traces: Traces) -> tuple[Strip, ...]:
    """Put the recorded curves into the units people read."""
    return (
        Strip("Angular rate", "°/s", ("p", "q", "r"), np.degrees(traces.angular_rate)),
        Strip("Specific force", "g", ("fx", "fy", "fz"), traces.specific_force / STANDARD_GRAVITY),
        Strip("Attitude", "°", ("roll", "pitch", "yaw"), np.degrees(traces.attitude)),
    )


def trace_svgs(traces: Traces) -> list[tuple[str, str]]:
    """Draw every strip.

    Returns
    -------
    list of (title, svg)
        Empty where there are fewer than two samples.
    """
    if len(traces.time) < 2:  # noqa: PLR2004 - a curve joins two samples
        return []
    return [
        (f"{strip.title}, {strip.unit}", _strip(traces, strip, f"strip-{place}"))
        for place, strip in enumerate(strips(traces))
    ]


class _Scale:
    """Where a time and a value lie on the strip."""

    def __init__(self, time: Vector, values: Vector, top: float) -> None:
        self.start, self.end = float(time[0]), float(time[-1])
        finite = values[np.isfinite(values)]
        low, high = (float(finite.min()), float(finite.max())) if finite.size else (0.0, 0.0)
        margin = 0.06 * (high - low) or 1.0
        self.low, self.high, self.top = low - margin, high + margin, top

    def x(self, time: float) -> float:
        return float(np.clip(_LEFT + (_RIGHT - _LEFT) * (time - self.start) / (self.end - self.start), _LEFT, _RIGHT))

    def y(self, value: float) -> float:
        return self.top + _HEIGHT * (self.high - value) / (self.high - self.low)


def _strip(traces: Traces, strip: Strip, name: str) -> str:
    rows = _rows(traces.motions, traces.time)
    top = 8.0 + _ROW * (max((row for _, _, row in rows), default=-1) + 1)
    scale = _Scale(traces.time, strip.values, top)
    height = top + _HEIGHT + 24.0
    said = f"{strip.title} against time, {', '.join(strip.names)}; shaded where a motion was asked for."
    parts = [
        f'<svg viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" aria-labelledby="{name}-t {name}-d">',
        f'<title id="{name}-t">{strip.title}</title><desc id="{name}-d">{said}</desc>',
        *_shading(traces, scale, rows),
        *_grid(scale),
        *_curves(traces, strip, scale),
        "</svg>",
    ]
    return "".join(parts)


def _rows(motions: Sequence[Span], time: Vector) -> list[tuple[Span, float, int]]:
    """Place the labels of the motions in as many rows as keep them apart."""
    ends: list[float] = []
    placed = []
    scale = (_RIGHT - _LEFT) / float(time[-1] - time[0])
    for span in motions:
        start = _LEFT + scale * (span.start - float(time[0]))
        width = _LETTER * len(span.label)
        start = min(start, WIDTH - width)
        row = next((row for row, end in enumerate(ends) if end < start), len(ends))
        ends[row : row + 1] = [start + width + 4.0]
        placed.append((span, start, row))
    return placed


def _shading(traces: Traces, scale: _Scale, rows: list[tuple[Span, float, int]]) -> Iterator[str]:
    for span, at, row in rows:
        x, width = scale.x(span.start), scale.x(span.end) - scale.x(span.start)
        foot = 8.0 + _ROW * row
        rect = f'x="{x:.1f}" y="{foot + 5:.1f}" width="{width:.1f}" height="{scale.top + _HEIGHT - foot - 5:.1f}"'
        yield f'<rect class="asked" {rect}/>'
        yield f'<text class="tick" x="{at + 2:.1f}" y="{foot + 3:.1f}">{text(span.label)}</text>'
    for span in traces.rests:
        x, width = scale.x(span.start), scale.x(span.end) - scale.x(span.start)
        base = scale.top + _HEIGHT - 5
        # a rest is a bar at the foot of the strip, full for the bench, open for the hand: told apart without colour
        yield f'<rect class="rest {text(span.label)}" x="{x:.1f}" y="{base:.1f}" width="{width:.1f}" height="5"/>'


def _grid(scale: _Scale) -> Iterator[str]:
    foot = scale.top + _HEIGHT
    for value in linear_ticks(scale.low, scale.high, 5):
        y = scale.y(value)
        kind = "zero" if value == 0 else "line"
        yield f'<line class="{kind}" x1="{_LEFT}" y1="{y:.1f}" x2="{_RIGHT}" y2="{y:.1f}"/>'
        yield f'<text class="tick" x="{_LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{tick_label(value)}</text>'
    for value in linear_ticks(scale.start, scale.end, 8):
        x = scale.x(value)
        yield f'<line class="line" x1="{x:.1f}" y1="{foot}" x2="{x:.1f}" y2="{foot + 4}"/>'
        yield f'<text class="tick" x="{x:.1f}" y="{foot + 17}" text-anchor="middle">{tick_label(value)} s</text>'


def _curves(traces: Traces, strip: Strip, scale: _Scale) -> Iterator[str]:
    ends = sorted(range(3), key=lambda axis: scale.y(_last(strip.values[:, axis])))
    levels: dict[int, float] = {}
    floor = -np.inf
    for axis in ends:
        floor = max(scale.y(_last(strip.values[:, axis])) + 4, floor + 15)
        levels[axis] = floor
    over = max(0.0, floor - (scale.top + _HEIGHT + 4))
    for axis, name in enumerate(strip.names):
        yield f'<path class="curve c{axis}" d="{_path(traces, strip.values[:, axis], scale)}"/>'
        y = levels[axis] - over
        yield f'<line class="curve c{axis}" x1="926" y1="{y - 4:.1f}" x2="956" y2="{y - 4:.1f}"/>'
        yield f'<text class="name" x="961" y="{y:.1f}">{name}</text>'


def _last(values: Vector) -> float:
    finite = values[np.isfinite(values)]
    return float(finite[-1]) if finite.size else 0.0


def _path(traces: Traces, values: Vector, scale: _Scale) -> str:
    pieces = []
    good = np.isfinite(values)
    for segment in np.unique(traces.segment):
        here = good & (traces.segment == segment)
        time, kept = thinned(traces.time[here], values[here], scale.start, scale.end)
        steps = [f"{scale.x(t):.1f} {scale.y(v):.1f}" for t, v in zip(time.tolist(), kept.tolist(), strict=True)]
        if steps:
            pieces.append("M" + "L".join(steps))
    return "".join(pieces)
