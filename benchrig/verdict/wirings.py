"""The 2304 wirings of gyro and accelerometer, and how much of each the evidence leaves.

A wiring says how the gyro's and the accelerometer's channels are really connected to the airframe: 48 signed axis maps
each. Three witnesses weigh them: the operator's prompts (gyro), gravity at a level rest (accelerometer), and the two
sensors against each other, which believes no operator.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS, matrix_from_vector
from benchrig.geometry.turns import turn_axis
from benchrig.signals.body import IntArray
from benchrig.signals.motions import Motion
from benchrig.signals.moves import Move

OPERATOR_ERROR: Final = 1e-2
"""How often a person does something else than asked."""

OPERATOR_SPREADS: Final[Vector] = np.radians([4.0, 6.0, 8.0, 12.0, 17.0, 24.0])
"""rad: how far, in each direction, a person's turn lies off the asked axis; one value for the whole bench, unknown.

A wider last value (35°) makes a quarter turn of the unit an excuse for the hand: counted over drawn benches with 12° of
parasitic turn an axis, it leaves 20 % of right rigs a pass, where 24° leaves 85 % of them one, with no wrong pass in
either."""

UPSIDE_DOWN: Final = 1e-9
"""How likely the airframe stood other than upright at the level rest: an assumption, stated in every report."""

LEVEL_SPREAD: Final = np.radians(10.0)
"""rad: a tail-dragger's stance and an uncalibrated accelerometer."""

ACCELEROMETER_BIAS: Final = 0.060
"""g: prior spread of one axis."""

_DIRECTION_NOISE: Final = 0.025
_SCALE_NOISE: Final = 0.025  # g per rad turned: gyro and accelerometer scale
_PAIR_ERROR: Final = 1e-2  # how often a pair of rests is spoilt by something else
_ANYWHERE: Final = 3 / (4 * np.pi * 2.0**3)  # density of a residual that could be anything, per g³

PROPER: Final = 24
_SIGN: Final[Vector] = np.repeat([1.0, -1.0], PROPER)


def _classes() -> IntArray:
    """Index, for each gyro map (row) and accelerometer map (column), of the one map both agree or disagree by."""
    relative = np.einsum("b,bji,ajk->abik", _SIGN, SIGNED_PERMUTATIONS, SIGNED_PERMUTATIONS)
    codes = np.array([3.0, 9.0, 27.0, 81.0, 243.0, 729.0, 2187.0, 6561.0, 19683.0])
    known = {int(code): k for k, code in enumerate((SIGNED_PERMUTATIONS.reshape(48, 9) @ codes).astype(int))}
    found = [known[int(code)] for code in (relative.reshape(48 * 48, 9) @ codes)]
    return np.array(found, dtype=np.int64).reshape(48, 48)


CLASSES: Final = _classes()


@dataclass(frozen=True, slots=True, eq=False)
class WiringPosterior:
    """What the evidence leaves of the 2304 wirings.

    Attributes
    ----------
    log_probability : ndarray, shape (48, 48)
        Gyro map by accelerometer map, normalised. Map k means ``body_from_sensor @ SIGNED_PERMUTATIONS[k]``:
        0 is as declared.
    body_from_sensor : ndarray, shape (3, 3)
        The declared mounting.
    residual_rms : float, g
        Of gravity carried from rest to rest by the gyro, under the likeliest wiring; nan without evidence.
    pairs : int
        How many pairs of rests that rests on.
    """

    log_probability: Matrix
    body_from_sensor: Matrix
    residual_rms: float
    pairs: int

    @property
    def gyro(self) -> Vector:
        """Probability of each gyro map, shape (48,)."""
        total: Vector = np.exp(self.log_probability).sum(axis=1)
        return total

    @property
    def accelerometer(self) -> Vector:
        """Probability of each accelerometer map, shape (48,)."""
        total: Vector = np.exp(self.log_probability).sum(axis=0)
        return total

    def mounting(self, index: int) -> Matrix:
        """Body from sensor under map `index`; determinant -1 where mirrored."""
        product: Matrix = self.body_from_sensor @ SIGNED_PERMUTATIONS[index] + 0.0
        return product


def weigh_wirings(
    motions: Sequence[Motion], moves: Sequence[Move], level: Vector | None, body_from_sensor: Matrix
) -> WiringPosterior:
    """Weigh all wirings by the three witnesses.

    Parameters
    ----------
    motions : sequence of Motion
        Those with an empty gate speak for the operator.
    moves : sequence of Move
        All, prompted or not; those without gap or clipping let the two sensors speak.
    level : ndarray, shape (3,), m/s², or None
        Mean accelerometer reading while the airframe stood level and upright.
    body_from_sensor : ndarray, shape (3, 3)
        The declared mounting.

    Returns
    -------
    WiringPosterior
        With no evidence at all, every wiring keeps the same share.
    """
    usable = [m for m in moves if not (m.gap or m.clipped)]
    agreement, residuals = weigh_agreement(usable)
    total = agreement[CLASSES]
    total = total + weigh_prompts(motions, body_from_sensor)[:, None]
    total = total + weigh_level(level, body_from_sensor)[None, :]
    total -= _log_sum(total.ravel())
    likeliest = int(np.argmax(total))
    rms = float(residuals[CLASSES.flat[likeliest]]) if usable else float("nan")
    return WiringPosterior(total, body_from_sensor, rms, len(usable))


def turned_under(move: Move, body_from_sensor: Matrix) -> Matrix:
    """Give the net turn of a move under each gyro map, in body axes.

    Returns
    -------
    ndarray, shape (48, 3), rad
        ``det(A) · A · log R(det(A) w)``.
    """
    maps = body_from_sensor @ SIGNED_PERMUTATIONS
    return np.concatenate([maps[:PROPER] @ move.turn, -(maps[PROPER:] @ move.mirrored_turn)])


def weigh_prompts(motions: Sequence[Motion], body_from_sensor: Matrix) -> Vector:
    """Weigh each gyro map by how well the moves turned about the axes asked for.

    Returns
    -------
    ndarray, shape (48,)
        Log-likelihood, the operator's spread summed over `OPERATOR_SPREADS`.
    """
    evidence = [(m.name, m.move) for m in motions if not m.gate and m.move is not None]
    if not evidence:
        return np.zeros(48)
    cosines = np.array([_cosines(turned_under(move, body_from_sensor), turn_axis(name)) for name, move in evidence])
    kappa = 1 / OPERATOR_SPREADS[:, None, None] ** 2
    density = kappa / (2 * np.pi * (1 - np.exp(-2 * kappa))) * np.exp(kappa * (cosines - 1))
    each = np.log((1 - OPERATOR_ERROR) * density + OPERATOR_ERROR / (4 * np.pi))
    per_spread = each.sum(axis=1)
    result: Vector = np.array([_log_sum(column) for column in per_spread.T]) - np.log(len(OPERATOR_SPREADS))
    return result


def weigh_level(level: Vector | None, body_from_sensor: Matrix) -> Vector:
    """Weigh each accelerometer map by the specific force at a level rest, which points up.

    Returns
    -------
    ndarray, shape (48,)
        Log-likelihood.
    """
    if level is None or not np.linalg.norm(level) > 0:
        return np.zeros(48)
    cosines = _cosines(body_from_sensor @ SIGNED_PERMUTATIONS @ level, np.array([0.0, 0.0, -1.0]))
    kappa = 1 / LEVEL_SPREAD**2
    density = kappa / (2 * np.pi) * np.exp(kappa * (cosines - 1))
    result: Vector = np.log((1 - UPSIDE_DOWN) * density + UPSIDE_DOWN / (4 * np.pi))
    return result


def weigh_agreement(moves: Sequence[Move], *, only: int | None = None) -> tuple[Vector, Vector]:
    """Weigh each relative map by gravity carried from rest to rest by the gyro against gravity as read there.

    Parameters
    ----------
    moves : sequence of Move
    only : int or None
        One relative map to weigh; None weighs all 48.

    Returns
    -------
    log_likelihood : ndarray, shape (48,) or (1,)
        The accelerometer's bias marginalised.
    residual_rms : ndarray, same shape, g
    """
    if not moves:
        return np.zeros(48), np.full(48, np.nan)
    size = float(np.median([np.linalg.norm([m.force_before, m.force_after], axis=1) for m in moves])) or 1.0
    before = np.array([m.force_before for m in moves]) / size
    after = np.array([m.force_after for m in moves]) / size
    spread = np.hypot(_DIRECTION_NOISE, _SCALE_NOISE * np.array([np.linalg.norm(m.rotation) for m in moves]))
    results = [_agreement(_carried(moves, k), before, after, spread) for k in (range(48) if only is None else [only])]
    return np.array([r[0] for r in results]), np.array([r[1] for r in results])


def _carried(moves: Sequence[Move], k: int) -> Matrix:
    """Give each move's rotation, in the accelerometer's axes, if the gyro's map relative to it is k."""
    relative = SIGNED_PERMUTATIONS[k]
    turns = np.array([relative @ m.rotation if k < PROPER else -(relative @ m.mirrored_rotation) for m in moves])
    return np.swapaxes(matrix_from_vector(turns), -1, -2)


def _agreement(carry: Matrix, before: Vector, after: Vector, spread: Vector) -> tuple[float, float]:
    plain = after - np.einsum("mij,mj->mi", carry, before)
    leverage = np.eye(3) - carry
    precision = 1 / spread**2
    weight = np.ones(len(spread))
    for _ in range(4):
        normal = np.eye(3) / ACCELEROMETER_BIAS**2 + np.einsum("m,mji,mjk->ik", weight * precision, leverage, leverage)
        bias = np.linalg.solve(normal, np.einsum("m,mji,mj->i", weight * precision, leverage, plain))
        residual = plain - leverage @ bias
        squares = (residual**2).sum(axis=1)
        inlier = (1 - _PAIR_ERROR) * (2 * np.pi) ** -1.5 * spread**-3 * np.exp(-0.5 * squares * precision)
        weight = inlier / (inlier + _PAIR_ERROR * _ANYWHERE)
    log_likelihood = np.log(inlier + _PAIR_ERROR * _ANYWHERE).sum()
    prior = -0.5 * float(bias @ bias) / ACCELEROMETER_BIAS**2
    volume = -0.5 * float(np.linalg.slogdet(normal * ACCELEROMETER_BIAS**2)[1])
    return float(log_likelihood) + prior + volume, float(np.sqrt(squares.mean() / 3))


def _cosines(vectors: Matrix, axis: Vector) -> Vector:
    size = np.linalg.norm(vectors, axis=-1)
    result: Vector = np.divide(vectors @ axis, size, out=np.zeros_like(size), where=size > 0)
    return result


def _log_sum(values: Vector) -> float:
    top = float(values.max())
    return top + float(np.log(np.exp(values - top).sum()))
