"""How the simulated sensors are really wired to the airframe: the declared mounting, and what faults make of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import DIRECTIONS, Matrix
from benchrig.simulation.faults import Faults

_MISALIGNMENT_DEG = 0.8
"""Standard deviation an axis of a unit glued down by eye along an edge."""


@dataclass(frozen=True, slots=True, eq=False)
class Wiring:
    """Body from sensor of each sensor as it really is.

    Attributes
    ----------
    gyro, accelerometer : ndarray, shape (3, 3)
        ``gyro @ reading`` is the body rate, ``accelerometer @ reading`` the specific force in body axes (where gravity
        is declared: minus the reading). The determinant is -1 where an axis sign or a swap is wrong.
    magnetometer : ndarray, shape (3, 3), or None
    misalignment : Rotation
        Small turn of the unit on top of the above, in body axes.
    """

    gyro: Matrix
    accelerometer: Matrix
    magnetometer: Matrix | None
    misalignment: Rotation


def wire(airframe: Airframe, faults: Faults, rng: np.random.Generator) -> Wiring:
    """Wire gyro, accelerometer and compass as declared, then put the faults in."""
    declared = np.array(airframe.sensor.body_from_sensor, dtype=np.float64)
    for words in faults.values("mounting"):
        declared = mounting_matrix(words)
    gyro, accelerometer = declared, declared
    for axes in faults.values("both-sign"):
        gyro, accelerometer = gyro @ mirror(axes), accelerometer @ mirror(axes)
    for axes in faults.values("both-swap"):
        gyro, accelerometer = gyro @ exchange(axes), accelerometer @ exchange(axes)
    gyro = _one_sensor(gyro, "gyro", faults)
    accelerometer = _one_sensor(accelerometer, "accelerometer", faults)
    if faults.has("accelerometer-gravity"):
        accelerometer = -accelerometer
    small = np.radians(rng.normal(0.0, _MISALIGNMENT_DEG, 3))
    small[2] += np.radians(faults.number("misaligned", 0.0))
    return Wiring(
        gyro + 0.0, accelerometer + 0.0, _compass(airframe, faults), Rotation.from_rotvec(small)
    )  # + 0.0 turns -0.0 into 0.0, which the truth file would print


def _one_sensor(matrix: Matrix, sensor: str, faults: Faults) -> Matrix:
    for axes in faults.values(f"{sensor}-sign"):
        matrix = matrix @ mirror(axes)
    for axes in faults.values(f"{sensor}-swap"):
        matrix = matrix @ exchange(axes)
    return matrix


def _compass(airframe: Airframe, faults: Faults) -> Matrix | None:
    if airframe.magnetometer is None:
        return None
    matrix = np.array(airframe.magnetometer.body_from_sensor, dtype=np.float64)
    for words in faults.values("magnetometer-mounting"):
        matrix = mounting_matrix(words)
    return _one_sensor(matrix, "magnetometer", faults) + 0.0


def mounting_matrix(words: str) -> Matrix:
    """Build body from sensor out of two or three direction words parted by commas; a third makes it what it says.

    Examples
    --------
    >>> mounting_matrix("aft, left").tolist()
    [[-1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0]]
    """
    matrix = np.zeros((3, 3))
    named = [DIRECTIONS[word.strip()] for word in words.split(",")]
    for column, (axis, sign) in enumerate(named):
        matrix[axis, column] = sign
    if len(named) == 2:  # noqa: PLR2004 - two axes fix the third
        # the free place of a signed permutation, with the sign that makes its determinant +1
        free = next(axis for axis in range(3) if axis not in {axis for axis, _ in named})
        matrix[free, 2] = 1.0
        matrix[free, 2] = np.round(np.linalg.det(matrix))
    return matrix


def mirror(axes: str) -> Matrix:
    """Turn the sign of the sensor axes named, such as ``xz``."""
    return np.diag([-1.0 if axis in axes else 1.0 for axis in "xyz"])


def exchange(axes: str) -> Matrix:
    """Swap the two sensor axes named, such as ``xy``."""
    order = ["xyz".index(axis) for axis in "xyz"]
    first, second = ("xyz".index(axis) for axis in axes)
    order[first], order[second] = order[second], order[first]
    result: Matrix = np.eye(3)[order]
    return result
