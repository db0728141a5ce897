"""The accelerometer's own errors from still poses, whose sizes must all be gravity's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.sensor.parameters import Belief, Fit, fit_parameters
from benchrig.measure.sensor.poses import Pose

STEADY: Final = 0.2e-3 * STANDARD_GRAVITY
"""m/s²: what a consumer unit's bias wanders within minutes, at least (from memory)."""

CROSS_BEFORE: Final = 0.02
"""Cross-talk that a unit may have before it is measured, as a standard deviation: data sheets of consumer units say
±2 % at most (PS-MPU-6000A-00 rev. 3.4, p. 13), and a unit that is measured may be worse than its sheet."""

WORST_FIT: Final = 0.005 * STANDARD_GRAVITY
"""m/s² rms: poses that disagree by more were not still, or the unit is not linear."""

TOLD_BIAS: Final = 0.008 * STANDARD_GRAVITY
TOLD_SCALE: Final = 0.008
TOLD_CROSS: Final = 0.004
"""A value whose standard deviation is larger than this (m/s², and parts of one) cannot be told."""

PAIRS: Final = ((0, 1), (0, 2), (1, 2))
"""Axes that a cross-talk is between."""

_BIAS_BEFORE: Final = 0.5 * STANDARD_GRAVITY
_SCALE_BEFORE: Final = 0.3
_FAR_OFF: Final = 1.25


@dataclass(frozen=True, slots=True, eq=False)
class AccelerometerFit:
    """What the poses say: true = matrix @ (read - bias), in sensor axes.

    Attributes
    ----------
    size : float
        What the readings' common size was divided by before all else: 1 unless a unit or a range is plainly wrong.
    bias : ndarray, shape (3,), m/s²
    matrix : ndarray, shape (3, 3)
        Symmetric: what a common rotation would add is a matter of the mounting.
    parameters : Fit
        Of bias (m/s²), the matrix's diagonal less one, and its elements xy, xz, yz; the size taken out.
    misfit : float, m/s² rms
        By which the sizes of the poses differ after calibration.
    poses : int
    """

    size: float
    bias: Vector
    matrix: Matrix
    parameters: Fit
    misfit: float
    poses: int

    @property
    def gain(self) -> Matrix:
        """From true to read, shape (3, 3): off its diagonal stands the cross-talk; symmetric."""
        return np.asarray(np.linalg.inv(self.matrix), dtype=np.float64)

    @property
    def scale(self) -> Vector:
        """How strongly each axis reads a force along its own direction, shape (3,): 1 for a right one."""
        return np.asarray(np.linalg.norm(self.gain, axis=1), dtype=np.float64)

    @property
    def bias_uncertainty(self) -> Vector:
        """One standard deviation, shape (3,), m/s²."""
        return self.size * self.parameters.uncertainty[:3]

    @property
    def scale_uncertainty(self) -> Vector:
        """One standard deviation of the scale over the size, shape (3,)."""
        return self.parameters.uncertainty[3:6]

    @property
    def cross_uncertainty(self) -> Vector:
        """One standard deviation of the cross-talk xy, xz, yz, shape (3,)."""
        return self.parameters.uncertainty[6:9]

    @property
    def fits(self) -> bool:
        """Whether the poses agree on one gravity."""
        return self.misfit <= WORST_FIT * self.size


def fit_accelerometer(poses: Sequence[Pose]) -> AccelerometerFit | None:
    """Find bias, scale and cross-talk under which every pose reads the same gravity.

    Directions are not used, so no pose has to be square to the table: a hand lays an airframe down to a few degrees,
    and a misplaced pose must not pass for cross-talk.

    Parameters
    ----------
    poses : sequence of Pose

    Returns
    -------
    AccelerometerFit or None
        None without a pose. With few poses the prior knowledge shows in the uncertainties.
    """
    if not poses:
        return None
    readings = np.array([pose.reading for pose in poses])
    size = _plain_size(readings)
    spread = np.hypot([pose.uncertainty / size for pose in poses], STEADY)
    readings = readings / size

    def residuals(parameters: Vector) -> Vector:
        true = (readings - parameters[:3]) @ matrix_of(parameters)
        return np.asarray((np.linalg.norm(true, axis=1) - STANDARD_GRAVITY) / spread)

    found = fit_parameters(residuals, PRIOR)
    misfit = size * float(np.sqrt(np.mean((residuals(found.value) * spread) ** 2)))
    matrix = matrix_of(found.value) / size
    return AccelerometerFit(size, size * found.value[:3], matrix, found, misfit, len(poses))


def matrix_of(parameters: Vector) -> Matrix:
    """Build the symmetric matrix of the parameters of an `AccelerometerFit`."""
    matrix = np.diag(1.0 + parameters[3:6])
    for value, (row, column) in zip(parameters[6:9], PAIRS, strict=True):
        matrix[row, column] = matrix[column, row] = value
    return matrix


PRIOR: Final = Belief.independent(np.zeros(9), np.repeat([_BIAS_BEFORE, _SCALE_BEFORE, CROSS_BEFORE], 3))
"""What is taken for granted of a unit before its poses are seen."""


def _plain_size(readings: Vector) -> float:
    """Tell a wrong unit or range, before anything fine is fitted: the readings' size over gravity's, or 1."""
    size = float(np.median(np.linalg.norm(readings, axis=1))) / STANDARD_GRAVITY
    return size if not 1 / _FAR_OFF < size < _FAR_OFF else 1.0
