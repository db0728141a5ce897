"""How much of each kind of noise an Allan curve holds: a fit of the terms of IEEE 952 to all its points at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.chi_square import excess
from benchrig.measure.noise.allan_design import AllanDesign

QUANTISATION, WHITE, FLICKER, RANDOM_WALK, RAMP = range(5)

LATEST_START: Final = 1.0
"""s: the fit begins at the shortest averaging time from which the terms explain the curve, and no later than here,
where the white noise is read."""

MODEL_ERROR: Final = 0.01
"""Of a deviation: how exactly the noise of a real unit is taken to follow the terms (common practice, no source)."""

_MODELS: Final = (
    (QUANTISATION, WHITE),
    (QUANTISATION, WHITE, FLICKER),
    (QUANTISATION, WHITE, RANDOM_WALK),
    (QUANTISATION, WHITE, FLICKER, RANDOM_WALK),
    (QUANTISATION, WHITE, FLICKER, RANDOM_WALK, RAMP),
)
"""From the plainest: the first that explains the curve is taken."""

_LARGEST_EXCESS: Final = 1.645  # one true model in twenty is refused
_LARGEST_LOSS: Final = 0.25  # of the white noise, to the unit's own filter, at the first point of the fit
_LARGEST_NEGATIVE: Final = 2.0
_FEWEST_POINTS: Final = 4
_ROUNDS: Final = 4


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """The terms that explain a curve.

    Attributes
    ----------
    squares, uncertainties : ndarray, shape (5,)
        The squared size of each term (Q², N², B², K², R²) and one standard deviation of it; NaN where it is left out.
        Q² may be negative: then the unit's own filter takes that much away at short times.
    start : int
        The first point used.
    excess : float
        By how many standard deviations the curve differs more from the terms than it should.
    """

    squares: Vector
    uncertainties: Vector
    start: int
    excess: float

    def size(self, term: int) -> tuple[float, float]:
        """Give the size of a term and one standard deviation of it."""
        root = float(np.sqrt(self.squares[term]))
        return root, float(self.uncertainties[term]) / (2 * root)

    def sureness(self, term: int) -> float:
        """Give the squared size in its standard deviations; 0 for a term that is left out."""
        return float(np.nan_to_num(self.squares[term] / self.uncertainties[term]))

    @property
    def fits(self) -> bool:
        """Whether the terms explain the curve and none is negative that cannot be."""
        ratios = np.nan_to_num(self.squares / self.uncertainties)[WHITE:]
        return self.excess < _LARGEST_EXCESS and bool((ratios > -_LARGEST_NEGATIVE).all())


def fit_terms(plan: AllanDesign, variances: Vector) -> Fit | None:
    """Find the plainest sum of terms that explains an Allan curve, from as short a time as it does.

    Parameters
    ----------
    plan : AllanDesign
    variances : ndarray, shape (A,)

    Returns
    -------
    Fit or None
        None where no sum of terms explains the curve.
    """
    for start in range(len(plan.tau) - _FEWEST_POINTS + 1):
        if plan.tau[start] > LATEST_START:
            break
        for model in _MODELS:
            found = fit_model(plan, variances, model, start)
            if found is not None and found.fits and _filter_is_far(plan, found):
                return found
    return None


def fuller_fit(plan: AllanDesign, variances: Vector, start: int, *, ramp: bool) -> Fit | None:
    """Fit flicker and random walk together, so that neither is taken for the other.

    Parameters
    ----------
    plan : AllanDesign
    variances : ndarray, shape (A,)
    start : int
        As `fit_terms` found it.
    ramp : bool
        Whether a steady drift is always fitted too; otherwise only where the curve asks for it.

    Returns
    -------
    Fit or None
        None where there are too few points.
    """
    without = fit_model(plan, variances, _MODELS[-2], start)
    if not ramp and without is not None and without.fits:
        return without
    return fit_model(plan, variances, _MODELS[-1], start)


def fit_model(plan: AllanDesign, variances: Vector, model: tuple[int, ...], start: int) -> Fit | None:
    """Fit these terms by least squares, each point weighed by how it varies with all others under the fit itself.

    Parameters
    ----------
    plan : AllanDesign
    variances : ndarray, shape (A,)
    model : tuple of int
        Columns.
    start : int

    Returns
    -------
    Fit or None
        None where there are no more points than terms.
    """
    free = len(variances) - start - len(model)
    if free < 1:
        return None
    columns, read = plan.columns[start:, list(model)], variances[start:]
    first = np.zeros(len(plan.columns[0]))
    first[WHITE] = float(np.median(variances * plan.tau))
    squares, spread, misfit = first, np.zeros(len(model)), 0.0
    for _ in range(_ROUNDS):
        covariance = plan.covariance(squares)[start:, start:] + np.diag((2 * MODEL_ERROR * read) ** 2)
        inverse = np.linalg.inv(covariance)
        normal = columns.T @ inverse @ columns
        scale = np.sqrt(np.diag(normal))
        inverted = np.linalg.inv(normal / np.outer(scale, scale)) / np.outer(scale, scale)
        sizes = inverted @ (columns.T @ inverse @ read)
        left = read - columns @ sizes
        misfit, spread = float(left @ inverse @ left), np.sqrt(np.diag(inverted))
        squares = np.zeros(len(first))
        squares[list(model)] = sizes
        if squares[WHITE:RAMP].max() <= 0:
            squares = first
    found, uncertainties = np.full((2, len(first)), np.nan)
    found[list(model)], uncertainties[list(model)] = sizes, spread
    return Fit(found, uncertainties, start, excess(misfit, free))


def _filter_is_far(plan: AllanDesign, found: Fit) -> bool:
    """Tell whether one term can hold what the unit's filter takes away: only well beyond the filter's own time."""
    tau = plan.tau[found.start]
    return bool(-3 * found.squares[QUANTISATION] / tau <= _LARGEST_LOSS * found.squares[WHITE])
