"""What the sensor reads on a body that turns about a fixed point, and how that depends on all that is not known.

``f = (I + E) [Rᵀ u + ([α×] + [ω×]²) (I − [ε×]) (s − p)] + b``, taken a delay later, with ``ω = (I + G) ω_read + c``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.lever.stand import Stand
from benchrig.measure.lever.window import cross_matrix, lever_matrix, turned_back

PLACE: Final = slice(0, 3)
"""s, m: the sensor from the CG (or from the pivot, where that is not known), body axes."""
SQUARENESS: Final = slice(3, 6)
"""ε, rad: by which the unit is turned from its declared mounting."""
ACCELEROMETER: Final = slice(6, 15)
"""E: scale and cross-axis errors, row by row."""
GYRO: Final = slice(15, 24)
"""G: the same, by which the gyro's reading is mended."""
DELAY: Final = slice(24, 25)
"""s: by which the accelerometer comes later than the gyro."""
SHARED: Final = 25
HOLDING: Final = slice(0, 3)
"""u, m/s²: the specific force that holds the airframe, in the axes of the stand's first sample."""
BIAS: Final = slice(3, 6)
"""b, m/s²: of the accelerometer."""
BEARING: Final = slice(6, 9)
"""m/s²: by how much u was another in the rests, as a bearing tilts when it starts to turn."""
DRIFT: Final = slice(9, 12)
"""rad/s: what is left of the gyro's bias."""
OWN: Final = 12
"""Unknowns of each stand of its own: the four above."""

_NUDGE: Final = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """What the rates say of each window of a stand.

    Attributes
    ----------
    held, lever : ndarray, shape (W, 3, 3)
        Mean ``Rᵀ``, and mean ``[α×] + [ω×]²``.
    held_rate, lever_rate : ndarray, shape (W, 3, 3)
        Their time derivatives.
    rate : ndarray, shape (N, 3), rad/s
        Mended.
    back : ndarray, shape (N, 3, 3)
        ``Rᵀ`` at each sample.
    """

    held: Matrix
    lever: Matrix
    held_rate: Matrix
    lever_rate: Matrix
    rate: Vector
    back: Matrix


def columns(stand: Stand, gyro: Matrix, drift: Vector) -> Columns:
    """Integrate and average the rates of a stand, mended by ``I + gyro`` and `drift`."""
    where, apart = stand.where, 2 * stand.step
    rate = stand.rate @ (np.eye(3) + gyro).T + drift
    back = turned_back(rate, stand.step)
    return Columns(
        held=where.means(back),
        lever=_lever(stand, rate),
        held_rate=(where.means(back, 1) - where.means(back, -1)) / apart,
        lever_rate=(_lever(stand, rate, 1) - _lever(stand, rate, -1)) / apart,
        rate=rate,
        back=back,
    )


def _lever(stand: Stand, rate: Vector, shift: int = 0) -> Matrix:
    """Give the mean of ``[α×] + [ω×]²``; of a spin only what its steady axis makes.

    The noise of the rates across the axis, times the spin, would look like a little knowledge of the place along it.
    """
    if stand.kind == "swing":
        return lever_matrix(rate, stand.where, shift)
    axis = stand.where.means(rate)[~stand.still].mean(axis=0)
    axis = axis / np.linalg.norm(axis)
    squared = stand.where.means((rate @ axis) ** 2, shift) * ~stand.still
    inward: Matrix = np.outer(axis, axis) - np.eye(3)
    return squared[:, None, None] * inward


def own(index: int) -> slice:
    """Give where the parameters of one stand lie."""
    return slice(SHARED + OWN * index, SHARED + OWN * (index + 1))


def predicted(stand: Stand, seen: Columns, shared: Vector, mine: Vector) -> Vector:
    """Predict the mean reading in each window.

    Parameters
    ----------
    shared : ndarray, shape (SHARED,)
    mine : ndarray, shape (OWN,)

    Returns
    -------
    ndarray, shape (W, 3), m/s²
    """
    force, rate = _force(stand, seen, shared, mine)
    gain = np.eye(3) + shared[ACCELEROMETER].reshape(3, 3)
    result: Vector = force @ gain.T + mine[BIAS] - shared[DELAY] * rate
    return result


def jacobian(stand: Stand, seen: Columns, shared: Vector, mine: Vector) -> tuple[Matrix, Matrix]:
    """Differentiate the prediction.

    Returns
    -------
    by_shared : ndarray, shape (W, 3, SHARED)
    by_own : ndarray, shape (W, 3, OWN)
    """
    force, rate = _force(stand, seen, shared, mine)
    gain = np.eye(3) + shared[ACCELEROMETER].reshape(3, 3)
    arm = shared[PLACE] - _pivot(stand)
    lever = gain @ seen.lever
    by_shared = np.zeros((*force.shape, SHARED))
    by_shared[..., PLACE] = lever @ (np.eye(3) - cross_matrix(shared[SQUARENESS]))
    by_shared[..., SQUARENESS] = lever @ cross_matrix(arm)
    for row in range(3):
        first = ACCELEROMETER.start + 3 * row
        by_shared[:, row, first : first + 3] = force
    by_rates = gain @ _by_rates(stand, seen, shared, mine)
    by_shared[..., GYRO] = by_rates[..., :9]
    by_shared[..., DELAY] = -rate[..., None]
    by_own = np.zeros((*force.shape, OWN))
    by_own[..., HOLDING] = gain @ seen.held
    by_own[..., BIAS] = np.eye(3)
    by_own[stand.still, :, BEARING] = gain @ seen.held[stand.still]
    by_own[..., DRIFT] = by_rates[..., 9:]
    return by_shared, by_own


def _force(stand: Stand, seen: Columns, shared: Vector, mine: Vector) -> tuple[Vector, Vector]:
    """Give the specific force at the sensor in each window, and its time derivative."""
    holding = mine[HOLDING] + stand.still[:, None] * mine[BEARING]
    arm = (np.eye(3) - cross_matrix(shared[SQUARENESS])) @ (shared[PLACE] - _pivot(stand))
    force = np.einsum("wij,wj->wi", seen.held, holding) + seen.lever @ arm
    rate = np.einsum("wij,wj->wi", seen.held_rate, holding) + seen.lever_rate @ arm
    return force, rate


def _by_rates(stand: Stand, seen: Columns, shared: Vector, mine: Vector) -> Matrix:
    """Differentiate the force by the gyro's errors, row by row, and by its drift.

    An error δω turns the attitude, seen in the axes of the first sample, by Θ = ∫ R δω dt: ``Rᵀ u`` then changes by
    ``Rᵀ u × Rᵀ Θ``.
    """
    read = np.column_stack([stand.rate, np.ones(len(stand.rate))])
    spread = np.einsum("nij,nk->njik", seen.back, read)
    spread = np.concatenate([spread[..., :3].reshape(len(read), 3, 9), spread[..., 3]], axis=-1)
    turned = np.zeros_like(spread)
    turned[1:] = np.cumsum(0.5 * (spread[1:] + spread[:-1]), axis=0) * stand.step
    by_rates = stand.where.means(cross_matrix(seen.back @ mine[HOLDING]) @ seen.back @ turned)
    arm = shared[PLACE] - _pivot(stand)
    for k in range(9):
        nudged = seen.rate.copy()
        nudged[:, k // 3] += _NUDGE * stand.rate[:, k % 3]
        by_rates[..., k] += (_lever(stand, nudged) - seen.lever) @ arm / _NUDGE
    return np.asarray(by_rates)


def _pivot(stand: Stand) -> Vector:
    return np.zeros(3) if stand.pivot is None else stand.pivot
