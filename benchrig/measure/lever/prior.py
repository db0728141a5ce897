"""What a data sheet or common practice says of a unit and a table before they are measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Calibration
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.lever import model
from benchrig.measure.lever.model import ACCELEROMETER, DELAY, GYRO, OWN, PLACE, SHARED, SQUARENESS
from benchrig.signals.body import BoolArray

GRAVITY_SPREAD: Final = 0.015
"""m/s²: of gravity from place to place; pole and equator differ by 0.052 (WGS 84 normal gravity), a rectangle."""

SCALE: Final = 0.010
CROSS: Final = 0.007
"""Of a consumer unit's channels: a third of the ±3 % and ±2 % of a data sheet (PS-MPU-6000A-00 rev. 3.4, pp. 12-13)."""
UNSHOWN: Final = 0.030
"""Of a gyro's scale that nothing else bears out: the whole ±3 % of the same data sheet is taken as one standard
deviation, for here a wrong one shows nowhere."""
CALIBRATED: Final = 0.002
"""Of a channel whose scale is declared under [calibration] (common practice, no published source)."""
BIAS: Final = 1.0
"""m/s²: of an accelerometer (the same data sheet: ±50 to ±80 mg; cheap units show more)."""
LARGEST_DELAY: Final = 0.003
"""s, one standard deviation: between gyro and accelerometer of one unit (common practice, no published source)."""
SQUARE: Final = np.radians(1.0)
"""rad: of a unit glued down by eye along an edge (common practice, no published source)."""
LEVEL: Final = np.radians(0.3)
"""rad: between the table's axis and the airframe's down, where it stands level (common practice, no source)."""
BEARING: Final = np.radians(0.03)
"""rad: by which a table's axis tilts when it starts to turn (common practice, no published source)."""
DRIFT: Final = np.radians(0.02)
"""rad/s: by which a gyro's bias differs from its reading at rest (common practice, no published source)."""
SPEED: Final = 0.005
"""Of a table's stated speed; IEC 60098:2020 cl. 5.6 asks ±0.5 % of the recording."""


@dataclass(frozen=True, slots=True, eq=False)
class Beforehand:
    """What is held before the readings are looked at.

    Attributes
    ----------
    place, spread : ndarray, shape (3,), m
        Where the sensor is expected, and how loosely.
    calibration : Calibration or None
        What was declared, and is already applied.
    size_error : float
        By how much the reading at rest is off one g.
    gyro : ndarray, shape (3, 3)
        First guess of the gyro's errors: a start, that nothing is held to.
    gyro_held : ndarray, shape (3,), bool
        Body axes along which nothing but the gyro shows how fast it turned. Its scale is held there, and its doubt
        counted afterwards: readings that show nothing of it would be fitted to noise.
    """

    place: Vector
    spread: Vector
    calibration: Calibration | None
    size_error: float
    gyro: Matrix
    gyro_held: BoolArray


def standard_deviations(count: int, beforehand: Beforehand) -> Vector:
    """Give how uncertain every unknown is before the readings are looked at.

    Parameters
    ----------
    count : int
        Of stands.
    beforehand : Beforehand

    Returns
    -------
    ndarray, shape (SHARED + OWN * count,)
        SI units.
    """
    one = np.full((3, 3), CROSS)
    np.fill_diagonal(one, SCALE)
    accelerometer, gyro, calibration = one.copy(), one.copy(), beforehand.calibration
    # a reading at rest that is off by more than a scale of ±3 % makes it is a doubt about the scale of every axis
    np.fill_diagonal(accelerometer, np.hypot(SCALE, max(beforehand.size_error - 3 * SCALE, 0.0)))
    if calibration is not None and calibration.accelerometer_matrix is not None:
        accelerometer[:] = CALIBRATED
    if calibration is not None and calibration.gyro_scale is not None:
        np.fill_diagonal(gyro, CALIBRATED)
    np.fill_diagonal(gyro, np.where(beforehand.gyro_held, CALIBRATED, np.diag(gyro)))
    prior = np.empty(SHARED + OWN * count)
    prior[PLACE], prior[SQUARENESS], prior[DELAY] = beforehand.spread, SQUARE, LARGEST_DELAY
    prior[ACCELEROMETER], prior[GYRO] = accelerometer.ravel(), gyro.ravel()
    for k in range(count):
        prior[model.own(k)] = np.repeat([2 * STANDARD_GRAVITY, BIAS, BEARING * STANDARD_GRAVITY, DRIFT], 3)
    return prior
