"""Integrating body rates to the turn they add up to."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import multiply, quaternion_from_vector, vector_from_quaternion

LONGEST_EXACT_TURN: Final = np.radians(280.0)
"""rad: beyond this the end of a turn says too little of its axis."""

_TINY: Final = 1e-12  # rad: below this an angle has no axis


def chain(steps: Vector) -> Vector:
    """Multiply a run of quaternions in order, by halves: ``q0 ⊗ q1 ⊗ … ⊗ q(N-1)``.

    Parameters
    ----------
    steps : ndarray, shape (N, 4)

    Returns
    -------
    ndarray, shape (4,)
        The identity for an empty run.
    """
    if not len(steps):
        return np.array([1.0, 0.0, 0.0, 0.0])
    while len(steps) > 1:
        rest = steps[len(steps) - len(steps) % 2 :]
        steps = np.concatenate([multiply(steps[: len(steps) - len(rest) : 2], steps[1 : len(steps) : 2]), rest])
    product_: Vector = steps[0] / np.linalg.norm(steps[0])
    return product_


def net_rotation(angular_rate: Vector, step: float) -> Vector:
    """Integrate body rates to the net rotation: the shortest rotation vector, in the axes at the start.

    Parameters
    ----------
    angular_rate : ndarray, shape (N, 3), rad/s
        At even steps; integrated by the trapezoid rule from the first sample to the last.
    step : float, s

    Returns
    -------
    ndarray, shape (3,), rad
        At most half a turn.
    """
    return vector_from_quaternion(chain(quaternion_from_vector(_increments(angular_rate, step))))


def net_turn(angular_rate: Vector, step: float) -> Vector:
    """Integrate body rates to the net turn, followed through half and full turns.

    Of all rotation vectors with the same end, the one nearest to the plain integral of the rate is given, so that a
    yaw of 270° to the right never reads as 90° to the left. Near a full turn the end no longer shows an axis: beyond
    `LONGEST_EXACT_TURN` the plain integral itself is given.

    Parameters
    ----------
    angular_rate : ndarray, shape (N, 3), rad/s
    step : float, s

    Returns
    -------
    ndarray, shape (3,), rad

    Examples
    --------
    >>> rate = np.tile([0.0, 0.0, np.radians(90.0)], (301, 1))
    >>> np.degrees(net_turn(rate, 0.01)).round(6).tolist()
    [0.0, 0.0, 270.0]
    """
    plain: Vector = _increments(angular_rate, step).sum(axis=0)
    if np.linalg.norm(plain) > LONGEST_EXACT_TURN:
        return plain
    shortest = net_rotation(angular_rate, step)
    angle = float(np.linalg.norm(shortest))
    if angle < _TINY:
        return shortest
    axis = shortest / angle
    turns = np.round((plain @ axis - angle) / (2 * np.pi))
    result: Vector = (angle + 2 * np.pi * turns) * axis
    return result


def _increments(angular_rate: Vector, step: float) -> Vector:
    return 0.5 * (angular_rate[1:] + angular_rate[:-1]) * step
