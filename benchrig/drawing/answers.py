"""The way each actuator must go against a disturbance, in its own words and as a picture."""

from __future__ import annotations

from math import pi
from typing import Final

from benchrig.declaration.actuators import DRIVES, Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.drawing.airframes import BOXES, name_label, nose, outline, part, rotor_radius, where
from benchrig.drawing.shapes import Arrow, Picture, Point, Polyline, Role, Shape, arc, away, toward
from benchrig.geometry.turns import TURNS

STILL: Final = "still"
SHOWN: Final = ("nose up", "roll right", "yaw right")
"""The disturbances that are drawn; the opposite ones ask for the opposite answers."""
_NO_EFFECT: Final = 1e-6
"""Below this part of an actuator's largest effect, it has none about that axis."""
_SIGN: Final = 0.085
"""Radius of the signs for up and down."""


def opposite_word(actuator: Actuator) -> str:
    """Give the word for the way a shorter pulse moves an actuator."""
    words = DRIVES[actuator.drives]
    if actuator.longer_pulse not in words:
        return "shorter pulse"
    return words[words.index(actuator.longer_pulse) ^ 1]  # words stand in pairs of opposites


def corrective(actuator: Actuator, motion: str) -> str:
    """Say which way an actuator must go when the airframe is disturbed by `motion`.

    Returns
    -------
    str
        One of its own words, "longer pulse" or "shorter pulse" where it has none, or "still" where it has no effect.
    """
    axis, sign = TURNS[motion]
    effect = float(actuator.effect[axis]) * sign
    if abs(effect) < _NO_EFFECT:
        return STILL
    return (actuator.longer_pulse or "longer pulse") if effect < 0 else opposite_word(actuator)


def answers(airframe: Airframe, motion: str) -> list[tuple[str, str]]:
    """List every actuator with the way it must go."""
    return [(actuator.name, corrective(actuator, motion)) for actuator in airframe.actuators]


def answer_picture(airframe: Airframe, motion: str) -> Picture:
    """Draw the airframe from above, disturbed by `motion`, with every actuator going the corrective way."""
    shapes: list[Shape] = [*outline(airframe), *_disturbance(airframe, motion)]
    for place, actuator in enumerate(airframe.actuators):
        word = corrective(actuator, motion)
        role: Role = "part" if word == STILL else "answer"
        shapes += part(airframe, actuator, place, role)
        shapes += _way(airframe, actuator, place, word)
        shapes.append(name_label(airframe, actuator, place))
    told = "; ".join(f"{name}: {word}" for name, word in answers(airframe, motion))
    return Picture(f"Against {motion}", f"{told}.", tuple(shapes), BOXES[airframe.kind])


def _way(airframe: Airframe, actuator: Actuator, place: int, word: str) -> tuple[Shape, ...]:
    x, y = where(airframe, actuator, place)
    if word == STILL:
        return ()
    if actuator.drives == "elevator":
        x = 0.27  # off the middle, where the rudder is
    if word in {"plate up", "trailing edge up"}:
        return toward((x, y), _SIGN, "answer")
    if word in {"plate down", "trailing edge down"}:
        return away((x, y), _SIGN, "answer")
    if word in {"trailing edge left", "trailing edge right"}:
        side = -1 if word.endswith("left") else 1
        return (Arrow(((x, y - 0.1), (x + side * 0.34, y - 0.1)), "answer"),)
    if actuator.drives == "tail rotor":
        # the nose goes one way because the tail is pushed the other way
        side = 1 if _nose_left(actuator, word) else -1
        return (Arrow(((x, y), (x + side * 0.42, y)), "answer"),)
    return _thrust((x, y), rotor_radius(airframe), more=word in {"more thrust", "longer pulse"})


def _nose_left(actuator: Actuator, word: str) -> bool:
    yaw = float(actuator.effect[2])
    return (yaw if word == actuator.longer_pulse else -yaw) < 0


def _thrust(at: Point, radius: float, *, more: bool) -> tuple[Shape, ...]:
    reach = min(0.4 * radius, 0.09)
    x, y = at[0], at[1] - 0.2 * radius  # below the arrow that shows which way it turns
    across = Polyline(((x - reach, y), (x + reach, y)), "answer")
    upright = Polyline(((x, y - reach), (x, y + reach)), "answer")
    return (across, upright) if more else (across,)


def _disturbance(airframe: Airframe, motion: str) -> tuple[Shape, ...]:
    axis, sign = TURNS[motion]
    tip = nose(airframe)
    left, bottom, right, top = BOXES[airframe.kind]
    if axis == 1:
        up, down = (toward, away) if sign > 0 else (away, toward)
        beside = -0.24 if airframe.kind == "helicopter" else 0.0
        spots: list[tuple[Point, bool]] = [((0.0, top - 0.14), True), ((beside, bottom + 0.12), False)]
        return tuple(s for at, front in spots for s in (up if front else down)(at, 0.1, "motion"))
    if axis == 0:
        up, down = (toward, away) if sign > 0 else (away, toward)
        edge = 0.14
        return (*up((left + edge, 0.0), 0.1, "motion"), *down((right - edge, 0.0), 0.1, "motion"))
    return (Arrow(arc((0.0, 0.0), tip[1] + 0.16, -sign * pi / 9, sign * pi / 4.5), "motion"),)


def disturbance_key(motion: str) -> str:
    """Say what the disturbance looks like, for the picture's caption."""
    axis, sign = TURNS[motion]
    rising, falling = (("left side", "right side"), ("nose", "tail"), ("", ""))[axis][::sign]
    return f"{rising} up (dot), {falling} down (cross)" if rising else f"nose to the {'right' if sign > 0 else 'left'}"
