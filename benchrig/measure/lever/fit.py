"""Joint least squares: the sensor's place and all that is not known beside it, from every stand at once.

What a data sheet or common practice says of the unknowns comes in as observations of their own, so that the covariance
holds what they leave open: it is the sum of one part for the noise and one for each of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.lever import model
from benchrig.measure.lever.model import ACCELEROMETER, DELAY, GYRO, OWN, PLACE, SHARED, SQUARENESS
from benchrig.measure.lever.prior import GRAVITY_SPREAD, LEVEL, SPEED, Beforehand, standard_deviations
from benchrig.measure.lever.stand import Stand
from benchrig.measure.lever.window import QUIETEST

_FIRST_NOISE: Final = 0.05
_STEPS: Final = 12
_CLOSE: Final = 1e-7  # m
_SETTLED: Final = 1e-5  # m
_NUDGE: Final = 1e-6
_FEWEST_BLOCKS: Final = 6
_BLOCK: Final = 0.5  # s, of a swing
_KNOCK: Final = 6.0  # times the median: with three white channels once in 10¹⁸ windows
_SMALLEST_KNOCK: Final = 1e-6  # m/s²
_MOST_KEPT: Final = 0.9


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """The least-squares answer.

    Attributes
    ----------
    place : ndarray, shape (3,), m
    covariance : ndarray, shape (3, 3), m²
        Of `place`; it is the sum of `budget`.
    budget : mapping of str to ndarray, shape (3, 3), m²
        What each mechanism of error adds.
    settled : bool
        Whether the steps came to an end.
    gyro : ndarray, shape (3, 3)
        By ``I + gyro`` the gyro's rates are mended.
    gyro_covariance : ndarray, shape (9, 9)
        Row by row.
    place_and_gyro : ndarray, shape (3, 9), m
        Covariance of the two.
    stands : tuple of Stand
        Without the windows in which something knocked.
    noise : tuple of float, m/s²
        Residual of each stand, rms over its windows and axes.
    correlation : tuple of float
        By how much each stand's residuals, being alike from window to window, count for fewer than they are.
    residuals, predicted : tuple of ndarray, shape (W, 3), m/s²
    """

    place: Vector
    covariance: Matrix
    budget: Mapping[str, Matrix]
    settled: bool
    gyro: Matrix
    gyro_covariance: Matrix
    place_and_gyro: Matrix
    stands: tuple[Stand, ...]
    noise: tuple[float, ...]
    correlation: tuple[float, ...]
    residuals: tuple[Vector, ...]
    predicted: tuple[Vector, ...]


def table_speed(found: Fit, stand: Stand) -> tuple[float, float]:
    """Give the speed of a spin, the gyro's scale mended, and its standard deviation, rad/s."""
    turning = (np.eye(3) + found.gyro) @ stand.turning
    speed = float(np.linalg.norm(turning))
    slope = np.outer(turning / speed, stand.turning).ravel()
    return speed, float(np.sqrt(slope @ found.gyro_covariance @ slope))


def fit(stands: Sequence[Stand], beforehand: Beforehand) -> Fit:
    """Solve for the sensor's place.

    Parameters
    ----------
    stands : sequence of Stand
        All about points known from the CG, or one about a point that is not.
    beforehand : Beforehand

    Returns
    -------
    Fit
    """
    prior, start = standard_deviations(len(stands), beforehand), beforehand.gyro
    mean = np.zeros(len(prior))
    mean[PLACE] = beforehand.place
    unknowns = mean.copy()
    unknowns[GYRO] = start.ravel()
    for k, stand in enumerate(stands):
        seen = model.columns(stand, start, np.zeros(3))
        unknowns[model.own(k)][model.HOLDING] = seen.held[0].T @ stand.where.means(stand.force)[0]
    noise = [np.full(3, _FIRST_NOISE) for _ in stands]
    unknowns, _, _ = _solved(stands, unknowns, mean, prior, noise)
    stands = [_without_knocks(s, r) for s, r in zip(stands, _residuals(stands, unknowns), strict=True)]
    unknowns, _, _ = _solved(stands, unknowns, mean, prior, noise)
    residuals = _residuals(stands, unknowns)
    correlation = tuple(_correlation(s, r) for s, r in zip(stands, residuals, strict=True))
    noise = [np.maximum(r.std(axis=0), QUIETEST) * np.sqrt(c) for r, c in zip(residuals, correlation, strict=True)]
    unknowns, information, inverse = _solved(stands, unknowns, mean, prior, noise)
    last, _, _ = _solved(stands, unknowns, mean, prior, noise, steps=1)
    residuals = _residuals(stands, unknowns)
    return Fit(
        place=unknowns[PLACE],
        covariance=inverse[PLACE, PLACE],
        budget=_budget(information, inverse, prior, len(stands)),
        settled=bool(np.abs(last[PLACE] - unknowns[PLACE]).max() < _SETTLED),
        gyro=unknowns[GYRO].reshape(3, 3),
        gyro_covariance=inverse[GYRO, GYRO],
        place_and_gyro=inverse[PLACE, GYRO],
        stands=tuple(stands),
        noise=tuple(float(np.sqrt(np.mean(r**2))) for r in residuals),
        correlation=correlation,
        residuals=tuple(residuals),
        predicted=tuple(s.where.means(s.force) - r for s, r in zip(stands, residuals, strict=True)),
    )


def _solved(
    stands: Sequence[Stand],
    unknowns: Vector,
    mean: Vector,
    prior: Vector,
    noise: Sequence[Vector],
    *,
    steps: int = _STEPS,
) -> tuple[Vector, Mapping[str, Matrix], Matrix]:
    """Go to the least sum of squares by Gauss-Newton steps; give the information of each kind, and its inverse."""
    for _ in range(steps):
        information, gradient = _normal(stands, unknowns, noise)
        whole = sum(information.values()) + np.diag(prior**-2)
        # in units of what is held beforehand, so that metres and m/s² do not spoil the digits
        inverse = np.linalg.inv(whole * np.outer(prior, prior)) * np.outer(prior, prior)
        step = inverse @ (gradient + (mean - unknowns) / prior**2)
        unknowns = unknowns + step
        if np.abs(step[PLACE]).max() < _CLOSE:
            break
    return unknowns, information, inverse


def _normal(stands: Sequence[Stand], unknowns: Vector, noise: Sequence[Vector]) -> tuple[dict[str, Matrix], Vector]:
    size = len(unknowns)
    information = {"noise": np.zeros((size, size)), "side": np.zeros((size, size))}
    gradient = np.zeros(size)
    shared, gyro = unknowns[:SHARED], unknowns[GYRO].reshape(3, 3)
    for k, stand in enumerate(stands):
        mine, part = unknowns[model.own(k)], np.r_[0:SHARED, model.own(k)]
        seen = model.columns(stand, gyro, mine[model.DRIFT])
        rows = np.concatenate(model.jacobian(stand, seen, shared, mine), axis=-1) / noise[k][:, None]
        left = (stand.where.means(stand.force) - model.predicted(stand, seen, shared, mine)) / noise[k]
        rows, left = rows.reshape(-1, SHARED + OWN), left.ravel()
        information["noise"][np.ix_(part, part)] += rows.T @ rows
        gradient[part] += rows.T @ left
        rows, left = _side_rows(stand, shared, mine)
        information["side"][np.ix_(part, part)] += rows.T @ rows
        gradient[part] += rows.T @ left
    return information, gradient


def _side_rows(stand: Stand, shared: Vector, mine: Vector) -> tuple[Matrix, Vector]:
    """Give what is known of a stand beside its readings: gravity's size, its table's speed, which way was down."""
    together = np.concatenate([shared, mine])
    base = _side(stand, together)
    used = [*range(SQUARENESS.start, SQUARENESS.stop), *range(GYRO.start, GYRO.stop), *range(SHARED, SHARED + 3)]
    rows = np.zeros((len(base), len(together)))
    for k in used:
        nudged = together.copy()
        nudged[k] += _NUDGE
        rows[:, k] = (_side(stand, nudged) - base) / _NUDGE
    return -rows, base


def _side(stand: Stand, together: Vector) -> Vector:
    """Give how far the unknowns are from it, in standard deviations."""
    off = [(STANDARD_GRAVITY - float(np.linalg.norm(together[SHARED : SHARED + 3]))) / GRAVITY_SPREAD]
    turning = (np.eye(3) + together[GYRO].reshape(3, 3)) @ stand.turning
    speed = float(np.linalg.norm(turning))
    if stand.known_rate is not None:
        off.append((stand.known_rate - speed) / (SPEED * stand.known_rate))
    if stand.pose == "level":
        axis = turning / speed * np.sign(turning[2])
        down = axis + np.cross(together[SQUARENESS], axis)
        off.extend(-down[:2] / LEVEL)
    return np.array(off)


def _residuals(stands: Sequence[Stand], unknowns: Vector) -> list[Vector]:
    gyro, left = unknowns[GYRO].reshape(3, 3), []
    for k, stand in enumerate(stands):
        mine = unknowns[model.own(k)]
        seen = model.columns(stand, gyro, mine[model.DRIFT])
        left.append(stand.where.means(stand.force) - model.predicted(stand, seen, unknowns[:SHARED], mine))
    return left


def _without_knocks(stand: Stand, residuals: Vector) -> Stand:
    """Leave out windows that stand far off the others, if they are few: something touched the airframe."""
    size = np.linalg.norm(residuals, axis=1)
    kept = size < _KNOCK * max(float(np.median(size)), _SMALLEST_KNOCK)
    if kept.all() or kept.mean() < _MOST_KEPT:
        return stand
    return replace(stand, where=replace(stand.where, start=stand.where.start[kept]), still=stand.still[kept])


def _correlation(stand: Stand, residuals: Vector) -> float:
    """Say by how much means over long blocks scatter more than white residuals would let them: 1 or more."""
    size = float(np.linalg.norm(stand.turning))
    block = max(round((np.pi / size if size else _BLOCK) / stand.where.length), 1)
    moving = residuals[~stand.still]
    count = len(moving) // block
    if count < _FEWEST_BLOCKS:
        return 1.0
    means = moving[: count * block].reshape(count, block, 3).mean(axis=1)
    white = np.maximum(moving.var(axis=0), QUIETEST**2) / block
    return max(1.0, float(np.mean(means.var(axis=0, ddof=1) / white)))


def _budget(information: Mapping[str, Matrix], inverse: Matrix, prior: Vector, count: int) -> dict[str, Matrix]:
    """Split the covariance of the place into what each mechanism adds."""
    to_place = inverse[PLACE]
    bases = [SHARED + OWN * k for k in range(count)]
    groups = {
        "along": np.r_[PLACE],
        "squareness": np.r_[SQUARENESS],
        "accelerometer": np.r_[tuple(np.r_[ACCELEROMETER, b : b + 6] for b in bases)],
        "gyro": np.r_[tuple(np.r_[GYRO, b + 9 : b + 12] for b in bases)],
        "delay": np.r_[DELAY],
        "bearing": np.r_[tuple(np.r_[b + 6 : b + 9] for b in bases)],
    }
    parts = {name: to_place @ known @ to_place.T for name, known in information.items()}
    for name, repeated in groups.items():
        group = np.unique(repeated)
        parts[name] = (to_place[:, group] / prior[group] ** 2) @ to_place[:, group].T
    return parts
