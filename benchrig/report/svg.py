"""Pictures as inline SVG: the role of a shape becomes a class, and the page's style sheet decides its looks."""

from __future__ import annotations

from html import escape
from math import atan2, cos, pi, sin
from typing import Final

from benchrig.drawing.shapes import Arrow, Label, Picture, Point, Polygon, Polyline, Shape
from benchrig.report.lettering import clean, shorten_middle

_SCALE: Final = 100.0
"""SVG units to one unit of a picture."""
_HEAD: Final = 0.1
"""Length of an arrow's head, in units of the picture."""
_LETTERS: Final = 16
"""Of a label, at most: longer ones would run over the drawing."""


def svg(picture: Picture, name: str) -> str:
    """Draw a picture.

    Parameters
    ----------
    picture : Picture
    name : str
        Unique on the page: its title and description are found by it.

    Returns
    -------
    str
        An ``svg`` element without width and height: it fills the box that the page gives it.
    """
    left, bottom, right, top = picture.box
    box = f"{_n(left * _SCALE)} {_n(-top * _SCALE)} {_n((right - left) * _SCALE)} {_n((top - bottom) * _SCALE)}"
    drawn = "".join(_shape(shape) for shape in picture.shapes)
    return f'<svg viewBox="{box}" role="img" aria-labelledby="{name}-t {name}-d">{titled(picture, name)}{drawn}</svg>'


def titled(picture: Picture, name: str) -> str:
    """Write a picture's title and description."""
    title, description = text(picture.title), text(picture.description)
    return f'<title id="{name}-t">{title}</title><desc id="{name}-d">{description}</desc>'


def text(raw: str) -> str:
    """Clean and escape text for a document."""
    return escape(clean(raw))


def _n(value: float) -> str:
    return f"{round(value, 1) + 0.0:.1f}".removesuffix(".0")  # adding zero makes -0.0 a plain 0.0


def points(path: tuple[Point, ...]) -> str:
    """Write points of the page, y up, as SVG has them, y down."""
    return " ".join(f"{_n(x * _SCALE)},{_n(-y * _SCALE)}" for x, y in path)


def _shape(shape: Shape) -> str:
    if isinstance(shape, Polygon):
        return f'<polygon class="{shape.role}" points="{points(shape.points)}"/>'
    if isinstance(shape, Polyline):
        return f'<polyline class="{shape.role}" points="{points(shape.points)}"/>'
    if isinstance(shape, Arrow):
        return _arrow(shape)
    return _label(shape)


def _arrow(arrow: Arrow) -> str:
    (x0, y0), (x1, y1) = arrow.points[-2:]
    heading = atan2(y1 - y0, x1 - x0)
    sides = [(x1 + _HEAD * cos(heading + turn), y1 + _HEAD * sin(heading + turn)) for turn in (0.87 * pi, -0.87 * pi)]
    line = f'<polyline class="{arrow.role} shaft" points="{points(arrow.points)}"/>'
    return f'{line}<polygon class="{arrow.role} head" points="{points(((x1, y1), sides[0], sides[1]))}"/>'


def _label(label: Label) -> str:
    x, y = label.at
    place = f'x="{_n(x * _SCALE)}" y="{_n(-y * _SCALE)}"'
    words = escape(shorten_middle(label.text, _LETTERS))
    return f'<text class="{label.role}" {place} text-anchor="{label.anchor}">{words}</text>'
