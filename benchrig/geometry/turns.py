"""Words for the turns an operator is asked for, and the body axis and sign of each.

Rates p, q, r about x forward, y right, z down are positive for right side down, nose up, nose right
(ISO 1151-1; AIAA R-004-1992 as cited by DAVE-ML, "Common sign convention notation").
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector

TURNS: Final[Mapping[str, tuple[int, int]]] = {
    "nose up": (1, 1),
    "nose down": (1, -1),
    "roll right": (0, 1),
    "roll left": (0, -1),
    "yaw right": (2, 1),
    "yaw left": (2, -1),
    "turntable clockwise": (2, 1),
    "turntable counter-clockwise": (2, -1),
}
"""Body axis (0 roll, 1 pitch, 2 yaw) and sign of each motion that claims a direction."""

REQUIRED_TURNS: Final = ("nose up", "nose down", "roll right", "roll left", "yaw right", "yaw left")

POSES: Final[Mapping[str, tuple[int, int]]] = {
    "level": (2, 1),
    "inverted": (2, -1),
    "on nose": (0, 1),
    "on tail": (0, -1),
    "on left side": (1, -1),
    "on right side": (1, 1),
}
"""Body axis, and its sign, that points down in each static attitude: the named part is down."""

PULSE_STEPS: Final = ("collective up", "sweep", "switch", "transmitter off", "transmitter on")
"""What is done with the transmitter, and not with the airframe."""

MOTIONS: Final = (
    "level",
    *TURNS,
    "free",
    *(pose for pose in POSES if pose != "level"),
    "level turn",
    "tilted turn",
    "hang",
    "swing",
    *PULSE_STEPS,
)
"""Every word for what was done: turns, poses, turns about the vertical for the compass, hanging, and pulse steps."""

RATE_NAMES: Final = ("p", "q", "r")
AXIS_NAMES: Final = ("roll", "pitch", "yaw")


def turn_axis(motion: str) -> Vector:
    """Give the unit vector, in body axes, about which `motion` turns the airframe by the right-hand rule.

    Returns
    -------
    ndarray, shape (3,)

    Examples
    --------
    >>> turn_axis("nose down").tolist()
    [0.0, -1.0, 0.0]
    """
    axis, sign = TURNS[motion]
    vector = np.zeros(3)
    vector[axis] = sign
    return vector


def turn_word(axis: int, sign: int) -> str:
    """Name the hand motion about a body axis.

    Examples
    --------
    >>> turn_word(2, 1)
    'yaw right'
    """
    return next(word for word, known in TURNS.items() if known == (axis, sign))
