"""Each kind of airframe as a filled shape, from the side, from behind and from above: coarse enough for a terminal.

Page axes: x to the right, y up, the centre of gravity at the origin, the airframe about 2 long. From the side the nose
points right; from behind it points away from whoever looks; from above it points up the page. The blades are off, and
are not drawn.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import cos, pi, sin
from typing import Final, Literal

from benchrig.declaration.airframe import Kind

Side = Literal["side", "behind", "above"]
Point = tuple[float, float]
Outline = tuple[Point, ...]


def _box(left: float, bottom: float, right: float, top: float) -> Outline:
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def _disc(x: float, y: float, radius: float) -> Outline:
    return tuple((x + radius * cos(step * pi / 12), y + radius * sin(step * pi / 12)) for step in range(24))


def _both(half: Outline) -> Outline:
    """Mirror the right half of an outline, given from the top down."""
    return (*half, *((-x, y) for x, y in reversed(half)))


def _bar(start: Point, end: Point, width: float) -> Outline:
    (x0, y0), (x1, y1) = start, end
    length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    u, v = -(y1 - y0) / length * width / 2, (x1 - x0) / length * width / 2
    return ((x0 + u, y0 + v), (x1 + u, y1 + v), (x1 - u, y1 - v), (x0 - u, y0 - v))


_CABIN: Final[Outline] = (
    (0.95, -0.12),
    (0.84, 0.06),
    (0.52, 0.3),
    (0.1, 0.36),
    (-0.3, 0.26),
    (-0.5, 0.12),
    (-0.42, -0.22),
    (-0.05, -0.34),
    (0.6, -0.34),
    (0.88, -0.25),
)

SILHOUETTES: Final[Mapping[tuple[Kind, Side], tuple[Outline, ...]]] = {
    ("helicopter", "side"): (
        _CABIN,
        ((-0.4, 0.2), (-0.4, 0.0), (-1.25, 0.06), (-1.25, 0.18)),
        ((-1.08, 0.1), (-1.38, 0.52), (-1.5, 0.52), (-1.3, 0.0), (-1.36, -0.2), (-1.24, -0.2)),
        _box(-0.07, 0.3, 0.07, 0.62),
        _box(-0.24, 0.55, 0.24, 0.68),
        _box(-0.42, -0.66, 0.7, -0.56),
        _bar((-0.2, -0.3), (-0.26, -0.6), 0.09),
        _bar((0.42, -0.3), (0.48, -0.6), 0.09),
    ),
    ("helicopter", "behind"): (
        _disc(0.0, 0.0, 0.4),
        _box(-0.07, 0.3, 0.07, 0.66),
        _box(-0.26, 0.6, 0.26, 0.74),
        _bar((-0.2, -0.3), (-0.5, -0.62), 0.12),
        _bar((0.2, -0.3), (0.5, -0.62), 0.12),
        _box(-0.66, -0.72, -0.36, -0.6),
        _box(0.36, -0.72, 0.66, -0.6),
    ),
    ("helicopter", "above"): (
        _both(((0.0, 0.95), (0.14, 0.84), (0.28, 0.5), (0.3, 0.1), (0.2, -0.25), (0.08, -0.45))),
        _box(-0.07, -1.3, 0.07, -0.3),
        _box(-0.34, -1.06, 0.34, -0.92),
        _box(0.07, -1.36, 0.17, -1.1),
    ),
    ("aeroplane", "side"): (
        ((1.05, 0.0), (0.92, 0.14), (0.5, 0.2), (0.1, 0.26), (-0.3, 0.18), (-1.2, 0.1), (-1.2, -0.04), (0.2, -0.18)),
        ((0.2, -0.18), (0.85, -0.18), (1.05, 0.0), (0.2, 0.1)),
        ((-0.82, 0.1), (-1.08, 0.52), (-1.28, 0.52), (-1.22, 0.05)),
        _box(-0.3, -0.2, 0.42, -0.08),
        _bar((0.42, -0.15), (0.46, -0.42), 0.09),
        _disc(0.46, -0.42, 0.12),
    ),
    ("aeroplane", "behind"): (
        _disc(0.0, 0.0, 0.25),
        _both(((0.0, 0.06), (1.35, 0.16), (1.35, 0.05), (0.0, -0.1))),
        _box(-0.06, 0.1, 0.06, 0.66),
        _box(-0.45, 0.28, 0.45, 0.37),
        _bar((-0.12, -0.15), (-0.34, -0.48), 0.09),
        _bar((0.12, -0.15), (0.34, -0.48), 0.09),
    ),
    ("aeroplane", "above"): (
        _both(((0.0, 1.0), (0.11, 0.86), (0.15, 0.4), (0.12, -0.4), (0.07, -1.0))),
        _both(((0.0, 0.4), (0.14, 0.4), (1.3, 0.24), (1.3, -0.06), (0.0, -0.1))),
        _both(((0.0, -0.78), (0.48, -0.86), (0.48, -1.06), (0.0, -1.06))),
    ),
    ("multirotor", "side"): (
        ((0.62, 0.02), (0.4, 0.18), (-0.4, 0.18), (-0.4, -0.12), (0.4, -0.12)),
        _box(-1.0, -0.02, 1.0, 0.08),
        _box(-1.08, 0.02, -0.84, 0.32),
        _box(0.84, 0.02, 1.08, 0.32),
        _bar((-0.3, -0.1), (-0.42, -0.5), 0.1),
        _bar((0.3, -0.1), (0.42, -0.5), 0.1),
    ),
    ("multirotor", "behind"): (
        _box(-0.34, -0.14, 0.34, 0.18),
        _box(-1.0, -0.02, 1.0, 0.08),
        _box(-1.08, 0.02, -0.84, 0.32),
        _box(0.84, 0.02, 1.08, 0.32),
        _bar((-0.28, -0.1), (-0.4, -0.5), 0.1),
        _bar((0.28, -0.1), (0.4, -0.5), 0.1),
    ),
    ("multirotor", "above"): (
        _both(((0.0, 0.62), (0.16, 0.34), (0.24, 0.2), (0.24, -0.38))),
        _bar((-0.72, -0.72), (0.72, 0.72), 0.13),
        _bar((-0.72, 0.72), (0.72, -0.72), 0.13),
        *(_disc(x, y, 0.22) for x in (-0.75, 0.75) for y in (-0.75, 0.75)),
    ),
    ("other", "side"): (((1.0, -0.02), (0.6, 0.2), (-0.9, 0.2), (-0.9, -0.24), (0.6, -0.24)),),
    ("other", "behind"): (_box(-0.6, -0.24, 0.6, 0.2), _box(-0.14, 0.2, 0.14, 0.42)),
    ("other", "above"): (_both(((0.0, 1.0), (0.42, 0.5), (0.42, -0.85))),),
}
"""Outlines of each kind, from each side; a piece of the screen is filled where any of them covers it."""

BENCH: Final = -0.78
"""Height of the bench in the pictures from the side and from behind."""
