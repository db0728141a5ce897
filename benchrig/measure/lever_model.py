"""What the sensor reads on a body that turns about a fixed point, and how that depends on all that is not known.

``f = (I + E) [Rᵀ u + ([α×] + [ω×]²) (I − [ε×]) (s − p)] + b``, taken a delay later, with ``ω = (I + G) ω_read``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.stand import Stand
from benchrig.measure.window import cross_matrix, lever_matrix, turned_back

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
OWN: Final = 9
"""Of each stand: u, the specific force that holds the airframe (axes of its first sample); b, the accelerometer's bias;
and by how much u was another in the rests, as a bearing tilts when it starts to turn; m/s²."""

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
    back : ndarray, shape (N, 3, 3)
        ``Rᵀ`` at each sample.
    """

    held: Matrix
    lever: Matrix
    held_rate: Matrix
    lever_rate: Matrix
    back: Matrix


def columns(stand: Stand, gyro: Matrix) -> Columns:
    """Integrate and average the rates of a stand, mended by ``I + gyro``."""
    where, apart = stand.where, 2 * stand.step
    back = turned_back(_mended(stand, gyro), stand.step)
    return Columns(
        held=where.means(back),
        lever=_lever(stand, gyro),
        held_rate=(where.means(back, 1) - where.means(back, -1)) / apart,
        lever_rate=(_lever(stand, gyro, 1) - _lever(stand, gyro, -1)) / apart,
        back=back,
    )


def _mended(stand: Stand, gyro: Matrix) -> Vector:
    return stand.rate @ (np.eye(3) + gyro).T


def _lever(stand: Stand, gyro: Matrix, shift: int = 0) -> Matrix:
    """Give the mean of ``[α×] + [ω×]²``; of a spin only what its steady axis makes.

    The noise of the rates across the axis, times the spin, would look like a little knowledge of the place along it.
    """
    if stand.kind == "swing":
        return lever_matrix(_mended(stand, gyro), stand.where, shift)
    axis = (np.eye(3) + gyro) @ stand.turning
    axis = axis / np.linalg.norm(axis)
    squared = stand.where.means((_mended(stand, gyro) @ axis) ** 2, shift) * ~stand.still
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
    result: Vector = force @ gain.T + mine[3:6] - shared[DELAY] * rate
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
    by_shared[..., GYRO] = gain @ _by_gyro(stand, seen, shared, mine)
    by_shared[..., DELAY] = -rate[..., None]
    by_own = np.zeros((*force.shape, OWN))
    by_own[..., 0:3] = gain @ seen.held
    by_own[..., 3:6] = np.eye(3)
    by_own[stand.still, :, 6:9] = gain @ seen.held[stand.still]
    return by_shared, by_own


def _force(stand: Stand, seen: Columns, shared: Vector, mine: Vector) -> tuple[Vector, Vector]:
    """Give the specific force at the sensor in each window, and its time derivative."""
    holding = mine[0:3] + stand.still[:, None] * mine[6:9]
    arm = (np.eye(3) - cross_matrix(shared[SQUARENESS])) @ (shared[PLACE] - _pivot(stand))
    force = np.einsum("wij,wj->wi", seen.held, holding) + seen.lever @ arm
    rate = np.einsum("wij,wj->wi", seen.held_rate, holding) + seen.lever_rate @ arm
    return force, rate


def _by_gyro(stand: Stand, seen: Columns, shared: Vector, mine: Vector) -> Matrix:
    """Differentiate the force by the gyro's errors, row by row.

    An error δω turns the attitude, seen in the axes of the first sample, by Θ = ∫ R δω dt: ``Rᵀ u`` then changes by
    ``Rᵀ u × Rᵀ Θ``.
    """
    spread = np.einsum("nij,nk->njik", seen.back, stand.rate).reshape(len(stand.rate), 3, 9)
    turned = np.zeros_like(spread)
    turned[1:] = np.cumsum(0.5 * (spread[1:] + spread[:-1]), axis=0) * stand.step
    holding = cross_matrix(seen.back @ mine[0:3])
    by_gyro = stand.where.means(holding @ seen.back @ turned)
    gyro, arm = shared[GYRO].reshape(3, 3), shared[PLACE] - _pivot(stand)
    for k in range(9):
        nudged = gyro.copy()
        nudged.flat[k] += _NUDGE
        by_gyro[..., k] += (_lever(stand, nudged) - seen.lever) @ arm / _NUDGE
    return np.asarray(by_gyro)


def _pivot(stand: Stand) -> Vector:
    return np.zeros(3) if stand.pivot is None else stand.pivot
