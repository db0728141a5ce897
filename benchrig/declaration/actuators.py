"""What each kind of actuator does to the airframe when it moves, in words and as a turning effect.

An effect is (roll right, nose up, nose right): the sense in which the airframe turns. Only signs and proportions
mean anything. Sources for the senses: DAVE-ML sign convention list and ISO 1151 (surfaces), the geometry of a plane
(plate), the reaction of a driven rotor (multirotor), FAA-H-8083-21 p. 4-4 (tail rotor, mirrored for the other sense).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Vector

Sense = Literal["clockwise", "counter-clockwise"]

PLATE_WORDS: Final = ("plate up", "plate down")
TAIL_WORDS: Final = ("nose left", "nose right", "more thrust", "less thrust")
ROTOR_WORDS: Final = ("more thrust", "less thrust")
UP_DOWN: Final = ("trailing edge up", "trailing edge down")
LEFT_RIGHT: Final = ("trailing edge left", "trailing edge right")

SURFACES: Final[Mapping[str, tuple[tuple[str, str], tuple[float, float, float]]]] = {
    "left aileron": (UP_DOWN, (-1.0, 0.0, 0.0)),
    "right aileron": (UP_DOWN, (1.0, 0.0, 0.0)),
    "elevator": (UP_DOWN, (0.0, 1.0, 0.0)),
    "rudder": (LEFT_RIGHT, (0.0, 0.0, -1.0)),
    "left elevon": (UP_DOWN, (-1.0, 1.0, 0.0)),
    "right elevon": (UP_DOWN, (1.0, 1.0, 0.0)),
    "left v-tail": (UP_DOWN, (0.0, 1.0, 1.0)),
    "right v-tail": (UP_DOWN, (0.0, 1.0, -1.0)),
}
"""The two words of each surface, and the effect of the first of them."""

DRIVES: Final[Mapping[str, tuple[str, ...]]] = {
    "swashplate": PLATE_WORDS,
    "tail rotor": TAIL_WORDS,
    "rotor": ROTOR_WORDS,
    "other": (),
    **{name: words for name, (words, _) in SURFACES.items()},
}
"""Every word `drives` may take, with the words for the ways it can move."""

DRIVES_OF_KIND: Final[Mapping[str, tuple[str, ...]]] = {
    "helicopter": ("swashplate", "tail rotor", "other"),
    "aeroplane": (*SURFACES, "other"),
    "multirotor": ("rotor", "other"),
    "other": tuple(DRIVES),
}


@dataclass(frozen=True, slots=True, eq=False)
class Actuator:
    """One declared servo or motor.

    Attributes
    ----------
    name : str
    drives : str
        A key of `DRIVES`.
    longer_pulse : str
        The word for the way a longer pulse moves it; empty for ``drives = "other"``.
    effect : ndarray, shape (3,)
        What a longer pulse does to the airframe: roll right, nose up, nose right positive; its largest part is 1.
    centre : float or None
        Pulse at rest, s.
    lowest, highest : float or None
        The ends of its travel, s.
    azimuth : float or None
        Where it moves the plate: rad clockwise from the nose, seen from above.
    position : ndarray, shape (3,), m, or None
        Of a rotor, from the centre of gravity, in body axes.
    turns : {"clockwise", "counter-clockwise"} or None
        Of a rotor, seen from above.
    moves : mapping of str to ndarray, shape (3,)
        Every word for a way it can move, with that move's effect: what `seen` entries are read with.
    """

    name: str
    drives: str
    longer_pulse: str
    effect: Vector
    centre: float | None
    azimuth: float | None
    position: Vector | None
    turns: Sense | None
    moves: Mapping[str, Vector]
    lowest: float | None = None
    highest: float | None = None


def scaled(effect: Vector) -> Vector:
    """Scale an effect so that its largest part is 1."""
    size = float(np.abs(effect).max())
    return effect / size if size > 0 else effect


def plate_effect(azimuth: float, lead: float, main_rotor: Sense) -> Vector:
    """Give the effect of lifting the plate at `azimuth`.

    Parameters
    ----------
    azimuth : float, rad
        Clockwise from the nose, seen from above.
    lead : float, rad
        By which the plate's tilt leads the wanted disc tilt, in the rotor's sense.
    main_rotor : {"clockwise", "counter-clockwise"}
        Seen from above.

    Examples
    --------
    >>> plate_effect(np.radians(90.0), 0.0, "clockwise").round(9).tolist()    # right side up: rolls left
    [-1.0, 0.0, 0.0]
    """
    disc = azimuth - lead if main_rotor == "clockwise" else azimuth + lead
    return np.array([-np.sin(disc), np.cos(disc), 0.0])


def tail_effect(word: str, main_rotor: Sense) -> Vector:
    """Give the effect of a tail rotor's move; thrust against the main rotor's reaction turns the nose with the rotor.

    Examples
    --------
    >>> tail_effect("more thrust", "clockwise").tolist()
    [0.0, 0.0, 1.0]
    """
    with_rotor = 1.0 if main_rotor == "clockwise" else -1.0
    yaw = {"nose right": 1.0, "nose left": -1.0, "more thrust": with_rotor, "less thrust": -with_rotor}[word]
    return np.array([0.0, 0.0, yaw])


def rotor_effect(position: Vector, turns: Sense) -> Vector:
    """Give the effect of more thrust from a lifting rotor at `position`, by lever and by reaction torque.

    Roll and pitch are scaled by the rotor's distance from the centre of gravity, so that all three parts compare.
    """
    reach = float(np.hypot(position[0], position[1]))
    arm = position / reach if reach > 0 else np.zeros(3)
    return np.array([-arm[1], arm[0], -1.0 if turns == "clockwise" else 1.0])


def surface_effect(drives: str, word: str) -> Vector:
    """Give the effect of a control surface's move.

    Examples
    --------
    >>> surface_effect("rudder", "trailing edge right").tolist()
    [0.0, 0.0, 1.0]
    """
    words, effect = SURFACES[drives]
    return np.array(effect) if word == words[0] else -np.array(effect) + 0.0
