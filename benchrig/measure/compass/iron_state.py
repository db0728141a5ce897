"""The unknowns of the compass fit: as they stand, what readings and gravity say of them, and a linear start."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from benchrig.attitude.gyro import running_product
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.geometry.rotations import matrix_from_quaternion, matrix_from_vector, quaternion_from_vector
from benchrig.measure.compass.stretch import Stretch
from benchrig.signals.body import IntArray

GRAVITY: Final = np.array([0.0, 0.0, -STANDARD_GRAVITY])
"""m/s²: specific force of a body at rest, world axes."""

FIELD_SPREAD: Final = 60e-6
HARD_SPREAD: Final = 500e-6
"""T, one axis: one standard deviation of the earth's field and of hard iron before anything is read."""

READING_SPREAD: Final = 1e-6
"""T: of a reading, before the misfit is known."""

GYRO, BIAS, FORCE, IRON, HARD, FIELD, DELAY = (
    slice(0, 9),
    slice(9, 12),
    slice(12, 21),
    slice(21, 30),
    slice(30, 33),
    slice(33, 36),
    slice(36, 37),
)
COMMON: Final = 37
OF_A_STRETCH: Final = 6  # gyro bias, and a turn of the first attitude


@dataclass(slots=True, eq=False)
class IronState:
    """The unknowns as they stand, and what the stretches say of them."""

    stretches: Sequence[Stretch]
    values: Vector
    starts: list[Matrix]
    kept: dict[int, Matrix] = field(default_factory=dict)

    @classmethod
    def upright(cls, stretches: Sequence[Stretch]) -> IronState:
        """Start from gravity at each stretch's first rest."""
        state = cls(stretches, np.zeros(COMMON + OF_A_STRETCH * len(stretches)), [np.eye(3) for _ in stretches])
        state.starts = [_upright(s, state.attitudes(k)) for k, s in enumerate(stretches)]
        state.kept.clear()
        return state

    @classmethod
    def begin(cls, stretches: Sequence[Stretch]) -> IronState:
        """Start from there, with the headings that a linear fit of field and iron gives the stretches."""
        state = cls.upright(stretches)
        earths, hard = linear_fit(state.at_readings(), [s.reading for s in stretches])
        first = np.arctan2(earths[0, 1], earths[0, 0])
        for k, earth in enumerate(earths):
            off = first - np.arctan2(earth[1], earth[0])
            state.starts[k] = matrix_from_vector(np.array([0.0, 0.0, off])) @ state.starts[k]
        state.kept.clear()
        state.values[FIELD], state.values[HARD] = earths[0], hard
        return state

    def at_readings(self) -> list[Matrix]:
        """World from body at the readings of each stretch."""
        return [self.attitudes(k)[s.chosen] for k, s in enumerate(self.stretches)]

    def rates(self, k: int) -> Vector:
        """Body rates with the unit's errors as they stand taken out."""
        own = COMMON + OF_A_STRETCH * k
        rate = self.stretches[k].rate
        corrected: Vector = rate + rate @ self.values[GYRO].reshape(3, 3).T - self.values[own : own + 3]
        return corrected

    def attitudes(self, k: int) -> Matrix:
        """World from body at every sample of a stretch."""
        if k not in self.kept:
            rate, step = self.rates(k), self.stretches[k].step
            turns = np.zeros_like(rate)
            turns[1:] = 0.5 * (rate[1:] + rate[:-1]) * step
            self.kept[k] = self.starts[k] @ matrix_from_quaternion(running_product(quaternion_from_vector(turns)))
        return self.kept[k]

    def move(self, step: Vector) -> None:
        """Take a step of all unknowns."""
        for k in range(len(self.stretches)):
            own = COMMON + OF_A_STRETCH * k
            self.starts[k] = matrix_from_vector(step[own + 3 : own + 6]) @ self.starts[k]
            self.values[own : own + 3] += step[own : own + 3]
        self.values[:COMMON] += step[:COMMON]
        self.kept.clear()

    def reading_residual(self, k: int) -> Vector:
        """Give reading minus fit, shape (M, 3), T."""
        stretch, gain = self.stretches[k], np.eye(3) + self.values[IRON].reshape(3, 3)
        residual: Vector = stretch.reading - self._seen(k)[0] @ gain.T - self.values[HARD]
        return residual

    def _seen(self, k: int) -> tuple[Vector, Vector]:
        """Give the earth's field in body axes at the readings, and its change with the compass's delay."""
        stretch = self.stretches[k]
        still = np.einsum("nji,j->ni", self.attitudes(k)[stretch.chosen], self.values[FIELD])
        change = np.cross(self.rates(k)[stretch.chosen], still)
        return still + self.values[DELAY] * change, change

    def equations(self, k: int, readings: float) -> list[tuple[Vector, Matrix, Vector]]:
        """Give residual, slope and weight of the readings, then of gravity."""
        return [self._reading_equations(k, readings), self._gravity_equations(k)]

    def _reading_equations(self, k: int, readings: float) -> tuple[Vector, Matrix, Vector]:
        residual = self.reading_residual(k).ravel()
        slope = self.reading_slope(k).reshape(-1, len(self.values))
        return residual, slope, np.full(len(residual), readings**-2.0)

    def reading_slope(self, k: int) -> Matrix:
        """Give by how much each reading changes with each unknown, shape (M, 3, P)."""
        stretch = self.stretches[k]
        world_from_body = self.attitudes(k)[stretch.chosen]
        gain = np.eye(3) + self.values[IRON].reshape(3, 3)
        seen, change = self._seen(k)
        slope = np.zeros((len(seen), 3, len(self.values)))
        body_from_world = np.swapaxes(world_from_body, 1, 2)
        turned = gain @ body_from_world @ _cross_matrix(self.values[FIELD])
        self._attitude_slopes(k, stretch.chosen, turned, slope)
        for row in range(3):
            slope[:, row, IRON.start + 3 * row : IRON.start + 3 * row + 3] = seen
        slope[:, :, HARD] = np.eye(3)
        slope[:, :, FIELD] = gain @ body_from_world
        slope[:, :, DELAY] = (change @ gain.T)[:, :, None]
        return slope

    def _gravity_equations(self, k: int) -> tuple[Vector, Matrix, Vector]:
        stretch = self.stretches[k]
        body_from_world = np.swapaxes(self.attitudes(k)[stretch.felt], 1, 2)
        gain = np.eye(3) + self.values[FORCE].reshape(3, 3)
        felt = body_from_world @ GRAVITY
        slope = np.zeros((len(felt), 3, len(self.values)))
        self._attitude_slopes(k, stretch.felt, gain @ body_from_world @ _cross_matrix(GRAVITY), slope)
        for row in range(3):
            slope[:, row, FORCE.start + 3 * row : FORCE.start + 3 * row + 3] = felt
        slope[:, :, BIAS] = np.eye(3)
        residual = stretch.force - felt @ gain.T - self.values[BIAS]
        return residual.ravel(), slope.reshape(-1, len(self.values)), np.repeat(stretch.force_spread**-2.0, 3)

    def _attitude_slopes(self, k: int, at: IntArray, turned: Matrix, slope: Matrix) -> None:
        """Carry the slope by a turn of the attitude, (n, 3, 3), on to what turns it: gyro errors and the start."""
        stretch, own = self.stretches[k], COMMON + OF_A_STRETCH * k
        attitudes = self.attitudes(k)
        for axis in range(3):
            along = attitudes[:, :, axis] * stretch.step
            slope[:, :, own + axis] = -np.einsum("nij,nj->ni", turned, _integral(along)[at])
            for source in range(3):
                turn = _integral(along * stretch.rate[:, source : source + 1])[at]
                slope[:, :, GYRO.start + 3 * axis + source] = np.einsum("nij,nj->ni", turned, turn)
        slope[:, :, own + 3 : own + 6] = turned


def linear_fit(attitudes: Sequence[Matrix], readings: Sequence[Vector]) -> tuple[Vector, Vector]:
    """Fit a field of each stretch and one hard iron, with gains of 1: ``y = Rᵀ m + h``.

    Parameters
    ----------
    attitudes : sequence of ndarray, shape (M, 3, 3)
    readings : sequence of ndarray, shape (M, 3), T

    Returns
    -------
    earths : ndarray, shape (S, 3), T
    hard : ndarray, shape (3,), T
    """
    count = len(attitudes)
    spread = np.repeat([*[FIELD_SPREAD] * count, HARD_SPREAD], 3)
    normal, right = np.diag(spread**-2.0), np.zeros(3 * count + 3)
    for k, (attitude, reading) in enumerate(zip(attitudes, readings, strict=True)):
        slope = np.zeros((len(reading), 3, 3 * count + 3))
        slope[:, :, 3 * k : 3 * k + 3] = np.swapaxes(attitude, 1, 2)
        slope[:, :, -3:] = np.eye(3)
        flat = slope.reshape(-1, 3 * count + 3)
        normal += flat.T @ flat / READING_SPREAD**2
        right += flat.T @ reading.ravel() / READING_SPREAD**2
    found = spread * np.linalg.solve(normal * spread * spread[:, None], right * spread)
    return found[:-3].reshape(-1, 3), found[-3:]


def _upright(stretch: Stretch, attitudes: Matrix) -> Matrix:
    """Give the first attitude, heading zero, by which gravity at the anchor points down."""
    up = stretch.anchor_force / np.linalg.norm(stretch.anchor_force)
    first_up = attitudes[stretch.anchor] @ up
    axis = np.cross(first_up, [0.0, 0.0, -1.0])
    sine, cosine = float(np.linalg.norm(axis)), -float(first_up[2])
    if sine < 1e-9:  # noqa: PLR2004 - no axis: upright already, or upside down
        return np.eye(3) if cosine > 0 else np.diag([1.0, -1.0, -1.0])
    return matrix_from_vector(axis / sine * np.arctan2(sine, cosine))


def _integral(values: Vector) -> Vector:
    result = np.zeros_like(values)
    np.cumsum(0.5 * (values[1:] + values[:-1]), axis=0, out=result[1:])
    return result


def _cross_matrix(vector: Vector) -> Matrix:
    """Give ``[v]``, by which ``[v] @ w = v × w``."""
    x, y, z = vector
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
