"""Each kind of airframe seen from above, nose up the page, drawn about its centre of gravity.

The outlines are schematic; what is placed to scale is what the builder measured: sensor, magnetometer and rotors.
"""

from __future__ import annotations

from math import cos, pi, sin
from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.drawing.shapes import Arrow, Label, Point, Polygon, Polyline, Role, Shape, arc, circle, mirrored
from benchrig.geometry.directions import Vector

PLATE: Final = 0.34
"""Radius of the plate in a drawing whose airframe is about 2 long."""
ROTOR: Final = 0.27
_SMALLEST_REACH: Final = 0.12
"""m: a place measured to a few mm is not blown up to the size of the drawing."""

BOXES: Final = {
    "helicopter": (-1.25, -1.75, 1.25, 1.25),
    "aeroplane": (-1.45, -1.6, 1.45, 1.3),
    "multirotor": (-1.65, -1.75, 1.65, 1.75),
    "other": (-1.15, -1.15, 1.15, 1.25),
}
"""Left, bottom, right, top of each kind's drawing."""

HELICOPTER_TAIL: Final[Point] = (0.0, -1.45)
_TRAILING_EDGES: Final = {
    "left aileron": ((-1.25, -0.12), (-0.62, -0.12)),
    "right aileron": ((0.62, -0.12), (1.25, -0.12)),
    "left elevon": ((-1.25, -0.12), (-0.30, -0.12)),
    "right elevon": ((0.30, -0.12), (1.25, -0.12)),
    "elevator": ((-0.45, -1.12), (0.45, -1.12)),
    "left v-tail": ((-0.45, -1.12), (-0.07, -1.12)),
    "right v-tail": ((0.07, -1.12), (0.45, -1.12)),
    "rudder": ((0.0, -1.02), (0.0, -1.24)),
}
"""The hinge of each surface on the drawing, left or front end first."""
_CHORD: Final = 0.11
_CENTRED: Final = 0.02
"""Nearer to the middle than this, a name stands above or below its part, not beside it."""


def reach(airframe: Airframe) -> float:
    """Give the length in m that one unit of the drawing stands for, so that every place lies where such parts sit."""
    inside = 0.9 if airframe.kind == "multirotor" else 0.45
    sizes = [_SMALLEST_REACH, _farthest(airframe.sensor.lever_arm) / inside]
    sizes += [_farthest(actuator.position) for actuator in airframe.actuators if actuator.position is not None]
    if airframe.magnetometer is not None:
        sizes.append(_farthest(airframe.magnetometer.position))
    return max(sizes)


def _farthest(place: Vector) -> float:
    return float(np.abs(place[:2]).max())


def from_above(place: Vector, scale: float) -> Point:
    """Put a place in body axes on the page: forward is up, right is right.

    Parameters
    ----------
    place : ndarray, shape (3,), m
    scale : float, m
        That one unit of the drawing stands for.

    Examples
    --------
    >>> from_above(np.array([0.2, -0.1, 0.0]), 0.2)
    (-0.5, 1.0)
    """
    return (float(place[1]) / scale, float(place[0]) / scale)


def outline(airframe: Airframe) -> tuple[Shape, ...]:
    """Draw the airframe itself, without its sensor and without what moves."""
    return _OUTLINES[airframe.kind](airframe)


def nose(airframe: Airframe) -> Point:
    """Give the point ahead of which the nose is marked: its tip, or the front of the rotors' circle."""
    return {"helicopter": (0.0, 0.78), "aeroplane": (0.0, 0.95), "multirotor": (0.0, 1.3)}.get(
        airframe.kind, (0.0, 0.8)
    )


def _helicopter(airframe: Airframe) -> tuple[Shape, ...]:
    body = mirrored([(0.0, 0.78), (0.12, 0.70), (0.2, 0.5), (0.23, 0.2), (0.2, -0.15), (0.11, -0.45), (0.045, -0.6)])
    boom = mirrored([(0.045, -0.6), (0.03, -1.5)])
    stabiliser = mirrored([(0.0, -1.05), (0.22, -1.08), (0.22, -1.16), (0.0, -1.18)])
    shapes: list[Shape] = [Polygon(boom, "outline"), Polygon(stabiliser, "outline"), Polygon(body, "outline")]
    shapes.append(circle((0.0, 0.0), 1.0, "guide"))
    if airframe.rotor is not None:
        way = 1 if airframe.rotor.turns == "clockwise" else -1
        shapes.append(Arrow(arc((0.0, 0.0), 1.0, way * 0.9, way * 1.25), "guide"))
    return tuple(shapes)


def _aeroplane(airframe: Airframe) -> tuple[Shape, ...]:
    drives = {actuator.drives for actuator in airframe.actuators}
    wing = mirrored([(0.0, 0.3), (0.12, 0.3), (1.3, 0.16), (1.3, -0.12), (0.0, -0.12)])
    body = mirrored([(0.0, 0.95), (0.07, 0.88), (0.12, 0.6), (0.12, 0.0), (0.05, -1.0), (0.0, -1.06)])
    shapes: list[Shape] = [Polygon(wing, "outline")]
    if not drives & {"left elevon", "right elevon"} or "elevator" in drives:
        shapes.append(Polygon(mirrored([(0.0, -0.86), (0.48, -0.94), (0.48, -1.12), (0.0, -1.12)]), "outline"))
    shapes.append(Polygon(body, "outline"))
    return tuple(shapes)


def _multirotor(airframe: Airframe) -> tuple[Shape, ...]:
    scale = reach(airframe)
    places = [from_above(actuator.position, scale) for actuator in airframe.actuators if actuator.position is not None]
    arms = [Polyline(((0.0, 0.0), place), "outline") for place in places]
    body = mirrored([(0.0, 0.42), (0.14, 0.3), (0.2, 0.1), (0.2, -0.24), (0.12, -0.32)])
    return (*arms, Polygon(body, "outline"))


def _other(_: Airframe) -> tuple[Shape, ...]:
    return (Polygon(mirrored([(0.0, 0.8), (0.3, 0.55), (0.42, 0.4), (0.42, -0.75), (0.36, -0.8)]), "outline"),)


_OUTLINES: Final = {
    "helicopter": _helicopter,
    "aeroplane": _aeroplane,
    "multirotor": _multirotor,
    "other": _other,
}


def rotor_radius(airframe: Airframe) -> float:
    """Give the radius at which no two rotors of the drawing overlap."""
    scale = reach(airframe)
    places = [np.array(from_above(a.position, scale)) for a in airframe.actuators if a.position is not None]
    gaps = [float(np.linalg.norm(a - b)) for i, a in enumerate(places) for b in places[:i]]
    apart = [gap for gap in gaps if gap > 1e-6]  # noqa: PLR2004 - two rotors on one shaft are drawn as one
    return min([ROTOR, *(0.47 * gap for gap in apart)])


def part(airframe: Airframe, actuator: Actuator, place: int, role: Role) -> tuple[Shape, ...]:
    """Draw what an actuator moves, at rest."""
    at = where(airframe, actuator, place)
    if actuator.drives in _TRAILING_EDGES:
        (x0, y0), (x1, y1) = _TRAILING_EDGES[actuator.drives]
        if actuator.drives == "rudder":
            return (Polygon(((x0 - 0.025, y0), (x0 + 0.025, y0), (x1 + 0.025, y1), (x1 - 0.025, y1)), role),)
        return (Polygon(((x0, y0), (x1, y1), (x1, y1 - _CHORD), (x0, y0 - _CHORD)), role),)
    if actuator.drives == "rotor":
        radius = rotor_radius(airframe)
        way = 1 if actuator.turns == "clockwise" else -1
        sweep = arc(at, radius * 0.62, -way * 0.9, way * 0.9)
        return (circle(at, radius, role), Arrow(sweep, "guide"))
    if actuator.drives == "tail rotor":
        x, y = HELICOPTER_TAIL
        return (Polygon(((x + 0.05, y + 0.2), (x + 0.09, y + 0.2), (x + 0.09, y - 0.2), (x + 0.05, y - 0.2)), role),)
    if actuator.drives == "swashplate":
        return (Polyline(((0.0, 0.0), at), "guide"), circle(at, 0.045, role))
    return (circle(at, 0.05, role),)


def where(airframe: Airframe, actuator: Actuator, place: int) -> Point:
    """Give the point of the drawing where an actuator does its work.

    Parameters
    ----------
    airframe : Airframe
    actuator : Actuator
    place : int
        Its number in the declaration; those whose place nobody declared stand in a row on the airframe.
    """
    if actuator.position is not None:
        return from_above(actuator.position, reach(airframe))
    if actuator.azimuth is not None:
        return (PLATE * sin(actuator.azimuth), PLATE * cos(actuator.azimuth))
    if actuator.drives in _TRAILING_EDGES:
        (x0, y0), (x1, y1) = _TRAILING_EDGES[actuator.drives]
        return ((x0 + x1) / 2, (y0 + y1) / 2 - (0.0 if actuator.drives == "rudder" else _CHORD / 2))
    if actuator.drives == "tail rotor":
        return HELICOPTER_TAIL
    angle = 2 * pi * place / max(1, len(airframe.actuators))
    return (0.28 * sin(angle), -0.2 + 0.4 * cos(angle))


def name_label(airframe: Airframe, actuator: Actuator, place: int) -> Label:
    """Write an actuator's name beside what it moves, clear of the signs and arrows that may stand on it."""
    x, y = where(airframe, actuator, place)
    name = actuator.name
    if actuator.drives == "rotor":
        return Label((x, y - rotor_radius(airframe) - 0.1), name, "part")
    if actuator.drives in {"tail rotor", "rudder"}:
        return Label((x + 0.13, y - 0.21), name, "part", "start")
    if actuator.drives in {"elevator", "left v-tail"}:
        return Label((-0.55, y), name, "part", "end")
    if actuator.drives == "right v-tail":
        return Label((0.55, y), name, "part", "start")
    return _beside_plate((x, y), name) if actuator.drives == "swashplate" else Label((x, y - 0.2), name, "part")


def _beside_plate(at: Point, name: str) -> Label:
    x, y = at
    if abs(x) < _CENTRED:
        return Label((x, y + (0.12 if y > 0 else -0.2)), name, "part")
    side = 0.12 if x > 0 else -0.12
    return Label((x + side, y - 0.03), name, "part", "start" if x > 0 else "end")
