"""Parameters from many observations that are not linear in them, with what was known before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector

_ROUNDS: Final = 40
_STEP: Final = 1e-6
_CONVERGED: Final = 1e-9
_WORTH: Final = 4.0
"""Degrees of freedom that the stated uncertainty of the observations is worth against their own scatter."""


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """What is known of P parameters: a mean, and the inverse of its covariance.

    Attributes
    ----------
    value : ndarray, shape (P,)
    precision : ndarray, shape (P, P)
        Zero where nothing is known.
    """

    value: Vector
    precision: Matrix

    @classmethod
    def independent(cls, value: Vector, spread: Vector) -> Belief:
        """Know every parameter by itself, to one standard deviation; infinity knows nothing."""
        return cls(np.asarray(value, dtype=np.float64), np.diag(1.0 / np.asarray(spread, dtype=np.float64) ** 2))


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """The parameters that fit best.

    Attributes
    ----------
    value : ndarray, shape (P,)
    covariance : ndarray, shape (P, P)
        The observations count for less where they scatter by more than was stated.
    rms : float
        Of the standardised residuals: near 1 where the stated uncertainties hold.
    freedom : float
        Observations less the parameters that they, and not prior knowledge, decided.
    """

    value: Vector
    covariance: Matrix
    rms: float
    freedom: float

    @property
    def uncertainty(self) -> Vector:
        """One standard deviation of each parameter."""
        spread: Vector = np.sqrt(np.diag(self.covariance))
        return spread


def fit_parameters(residuals: Callable[[Vector], Vector], prior: Belief) -> Fit:
    """Find the parameters that make residuals smallest, by damped Gauss-Newton steps from the prior's mean.

    Parameters
    ----------
    residuals : callable
        From parameters, shape (P,), to residuals, shape (N,), each divided by its standard deviation.
    prior : Belief

    Returns
    -------
    Fit

    Notes
    -----
    The scatter of the residuals raises the covariance, never lowers it, and weighs against the stated uncertainty as
    `_WORTH` further observations would: with few observations a lucky fit must not look exact.
    """
    value = prior.value.copy()
    found = residuals(value)
    slope = _slope(residuals, value, found)
    damping = 1e-6
    for _ in range(_ROUNDS):
        normal = slope.T @ slope + prior.precision
        downhill = -(slope.T @ found + prior.precision @ (value - prior.value))
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal) + 1e-12), downhill)
        tried = residuals(value + step)
        if not _cost(tried, value + step, prior) <= _cost(found, value, prior) * (1 + 1e-12):
            damping *= 10
            if damping > 1e6:  # noqa: PLR2004 - no direction leads further down
                break
            continue
        value, found, damping = value + step, tried, max(damping / 10, 1e-12)
        slope = _slope(residuals, value, found)
        if np.abs(step).max() < _CONVERGED:
            break
    return _summary(value, found, slope, prior)


def _cost(residual: Vector, value: Vector, prior: Belief) -> float:
    away = value - prior.value
    return float(residual @ residual + away @ prior.precision @ away)


def _slope(residuals: Callable[[Vector], Vector], value: Vector, at: Vector) -> Matrix:
    columns = []
    for k in range(len(value)):
        moved = value.copy()
        moved[k] += _STEP
        columns.append((residuals(moved) - at) / _STEP)
    return np.column_stack(columns)


def _summary(value: Vector, found: Vector, slope: Matrix, prior: Belief) -> Fit:
    information = slope.T @ slope
    covariance = np.linalg.inv(information + prior.precision)
    decided = float(np.trace(covariance @ information))
    freedom = max(len(found) - decided, 0.0)
    square = float(found @ found)
    inflation = max(1.0, (_WORTH + square) / (_WORTH + freedom))
    # what was believed before is not made doubtful by observations that scatter
    covariance = np.linalg.inv(information / inflation + prior.precision)
    return Fit(value, np.asarray(covariance, dtype=np.float64), float(np.sqrt(square / max(freedom, 1.0))), freedom)
