"""The gyro's scale from turns whose true size is known: by gravity before and after them, or by a turntable."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.attitude.gyro import running_product
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import matrix_from_quaternion, matrix_from_vector, quaternion_from_vector
from benchrig.measure.accelerometer import CROSS_BEFORE, PRIOR, STANDARD_GRAVITY, AccelerometerFit, matrix_of
from benchrig.measure.parameters import Belief, Fit, fit_parameters
from benchrig.measure.poses import block_variance, inner
from benchrig.measure.table_turns import Spin
from benchrig.signals.body import EvenRecording
from benchrig.signals.moves import Move
from benchrig.signals.rests import Stillness

TOLD: Final = 0.015
"""A scale whose standard deviation is larger cannot be told."""

WORST_FIT: Final = np.radians(3.0)
"""rad rms: between gravity as read and as the gyro carries it; beyond it the two sensors do not tell one story."""

SMALLEST_TILT: Final = np.radians(15.0)
LONGEST_TURN: Final = 30.0
"""rad, s: a turn that tilts less, or takes longer, says nothing of the scale."""

_TRIALS: Final = (np.pi / 180, *np.geomspace(0.25, 4.0, 57).tolist(), 180 / np.pi)
_GOOD_RMS: Final = np.radians(4.0)
_SCALE_BEFORE: Final = 0.2
_AXES_BEFORE: Final = 0.015  # its own cross-talk, and two chips not quite parallel
_WORST_AXES: Final = 0.08
_ANGLE_FLOOR: Final = np.radians(0.02)
_RATE_FLOOR: Final = np.radians(0.005)  # rad/s: by which a bias wanders within seconds (from memory)
_HELD_RATE: Final = np.radians(0.05)  # rad/s: by how much the bias of a whole recording may be off at one turn
_BIAS_BEFORE: Final = 0.1 * STANDARD_GRAVITY
_GAIN_BEFORE: Final = 0.03
_EDGE: Final = 1.0  # s of a pose beside a turn that give gravity's direction
_ROUNDS: Final = 5
_CONVERGED: Final = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class Carry:
    """A turn between two still poses; sensor axes, all as read.

    Attributes
    ----------
    rate : ndarray, shape (N, 3), rad/s
        From the middle of one still edge to the middle of the other, the bias of the two poses taken out.
    step : float, s
    before, after : ndarray, shape (3,), m/s²
    uncertainty : float, rad
        Of the direction of gravity as the gyro carries it, one standard deviation, the scale apart.
    """

    rate: Vector
    step: float
    before: Vector
    after: Vector
    uncertainty: float


@dataclass(frozen=True, slots=True, eq=False)
class GyroFit:
    """What the turns say: true rate = matrix @ (read - bias), in sensor axes.

    Attributes
    ----------
    matrix : ndarray, shape (3, 3)
    parameters : Fit
        Of the matrix's nine elements, row by row, then of the accelerometer's nine.
    misfit : float, rad rms
        Between gravity as read after the turns and as the gyro carries it.
    carries, spins : int
    """

    matrix: Matrix
    parameters: Fit
    misfit: float
    carries: int
    spins: int

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
        size = self.scale.mean()
        crossed = np.abs(self.matrix - np.diag(np.diag(self.matrix))).max() / size
        return bool(self.misfit <= WORST_FIT and crossed <= _WORST_AXES)


def find_carries(even: EvenRecording, stillness: Stillness, moves: Sequence[Move]) -> tuple[Carry, ...]:
    """Take the moves in which gravity shows how far the airframe turned.

    Parameters
    ----------
    even : EvenRecording
    stillness : Stillness
    moves : sequence of Move

    Returns
    -------
    tuple of Carry
    """
    good = [m for m in moves if not (m.gap or m.clipped) and (m.stop - m.start) * even.step <= LONGEST_TURN]
    good = [m for m in good if m.gravity_angle >= SMALLEST_TILT]
    if not good:
        return ()
    beside = [inner(even, r) for m in good for r in (m.before, m.after)]
    density = float(np.median([block_variance(even.acceleration[s]) * (s.stop - s.start) for s in beside]))
    return tuple(_carry(even, stillness, m, density) for m in good)


def _carry(even: EvenRecording, stillness: Stillness, move: Move, density: float) -> Carry:
    """Cut a carry out; `density` is the accelerometer's variance of a mean times its samples."""
    early, late = _edges(even, move)
    start, stop = (early.start + early.stop) // 2, (late.start + late.stop) // 2 + 1
    before, after = even.acceleration[early].mean(axis=0), even.acceleration[late].mean(axis=0)
    bias, spread = _local_bias(even, stillness, move)
    duration = (stop - start) * even.step
    shortest = min(early.stop - early.start, late.stop - late.start)
    # both edges are off, each in two directions, of which either residual sees one
    direction = np.sqrt(2 * density / shortest) / float(np.linalg.norm(before))
    wander = stillness.gyro_noise * np.sqrt(duration * even.step)
    uncertainty = float(np.linalg.norm([spread * duration, direction, wander, _ANGLE_FLOOR]))
    return Carry(even.angular_rate[start:stop] - bias, even.step, before, after, uncertainty)


def _edges(even: EvenRecording, move: Move) -> tuple[slice, slice]:
    """Take the still samples next to a move, less those in which the hand already moves it.

    A mean that reaches into the move sees part of it, and every turn would seem too small.
    """
    early, late, longest = inner(even, move.before), inner(even, move.after), round(_EDGE / even.step)
    early = slice(max(early.start, early.stop - longest), early.stop)
    return early, slice(late.start, min(late.stop, late.start + longest))


def _local_bias(even: EvenRecording, stillness: Stillness, move: Move) -> tuple[Vector, float]:
    """Take the bias from the poses beside a turn where they lie on the bench: it drifts over minutes."""
    beside = [r for r in (move.before, move.after) if r.grade == "bench"]
    if not beside:
        common = np.zeros(3) if stillness.bias is None else stillness.bias.value
        spread = 0.0 if stillness.bias is None else float(stillness.bias.uncertainty.max())
        return common, float(np.hypot(spread, _HELD_RATE))
    # the first and last moments of a rest already turn the way of the move: they would shorten every turn alike
    quiet = [even.angular_rate[inner(even, r)] for r in beside]
    rates = np.array([rate.mean(axis=0) for rate in quiet])
    errors = [np.sqrt(block_variance(rate)) for rate in quiet]
    drift = float(np.abs(rates - rates.mean(axis=0)).max())
    return rates.mean(axis=0), float(np.linalg.norm([np.mean(errors), drift / np.sqrt(3), _RATE_FLOOR]))


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
    carries = [_sized(carry, size) for carry in carries]
    common = _common_size(carries, spins, forces.value)
    before = Belief.independent((common * np.eye(3)).ravel(), common * _matrix_spread().ravel())
    prior = Belief(
        np.concatenate([before.value, forces.value]),
        np.block([[before.precision, np.zeros((9, 9))], [np.zeros((9, 9)), forces.precision]]),
    )
    found = _fit_about(prior.value[:9].reshape(3, 3), carries, spins, prior)
    for _ in range(_ROUNDS):
        matrix = found.value[:9].reshape(3, 3)
        found = _fit_about(matrix, carries, spins, prior)
        if np.abs(found.value[:9].reshape(3, 3) - matrix).max() < _CONVERGED * common:
            break
    matrix = found.value[:9].reshape(3, 3)
    misfit = _misfit(carries, matrix, found.value[9:])
    return GyroFit(matrix, found, misfit, len(carries), len(spins))


def _fit_about(matrix: Matrix, carries: Sequence[Carry], spins: Sequence[Spin], prior: Belief) -> Fit:
    """Fit with every carry integrated at `matrix`, and its end linear in what differs from it."""
    lines = [_Line.at(carry, matrix) for carry in carries]
    return fit_parameters(lambda parameters: _residuals(parameters, lines, spins), prior)


def _matrix_spread() -> Matrix:
    spread = np.full((3, 3), _AXES_BEFORE)
    np.fill_diagonal(spread, _SCALE_BEFORE)
    return spread


def _accelerometer_belief(fit: AccelerometerFit | None) -> tuple[Belief, float]:
    """Join what the poses said with what data sheets say, which matters where the poses were few."""
    usual = Belief.independent(np.zeros(9), np.repeat([_BIAS_BEFORE, _GAIN_BEFORE, CROSS_BEFORE], 3))
    if fit is None:
        return usual, 1.0
    told = np.linalg.inv(fit.parameters.covariance) - PRIOR.precision
    precision = np.asarray(told + usual.precision, dtype=np.float64)
    value = np.asarray(np.linalg.solve(precision, (told + PRIOR.precision) @ fit.parameters.value), dtype=np.float64)
    return Belief(value, 0.5 * (precision + precision.T)), fit.size


def _sized(carry: Carry, size: float) -> Carry:
    return Carry(carry.rate, carry.step, carry.before / size, carry.after / size, carry.uncertainty)


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """A carry integrated once, and how its end depends on the matrix: no integration within the parameters."""

    carry: Carry
    matrix: Matrix
    start_from_end: Matrix
    slope: Vector  # (3, 3, 3): turn in the start's axes, by row and column of the matrix
    across: Matrix  # (2, 3): the two directions in which a direction can differ

    @classmethod
    def at(cls, carry: Carry, matrix: Matrix) -> _Line:
        middle = 0.5 * (carry.rate[1:] + carry.rate[:-1]) * carry.step
        path = matrix_from_quaternion(running_product(quaternion_from_vector(middle @ matrix.T)))
        half = np.concatenate([np.eye(3)[None], path[:-1]])
        slope = np.einsum("kai,kj->aij", 0.5 * (half + path), middle)
        _, _, rows = np.linalg.svd(carry.after[None, :])
        return cls(carry, matrix, path[-1], slope, rows[1:])

    def carried(self, matrix: Matrix, way: Vector) -> Vector:
        """Carry a direction from the start's axes into the end's."""
        turn = np.einsum("aij,ij->a", self.slope, matrix - self.matrix)
        end: Vector = self.start_from_end.T @ (matrix_from_vector(turn).T @ way)
        return end


def _residuals(parameters: Vector, lines: Sequence[_Line], spins: Sequence[Spin]) -> Vector:
    matrix = parameters[:9].reshape(3, 3)
    parts = [_difference(line, matrix, parameters[9:]) / line.carry.uncertainty for line in lines]
    sizes = [(float(np.linalg.norm(matrix @ s.rate)) / s.speed - 1) / s.uncertainty for s in spins]
    return np.concatenate([*parts, np.array(sizes)])


def _difference(line: _Line, matrix: Matrix, forces: Vector) -> Vector:
    before, after = (_way(reading, forces) for reading in (line.carry.before, line.carry.after))
    return np.asarray(line.across @ (line.carried(matrix, before) - after))


def _way(reading: Vector, forces: Vector) -> Vector:
    true = matrix_of(forces) @ (reading - forces[:3])
    way: Vector = true / np.linalg.norm(true)
    return way


def carried_misses(carries: Sequence[Carry], matrix: Matrix, fit: GyroFit) -> Vector:
    """Give, for each turn, the angle by which the gyro misses gravity after it, under a matrix of one's choice.

    Returns
    -------
    ndarray, shape (N,), rad
    """
    return _misses(carries, matrix, fit.parameters.value[9:])


def _misses(carries: Sequence[Carry], matrix: Matrix, forces: Vector) -> Vector:
    off = [_difference(_Line.at(carry, matrix), matrix, forces) for carry in carries]
    return np.asarray(np.linalg.norm(np.array(off).reshape(-1, 2), axis=1))


def _misfit(carries: Sequence[Carry], matrix: Matrix, forces: Vector) -> float:
    return float(np.sqrt(np.mean(_misses(carries, matrix, forces) ** 2))) if carries else 0.0


def _common_size(carries: Sequence[Carry], spins: Sequence[Spin], forces: Vector) -> float:
    """Tell a wrong unit or range before anything fine is fitted."""
    if not carries:
        return float(np.median([s.speed / np.linalg.norm(s.rate) for s in spins]))
    if _misfit(carries, np.eye(3), forces) < _GOOD_RMS:
        return 1.0
    return float(min(_TRIALS, key=lambda size: _misfit(carries, size * np.eye(3), forces)))
