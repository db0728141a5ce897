"""How an actuator's channel answers a move that is asked of it: rightly, or as a fault has it."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.geometry.directions import Vector
from benchrig.simulation.faults import Faults

END: Final = 0.28
"""Of the centre: where the pulses end."""
_CENTRE_US: Final = 1500.0
_WEAK: Final = 0.02
_BINDS: Final = 0.75


def centre_of(actuator: Actuator) -> float:
    """Give the pulse at rest, µs."""
    return _CENTRE_US if actuator.centre is None else actuator.centre * 1e6


def answered(actuator: Actuator, move: Vector, stop: float, faults: Faults) -> Vector:
    """Give the move that is made of the one asked for, both from the centre.

    Parameters
    ----------
    move : ndarray, shape (N,), µs
    stop : float, µs
        Where moves end without a fault.
    """
    if actuator.name in faults.values("servo-reversed"):
        move = -move
    if actuator.name in faults.values("servo-weak"):
        move = move * _WEAK
    if actuator.name in faults.values("servo-still"):
        move = np.zeros_like(move)
    if actuator.name in faults.values("plate-binds"):
        move = move * _BINDS
    stop = faults.number("servo-stops", stop)
    made: Vector = np.clip(move, -stop, stop)
    return made
