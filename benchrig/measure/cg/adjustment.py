"""One point from many conditions: generalised least squares with errors that conditions may share.

Every condition says ``design @ point = target``. Errors are named by their source; two conditions with one source share
its errors. That is the same as estimating the shared errors beside the point, and needs no more than three unknowns.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.cg.plumb import Effects

FARTHEST: Final = 10.0
"""m: standard deviation of the point before anything is measured, so that what is not told stays untold."""

TOLD: Final = 1.0
"""m: a direction with a larger standard deviation is not told at all."""


@dataclass(frozen=True, slots=True, eq=False)
class Condition:
    """What one hang or one weighing says of the point.

    Attributes
    ----------
    name : str
    design : ndarray, shape (M, 3)
    target : ndarray, shape (M,)
    effects : mapping of str to ndarray, shape (M, k)
        On the target, by source: of one standard deviation of each of its errors.
    """

    name: str
    design: Matrix
    target: Vector
    effects: Effects


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The point that fits the conditions best.

    Attributes
    ----------
    point : ndarray, shape (3,), m
    covariance : ndarray, shape (3, 3), m²
        Of what was measured and, in directions that nothing tells, of what was assumed before.
    effects : mapping of str to ndarray, shape (3, k), m
        What one standard deviation of each error does to the point.
    pulls : mapping of str to ndarray, shape (3,)
        By condition: how far the point moves along each axis, at most, for one metre by which it is wrong.
    untold : ndarray, shape (3, 3), m²
        The part of `covariance` that is not from errors but from directions that nothing tells.
    chi_square : float
        Sum of squares of what does not fit, in standard deviations.
    freedom : int
        How many conditions check the result: those that say something of the point, beyond what fixes it.
    """

    point: Vector
    covariance: Matrix
    effects: Effects
    pulls: Mapping[str, Vector]
    untold: Matrix
    chi_square: float
    freedom: int

    @property
    def chance(self) -> float:
        """How often errors of the stated size alone would fit worse; 1 where nothing checks the result."""
        return chance_of(self.chi_square, self.freedom)


def solve(conditions: Sequence[Condition], centre: Vector) -> Solution:
    """Give the best point.

    Parameters
    ----------
    conditions : sequence of Condition
        At least one.
    centre : ndarray, shape (3,), m
        Any point nearby: what directions that nothing tells are counted from.
    """
    design = np.vstack([c.design for c in conditions])
    target = np.concatenate([c.target for c in conditions])
    effects = _stacked(conditions)
    everything = np.hstack(list(effects.values()))
    weight = np.linalg.inv(everything @ everything.T)
    before = np.eye(3) / FARTHEST**2
    covariance: Matrix = np.asarray(np.linalg.inv(design.T @ weight @ design + before), dtype=np.float64)
    gain = covariance @ design.T @ weight
    point = centre + gain @ (target - design @ centre)
    misfit = target - design @ point
    told = int(np.sum(np.linalg.eigvalsh(covariance) < TOLD**2))
    silent = ~design.any(axis=1)
    alone = _alone(misfit[silent], everything[silent])
    return Solution(
        point=point,
        covariance=covariance,
        effects={source: gain @ effect for source, effect in effects.items()},
        pulls=_pulls(conditions, gain),
        untold=covariance @ before @ covariance,
        chi_square=max(float(misfit @ weight @ misfit) - alone, 0.0),
        freedom=int(np.sum(~silent)) - told,
    )


def _pulls(conditions: Sequence[Condition], gain: Matrix) -> dict[str, Vector]:
    ends = np.cumsum([len(c.target) for c in conditions])[:-1]
    parts = np.split(gain, ends, axis=1)
    return {c.name: np.linalg.norm(part, axis=1) for c, part in zip(conditions, parts, strict=True)}


def _alone(misfit: Vector, effects: Matrix) -> float:
    """Give the part of chi-square that conditions which say nothing of the point have among themselves.

    They hold the errors that others share with them, and check no place: what they leave is none of its misfit.
    """
    return float(misfit @ np.linalg.solve(effects @ effects.T, misfit)) if len(misfit) else 0.0


def _stacked(conditions: Sequence[Condition]) -> dict[str, Matrix]:
    """Give the effects of every source on all targets, zero where a condition does not share it."""
    sizes: dict[str, int] = {s: e.shape[1] for c in conditions for s, e in c.effects.items()}
    return {
        source: np.vstack([c.effects.get(source, np.zeros((len(c.target), size))) for c in conditions])
        for source, size in sizes.items()
    }


def combined(first: Effects, second: Effects, *, sign: float = 1.0, scale: float = 1.0) -> Matrix:
    """Give the covariance of ``first + sign * scale * second``, errors of one source added before they are squared.

    Returns
    -------
    ndarray, shape (3, 3)
    """
    total = np.zeros((3, 3))
    for source in dict.fromkeys((*first, *second)):
        part = _part(first, second, source, sign * scale)
        total += part @ part.T
    return total


def _part(first: Mapping[str, Matrix], second: Mapping[str, Matrix], source: str, factor: float) -> Matrix:
    if source not in second:
        return first[source]
    return first[source] + factor * second[source] if source in first else factor * second[source]


def chance_of(chi_square: float, freedom: int) -> float:
    """Give the probability that a chi-square variable is larger.

    Parameters
    ----------
    chi_square : float
    freedom : int
        Degrees of freedom; 0 gives 1.

    References
    ----------
    Abramowitz & Stegun, *Handbook of Mathematical Functions*, 26.4.4 and 26.4.5 (from memory); the tests hold it
    against scipy.

    Examples
    --------
    >>> round(chance_of(3.841, 1), 3)
    0.05
    """
    if freedom <= 0:
        return 1.0
    half = chi_square / 2
    odd = freedom % 2
    chance = math.erfc(math.sqrt(half)) if odd else math.exp(-half)
    for step in range(4 - odd, freedom + 1, 2):
        chance += math.exp((step / 2 - 1) * math.log(half) - half - math.lgamma(step / 2)) if half > 0 else 0.0
    return min(1.0, chance)
