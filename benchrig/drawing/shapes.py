"""What pictures are made of: polygons, lines, arrows and labels, with no colour and no pixels.

Page axes: x to the right, y up the page. What draws a shape (a page, a window) turns its role into a style; the role
is the only thing a shape says about its looks.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import cos, pi, sin
from typing import Final, Literal

Point = tuple[float, float]

Role = Literal[
    "outline",  # the airframe
    "part",  # a moving part at rest
    "guide",  # discs, axes and other helping lines
    "declared",
    "found",
    "sensor",
    "answer",  # a part that must move, and the way it goes
    "motion",  # the disturbance
]

_CORNERS: Final = 44
"""Of a polygon that stands for a circle."""


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed outline, filled as its role asks."""

    points: tuple[Point, ...]
    role: Role


@dataclass(frozen=True, slots=True)
class Polyline:
    """An open line."""

    points: tuple[Point, ...]
    role: Role


@dataclass(frozen=True, slots=True)
class Arrow:
    """A line through `points` with a head at its end."""

    points: tuple[Point, ...]
    role: Role


@dataclass(frozen=True, slots=True)
class Label:
    """Text at a point.

    Attributes
    ----------
    anchor : {"start", "middle", "end"}
        Which part of the text stands at the point.
    """

    at: Point
    text: str
    role: Role
    anchor: Literal["start", "middle", "end"] = "middle"


Shape = Polygon | Polyline | Arrow | Label


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing with its words.

    Attributes
    ----------
    title, description : str
        For a person who cannot see it.
    shapes : tuple of Shape
        In the order of drawing.
    box : tuple of float
        Left, bottom, right, top.
    """

    title: str
    description: str
    shapes: tuple[Shape, ...]
    box: tuple[float, float, float, float]


def arc(centre: Point, radius: float, start: float, end: float) -> tuple[Point, ...]:
    """Give points along an arc; angles in rad clockwise from up the page.

    Examples
    --------
    >>> [(round(x, 9), round(y, 9)) for x, y in (arc((0, 0), 1, 0, pi / 2)[0], arc((0, 0), 1, 0, pi / 2)[-1])]
    [(0.0, 1.0), (1.0, 0.0)]
    """
    steps = max(8, round(_CORNERS * abs(end - start) / (2 * pi)))
    angles = [start + (end - start) * step / steps for step in range(steps + 1)]
    return tuple((centre[0] + radius * sin(angle), centre[1] + radius * cos(angle)) for angle in angles)


def circle(centre: Point, radius: float, role: Role) -> Polygon:
    """Give a circle as a polygon."""
    return Polygon(arc(centre, radius, 0.0, 2 * pi)[:-1], role)


def toward(centre: Point, radius: float, role: Role) -> tuple[Shape, ...]:
    """Give the sign for an arrow out of the page: its tip, a dot in a circle."""
    return (circle(centre, radius, role), circle(centre, radius * 0.3, role))


def away(centre: Point, radius: float, role: Role) -> tuple[Shape, ...]:
    """Give the sign for an arrow into the page: its feathers, a cross in a circle."""
    x, y = centre
    reach = radius * 0.7
    return (
        circle(centre, radius, role),
        Polyline(((x - reach, y - reach), (x + reach, y + reach)), role),
        Polyline(((x - reach, y + reach), (x + reach, y - reach)), role),
    )


def mirrored(points: Iterable[Point]) -> tuple[Point, ...]:
    """Complete the right half of an outline, listed from the nose, with its left half."""
    right = tuple(points)
    return right + tuple((-x, y) for x, y in reversed(right))
