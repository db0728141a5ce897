"""What a pulse does to the airframe, from a force at a point or a reaction torque.

This is the simulation's own reasoning, written apart from the table the judge works with: every effect is the moment
``r × F`` of the force that the move adds, or the reaction of the airframe to a torque. Places need only be right in
sign: ahead or behind, left or right, above or below the centre of gravity.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator, Sense
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector

_SQUARE: Final = np.sqrt(0.5)
_SURFACES: Final[Mapping[str, tuple[tuple[float, float, float], tuple[float, float, float], str]]] = {
    # place of the surface; way its trailing edge can go; the word for that way
    "left aileron": ((0.0, -1.0, 0.0), (0.0, 0.0, -1.0), "trailing edge up"),
    "right aileron": ((0.0, 1.0, 0.0), (0.0, 0.0, -1.0), "trailing edge up"),
    "elevator": ((-1.0, 0.0, 0.0), (0.0, 0.0, -1.0), "trailing edge up"),
    "rudder": ((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), "trailing edge right"),
    "left elevon": ((-1.0, -1.0, 0.0), (0.0, 0.0, -1.0), "trailing edge up"),
    "right elevon": ((-1.0, 1.0, 0.0), (0.0, 0.0, -1.0), "trailing edge up"),
    # the upper side of each half of an upright V faces up and inward
    "left v-tail": ((-1.0, 0.0, 0.0), (0.0, _SQUARE, -_SQUARE), "trailing edge up"),
    "right v-tail": ((-1.0, 0.0, 0.0), (0.0, -_SQUARE, -_SQUARE), "trailing edge up"),
}
_MAST: Final = np.array([0.0, 0.0, -1.0])
_TURNED_ROUND: Final = {"up": "down", "left": "right", "more": "less"}


def moment(place: Vector, force: Vector) -> Vector:
    """Give the moment of a force at a place, by components.

    Parameters
    ----------
    place, force : ndarray, shape (3,)
        Forward, right, down.

    Returns
    -------
    ndarray, shape (3,)
        Roll right, nose up, nose right.

    Examples
    --------
    >>> moment(np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])).tolist()    # the right wing pressed down
    [1.0, 0.0, 0.0]
    """
    forward, right, down = place
    along, across, below = force
    return np.array([right * below - down * across, down * along - forward * below, forward * across - right * along])


def corrective_effect(actuator: Actuator, airframe: Airframe, plate_turned: float = 0.0) -> Vector:
    """Give the turning that a longer pulse of `actuator` adds, scaled so that its largest part is 1.

    Parameters
    ----------
    plate_turned : float, rad
        By which the unit believes the plate's servos to stand further clockwise than declared.

    Returns
    -------
    ndarray, shape (3,)
        Roll right, nose up, nose right.
    """
    if actuator.drives == "swashplate":
        effect = _plate(actuator, airframe, plate_turned)
    elif actuator.drives == "tail rotor":
        effect = _tail(actuator.longer_pulse, airframe)
    elif actuator.drives == "rotor":
        effect = _rotor(actuator)
    elif actuator.drives in _SURFACES:
        effect = _surface(actuator)
    else:
        effect = np.array(actuator.effect)
    size = np.abs(effect).max()
    return effect / size if size > 0 else effect


def _plate(actuator: Actuator, airframe: Airframe, plate_turned: float) -> Vector:
    """Tilt the rotor's thrust away from the side that rises; it pulls at the top of the mast."""
    rotor_sign, lead = 1.0, 0.0
    if airframe.rotor is not None:
        rotor_sign, lead = _clockwise_sign(airframe.rotor.turns), airframe.rotor.plate_lead
    azimuth = (actuator.azimuth or 0.0) + plate_turned
    # the plate leads the disc in the rotor's sense, so the disc follows behind it
    disc = azimuth - rotor_sign * lead
    away = np.array([-np.cos(disc), -np.sin(disc), 0.0])
    lifted = 1.0 if actuator.longer_pulse == "plate up" else -1.0
    return lifted * moment(_MAST, away)


def _tail(word: str, airframe: Airframe) -> Vector:
    if word in ("nose left", "nose right"):
        return np.array([0.0, 0.0, 1.0 if word == "nose right" else -1.0])
    if airframe.rotor is None:
        message = "the effect of a tail rotor's thrust follows from the main rotor's sense, which is not declared"
        raise ValueError(message)
    # the motor that drives the rotor one way pushes the airframe the other way, and the tail's thrust holds against it
    reaction = -_clockwise_sign(airframe.rotor.turns)
    thrust = 1.0 if word == "more thrust" else -1.0
    return np.array([0.0, 0.0, -reaction * thrust])


def _rotor(actuator: Actuator) -> Vector:
    place = np.zeros(3) if actuator.position is None else np.array([actuator.position[0], actuator.position[1], 0.0])
    reach = np.sqrt(place @ place)
    levered = moment(place / reach if reach > 0 else place, np.array([0.0, 0.0, -1.0]))
    reaction = -_clockwise_sign(actuator.turns or "clockwise")
    total: Vector = levered + np.array([0.0, 0.0, reaction])
    return total if actuator.longer_pulse != "less thrust" else -total


def _surface(actuator: Actuator) -> Vector:
    """Push the surface against the way its trailing edge goes: the air is thrown that way."""
    place, way, word = _SURFACES[actuator.drives]
    effect = moment(np.array(place), -np.array(way))
    return effect if actuator.longer_pulse == word else -effect


def _clockwise_sign(turns: Sense) -> float:
    """Give the sign about z down of a turn seen from above."""
    return 1.0 if turns == "clockwise" else -1.0


def lifts(actuator: Actuator) -> float:
    """Tell which way a longer pulse lifts the airframe: +1 more, -1 less, 0 not at all.

    A plate that goes up pitches all blades up; a lifting rotor pulls more with more thrust.
    """
    if actuator.drives not in ("swashplate", "rotor"):
        return 0.0
    return 1.0 if actuator.longer_pulse in ("plate up", "more thrust") else -1.0


def other_way(word: str) -> str:
    """Name the move opposite to an actuator's word.

    Examples
    --------
    >>> other_way("trailing edge down")
    'trailing edge up'
    """
    pairs = _TURNED_ROUND | {after: before for before, after in _TURNED_ROUND.items()}
    return " ".join(pairs.get(part, part) for part in word.split())
