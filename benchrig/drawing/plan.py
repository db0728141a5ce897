"""The airframe from above with its sensor where it is declared, and the sensor's axes as declared and as found."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.declaration.airframe import Airframe
from benchrig.drawing.airframes import BOXES, from_above, name_label, nose, outline, part, reach
from benchrig.drawing.shapes import Arrow, Label, Picture, Point, Polygon, Polyline, Role, Shape, away, toward
from benchrig.geometry.directions import SENSOR_AXES, Matrix

_UNIT: Final = 0.075
"""Half the side of the sensor in the plan."""
_LARGE: Final = 0.34
"""Half its side in the enlarged picture."""
_LOW: Final = -0.7
"""Lower on the page than this, a name stands above its square, so that it stays in the drawing."""
_FLAT: Final = 0.2
"""An axis whose part along the page is shorter than this points at the reader or away."""


def plan_picture(airframe: Airframe) -> Picture:
    """Draw the airframe from above with sensor, magnetometer and actuators at their places."""
    scale = reach(airframe)
    left, bottom, right, top = BOXES[airframe.kind]
    tip = nose(airframe)
    shapes: list[Shape] = list(outline(airframe))
    for place, actuator in enumerate(airframe.actuators):
        shapes += part(airframe, actuator, place, "part")
        shapes.append(name_label(airframe, actuator, place))
    shapes.append(Polygon(((-0.055, tip[1] + 0.05), (0.055, tip[1] + 0.05), (0.0, tip[1] + 0.15)), "motion"))
    shapes.append(Label((0.1, tip[1] + 0.06), "nose", "motion", "start"))
    shapes += _cross((0.0, 0.0))
    above = airframe.kind in {"aeroplane", "multirotor"}  # the way that keeps off plate, wing and arms
    if airframe.magnetometer is not None:
        shapes += _place(from_above(airframe.magnetometer.position, scale), "magnetometer", above=above)
    shapes += _place(from_above(airframe.sensor.lever_arm, scale), "sensor", above=above)
    description = "Nose up the page. The cross is the centre of gravity. Sensor and rotors are placed to scale."
    return Picture(f"{airframe.kind} from above", description, tuple(shapes), (left, bottom, right, top))


def _cross(at: Point) -> tuple[Shape, ...]:
    x, y = at
    return (
        Polyline(((x - 0.06, y), (x + 0.06, y)), "motion"),
        Polyline(((x, y - 0.06), (x, y + 0.06)), "motion"),
    )


def _place(at: Point, name: str, *, above: bool) -> tuple[Shape, ...]:
    x, y = at
    rise = 1 if above or y < _LOW else -1
    square = ((x - _UNIT, y - _UNIT), (x + _UNIT, y - _UNIT), (x + _UNIT, y + _UNIT), (x - _UNIT, y + _UNIT))
    lead = Polyline(((x + _UNIT, y + rise * 0.4 * _UNIT), (x + 0.3, y + rise * 0.15)), "sensor")
    return (Polygon(square, "sensor"), lead, Label((x + 0.32, y + rise * 0.15 - 0.02), name, "sensor", "start"))


def axes_picture(title: str, body_from_sensor: Matrix, role: Role) -> Picture:
    """Draw the unit alone, from above with the nose up the page, and where its three axes point.

    Parameters
    ----------
    title : str
    body_from_sensor : ndarray, shape (3, 3)
        May be mirrored, or turned freely.
    role : Role
        ``declared`` or ``found``.
    """
    half = _LARGE
    shapes: list[Shape] = [Polygon(((-half, -half), (half, -half), (half, half), (-half, half)), "sensor")]
    axes = [(name, body_from_sensor[:, k].astype(np.float64).tolist()) for k, name in enumerate(SENSOR_AXES)]
    # the sign of an axis through the page is set last: no arrow may run over it
    for name, way in sorted(axes, key=lambda axis: abs(axis[1][2])):
        shapes += _axis(way, name, role)
    return Picture(title, "Seen from above, nose up the page.", tuple(shapes), (-0.95, -0.95, 0.95, 0.95))


def _axis(way: list[float], name: str, role: Role) -> tuple[Shape, ...]:
    forward, right, down = way
    flat = float(np.hypot(forward, right))
    if flat < _FLAT:
        sign = away if down > 0 else toward
        return (*sign((0.0, 0.0), 0.1, role), Label((-0.15, -0.24), name, role))
    end = (0.7 * right, 0.7 * forward)
    label = Label((0.84 * right / flat, 0.84 * forward / flat - 0.05), name, role)
    return (Arrow(((0.0, 0.0), end), role), label)
