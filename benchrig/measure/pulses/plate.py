"""The swash plate: how its servos' lifts raise it and tilt it, and whether four of them agree."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.geometry.directions import Matrix, Vector

ENOUGH: Final = 3
"""Servos that fix a plane."""

_ODD: Final = 0.25  # how far the others may lie apart, of the odd one's distance from them


@dataclass(frozen=True, slots=True, eq=False)
class PlatePose:
    """A plane laid through the servos' lifts, in s of pulse.

    Attributes
    ----------
    lift : float
        Of its middle.
    nose_up, right_up : float
        By how much its nose side and its right side are higher than its middle, at the servos' distance.
    uncertainty : ndarray, shape (3,)
        One standard deviation of the three.
    misfit : float
        Of four servos or more: the largest distance of one from the plane; 0 where three fix it.
    """

    lift: float
    nose_up: float
    right_up: float
    uncertainty: Vector
    misfit: float


def lifting_sense(actuator: Actuator) -> int:
    """Tell what a longer pulse does when the stick asks for lift: +1 it lifts, -1 the reverse, 0 no claim is made."""
    if actuator.drives == "swashplate":
        return 1 if actuator.longer_pulse == "plate up" else -1
    return 1 if actuator.drives == "rotor" else 0


def plate_matrix(azimuths: Vector) -> Matrix:
    """Give how high each servo stands for a unit of lift, of nose side up and of right side up.

    Parameters
    ----------
    azimuths : ndarray, shape (K,), rad
        Clockwise from the nose, seen from above.

    Returns
    -------
    ndarray, shape (K, 3)
        Row i is (1, cos psi, sin psi): the height of a plane above the servo.
    """
    return np.column_stack([np.ones(len(azimuths)), np.cos(azimuths), np.sin(azimuths)])


def plate_pose(lifts: Vector, uncertainties: Vector, azimuths: Vector) -> PlatePose | None:
    """Lay a plane through the lifts.

    Parameters
    ----------
    lifts, uncertainties : ndarray, shape (K,), s
        How much further up each servo moves the plate, in pulse.
    azimuths : ndarray, shape (K,), rad

    Returns
    -------
    PlatePose or None
        None where the servos fix no plane.

    Examples
    --------
    >>> at = np.radians([0.0, 120.0, 240.0])
    >>> pose = plate_pose(np.array([100.0, 100.0, 100.0]), np.ones(3), at)
    >>> round(pose.lift), round(pose.nose_up), round(pose.right_up)
    (100, 0, 0)
    """
    matrix = plate_matrix(azimuths)
    if np.linalg.matrix_rank(matrix, tol=1e-6) < ENOUGH:
        return None
    inverse = np.linalg.pinv(matrix)
    pose = inverse @ lifts
    spread = np.sqrt(inverse**2 @ uncertainties**2)
    misfit = float(np.abs(lifts - matrix @ pose).max())
    return PlatePose(float(pose[0]), float(pose[1]), float(pose[2]), spread, misfit if len(lifts) > ENOUGH else 0.0)


def agreements(azimuths: Vector) -> Matrix:
    """Give the sums that the lifts of four or more servos must keep at zero, or the plate binds.

    Returns
    -------
    ndarray, shape (K - 3, K)
        Rows scaled so that the largest entry is 1; for four servos at right angles (1, -1, 1, -1).
    """
    matrix = plate_matrix(azimuths)
    _, sizes, rows = np.linalg.svd(matrix.T)
    null = rows[int((sizes > 1e-9).sum()) :]  # noqa: PLR2004 - what the arithmetic leaves of zero
    null = null / np.abs(null).max(axis=1, keepdims=True)
    # the first servo that counts stands with a plus
    first = np.argmax(np.abs(null) > 1e-6, axis=1)  # noqa: PLR2004 - what the arithmetic leaves of zero
    scaled: Matrix = null * np.sign(null[np.arange(len(null)), first])[:, None]
    return scaled


def odd_one_out(lifts: Sequence[float]) -> int | None:
    """Name the servo whose lift differs where all should be alike; None where that is no single one.

    Examples
    --------
    >>> odd_one_out([100.0, 98.0, 101.0, -99.0]), odd_one_out([100.0, -100.0, 100.0, -100.0])
    (3, None)
    """
    values = np.asarray(lifts, dtype=np.float64)
    middle = float(np.median(values))
    furthest = int(np.argmax(np.abs(values - middle)))
    others = np.delete(values, furthest)
    off = abs(values[furthest] - others.mean())
    return furthest if np.ptp(others) < _ODD * off else None
