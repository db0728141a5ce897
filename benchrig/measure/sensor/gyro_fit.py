"""The gyro's matrix under which it carries gravity from pose to pose and turns with a table of known speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.attitude.gyro import running_product
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.geometry.rotations import matrix_from_quaternion, matrix_from_vector, quaternion_from_vector
from benchrig.measure.sensor.accelerometer import CROSS_BEFORE, PRIOR, AccelerometerFit, matrix_of
from benchrig.measure.sensor.gyro_turns import Carry
from benchrig.measure.sensor.parameters import Belief, Fit, fit_parameters
from benchrig.measure.sensor.table_turns import Spin

TOLD: Final = 0.015
"""A scale whose standard deviation is larger cannot be told."""

WORST_FIT: Final = np.radians(3.0)
"""rad rms: between gravity as read and as the gyro carries it; beyond it the two sensors do not tell one story."""

_TRIALS: Final = (np.pi / 180, *np.geomspace(0.25, 4.0, 57).tolist(), 180 / np.pi)
_GOOD_RMS: Final = np.radians(4.0)
_SCALE_BEFORE: Final = 0.2
_AXES_BEFORE: Final = 0.015  # its own cross-talk, and two chips not quite parallel
_WORST_AXES: Final = 0.08
_BIAS_BEFORE: Final = 0.1 * STANDARD_GRAVITY
_GAIN_BEFORE: Final = 0.03
_ROUNDS: Final = 5
_CONVERGED: Final = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class GyroFit:
    """What the turns say: true rate = matrix @ (read - bias), in sensor axes.

    Attributes
    ----------
    matrix : ndarray, shape (3, 3)
    parameters : Fit
        The matrix's nine elements, row by row, then the accelerometer's nine.
    misses : ndarray, shape (C,), rad
        Between gravity as read after each turn and as the gyro carries it there.
    as_read : ndarray, shape (C,), rad
        The same with the gyro's readings as they are.
    spins : int
    """

    matrix: Matrix
    parameters: Fit
    misses: Vector
    as_read: Vector
    spins: int

    @property
    def carries(self) -> int:
        """Turns between still poses."""
        return len(self.misses)

    @property
    def misfit(self) -> float:
        """Of the misses, rad rms."""
        return float(np.sqrt(np.mean(self.misses**2))) if len(self.misses) else 0.0

    @property
    def scale(self) -> Vector:
        """Factors for the readings, shape (3,): one over how strongly each axis reads a turn along its own direction.

        Which way that direction points against the accelerometer's axes does not enter.
        """
        return np.asarray(1 / np.linalg.norm(np.linalg.inv(self.matrix), axis=1), dtype=np.float64)

    @property
    def uncertainty(self) -> Vector:
        """One standard deviation of the factors, shape (3,)."""
        return self.parameters.uncertainty[[0, 4, 8]]

    @property
    def fits(self) -> bool:
        """Whether gyro and gravity tell one story, with no more cross-talk than a unit in one piece can have."""
        crossed = np.abs(self.matrix - np.diag(np.diag(self.matrix))).max() / self.scale.mean()
        return bool(self.misfit <= WORST_FIT and crossed <= _WORST_AXES)


def fit_gyro(carries: Sequence[Carry], spins: Sequence[Spin], accelerometer: AccelerometerFit | None) -> GyroFit | None:
    """Find the matrix under which the gyro carries gravity from pose to pose and turns with the table.

    Parameters
    ----------
    carries : sequence of Carry
    spins : sequence of Spin
    accelerometer : AccelerometerFit or None
        Its errors, with their uncertainty, are taken out of gravity's direction.

    Returns
    -------
    GyroFit or None
        None where there is neither a carry nor a spin.
    """
    if not carries and not spins:
        return None
    forces, size = _accelerometer_belief(accelerometer)
    carries = [replace(carry, before=carry.before / size, after=carry.after / size) for carry in carries]
    common = _common_size(carries, spins, forces.value)
    axes = common * np.where(np.eye(3, dtype=np.bool_), _SCALE_BEFORE, _AXES_BEFORE)
    before = Belief.independent((common * np.eye(3)).ravel(), axes.ravel())
    nothing = np.zeros((9, 9))
    prior = Belief(
        np.concatenate([before.value, forces.value]),
        np.block([[before.precision, nothing], [nothing, forces.precision]]),
    )
    matrix = common * np.eye(3)
    for _ in range(_ROUNDS):
        found = _fit_about(matrix, carries, spins, prior)
        moved = np.abs(found.value[:9].reshape(3, 3) - matrix).max()
        matrix = found.value[:9].reshape(3, 3)
        if moved < _CONVERGED * common:
            break
    misses, as_read = (_misses(carries, m, found.value[9:]) for m in (matrix, np.eye(3)))
    return GyroFit(matrix, found, misses, as_read, len(spins))


def _fit_about(matrix: Matrix, carries: Sequence[Carry], spins: Sequence[Spin], prior: Belief) -> Fit:
    """Fit with every carry integrated at `matrix`, and its end linear in what differs from it."""
    lines = _Lines.about(carries, matrix)
    rates = np.array([spin.rate for spin in spins]).reshape(-1, 3)
    speeds, spreads = (np.array(column) for column in ([s.speed for s in spins], [s.uncertainty for s in spins]))

    def residuals(parameters: Vector) -> Vector:
        guess = parameters[:9].reshape(3, 3)
        sizes = (np.linalg.norm(rates @ guess.T, axis=1) / speeds - 1) / spreads
        return np.concatenate([lines.differences(guess, parameters[9:]).ravel(), sizes])

    return fit_parameters(residuals, prior)


def _accelerometer_belief(fit: AccelerometerFit | None) -> tuple[Belief, float]:
    """Join what the poses said with what data sheets say, which matters where the poses were few."""
    usual = Belief.independent(np.zeros(9), np.repeat([_BIAS_BEFORE, _GAIN_BEFORE, CROSS_BEFORE], 3))
    if fit is None:
        return usual, 1.0
    told = np.linalg.inv(fit.parameters.covariance) - PRIOR.precision
    precision = np.asarray(told + usual.precision, dtype=np.float64)
    value = np.asarray(np.linalg.solve(precision, (told + PRIOR.precision) @ fit.parameters.value), dtype=np.float64)
    return Belief(value, 0.5 * (precision + precision.T)), fit.size


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Carries integrated once, and how their ends depend on the matrix: nothing is integrated within a fit.

    Attributes
    ----------
    matrix : ndarray, shape (3, 3)
        With which they were integrated.
    end_from_start : ndarray, shape (C, 3, 3)
    slope : ndarray, shape (C, 3, 3, 3)
        Turn in the start's axes, by row and column of the matrix.
    across : ndarray, shape (C, 2, 3)
        The two directions in which gravity's direction can differ, over the uncertainty.
    before, after : ndarray, shape (C, 3), m/s²
    """

    matrix: Matrix
    end_from_start: Matrix
    slope: Vector
    across: Matrix
    before: Vector
    after: Vector

    @classmethod
    def about(cls, carries: Sequence[Carry], matrix: Matrix) -> _Lines:
        ends, slopes, across = np.zeros((0, 3, 3)), np.zeros((0, 3, 3, 3)), np.zeros((0, 2, 3))
        if carries:
            integrated = [_integrated(carry, matrix) for carry in carries]
            ends, slopes = (np.array(column) for column in zip(*integrated, strict=True))
            across = np.array([np.linalg.svd(c.after[None, :])[2][1:] / c.uncertainty for c in carries])
        before, after = (np.array([getattr(c, side) for c in carries]).reshape(-1, 3) for side in ("before", "after"))
        return cls(matrix, ends, slopes, across, before, after)

    def carried(self, matrix: Matrix, forces: Vector) -> tuple[Vector, Vector]:
        """Give gravity's direction at the ends as the gyro carries it there and as it is read, shape (C, 3) each."""
        turn = np.einsum("caij,ij->ca", self.slope, matrix - self.matrix)
        at_start = np.einsum("cji,cj->ci", matrix_from_vector(turn), _ways(self.before, forces))
        return np.einsum("cij,cj->ci", self.end_from_start, at_start), _ways(self.after, forces)

    def differences(self, matrix: Matrix, forces: Vector) -> Vector:
        """Give by how much the two differ, shape (C, 2), in standard deviations."""
        carried, seen = self.carried(matrix, forces)
        return np.asarray(np.einsum("cij,cj->ci", self.across, carried - seen))


def _integrated(carry: Carry, matrix: Matrix) -> tuple[Matrix, Vector]:
    middle = 0.5 * (carry.rate[1:] + carry.rate[:-1]) * carry.step
    path = matrix_from_quaternion(running_product(quaternion_from_vector(middle @ matrix.T)))
    before = np.concatenate([np.eye(3)[None], path[:-1]])
    return path[-1].T, np.einsum("kai,kj->aij", 0.5 * (before + path), middle)


def _ways(readings: Vector, forces: Vector) -> Vector:
    true = (readings - forces[:3]) @ matrix_of(forces)
    return np.asarray(true / np.linalg.norm(true, axis=1, keepdims=True))


def _misses(carries: Sequence[Carry], matrix: Matrix, forces: Vector) -> Vector:
    carried, seen = _Lines.about(carries, matrix).carried(matrix, forces)
    across = np.linalg.norm(np.cross(carried, seen), axis=1)
    return np.asarray(np.arctan2(across, np.sum(carried * seen, axis=1)))


def _common_size(carries: Sequence[Carry], spins: Sequence[Spin], forces: Vector) -> float:
    """Tell a wrong unit or range before anything fine is fitted."""
    if not carries:
        return float(np.median([s.speed / np.linalg.norm(s.rate) for s in spins]))

    def misfit(size: float) -> float:
        return float(np.sqrt(np.mean(_misses(carries, size * np.eye(3), forces) ** 2)))

    return 1.0 if misfit(1.0) < _GOOD_RMS else float(min(_TRIALS, key=misfit))
