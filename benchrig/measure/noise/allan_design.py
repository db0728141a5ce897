"""What Allan variances a still recording gives, and how they vary together from one such recording to the next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.noise.allan import differences, phase_of
from benchrig.signals.body import IntArray

FEWEST_SPANS: Final = 6
"""The longest averaging time fits so many times into the longest stretch."""

FLAT: Final = 2 * np.log(2) / np.pi
"""Variance of flicker noise of size B = 1: the deviation is flat at √(2 ln 2/π) B = 0.664 B."""

TERMS: Final = ("quantisation", "white", "flicker", "random walk", "ramp")
"""Q, N, B, K and R, in the order of the columns; their deviations go as τ to the -1, -1/2, 0, 1/2 and 1."""

_FREQUENCIES: Final = 6000
_RANDOM: Final = 4  # terms that are noise; the ramp is none


@dataclass(frozen=True, slots=True, eq=False)
class AllanDesign:
    """The averaging times of some stretches, and what the Allan variances at them are made of.

    Attributes
    ----------
    factors : ndarray, shape (A,), int
        1, 2, 4 …
    tau : ndarray, shape (A,), s
    columns : ndarray, shape (A, 5)
        Variance that each of `TERMS` gives with size 1: 3/τ², 1/τ, 2 ln 2/π, τ/3 and τ²/2.
    shared : ndarray, shape (4, 4, A, A)
        Covariance of the variances, by the sizes squared of each two noise terms.
    """

    factors: IntArray
    tau: Vector
    columns: Matrix
    shared: Vector

    def covariance(self, squares: Vector) -> Matrix:
        """Give the covariance of the Allan variances, shape (A, A), for the squared sizes of `TERMS`, shape (5,)."""
        sizes = np.maximum(squares[:_RANDOM], 0.0)
        return np.asarray(np.einsum("a,b,abij->ij", sizes, sizes, self.shared))

    def freedom(self, squares: Vector) -> Vector:
        """Give the effective degrees of freedom of each Allan variance, shape (A,)."""
        variances = self.columns @ squares
        return np.asarray(2 * variances**2 / np.diag(self.covariance(squares)))


def design(lengths: Sequence[int], step: float) -> AllanDesign:
    r"""Work out what stretches of these lengths can tell.

    The overlapping second differences are the noise through a filter of known gain; the covariance of the means of two
    such squares follows from their common spectrum: :math:`2\,\sum_k R_{ij}(k)^2` over the lags, by Parseval.

    Parameters
    ----------
    lengths : sequence of int
        Samples of each stretch; nothing is averaged across two of them.
    step : float, s

    Returns
    -------
    AllanDesign
        Without averaging times where the longest stretch has fewer than `FEWEST_SPANS` samples.

    References
    ----------
    IEEE Std 952-1997, annex C (the terms; from memory, read points confirmed); C. A. Greenhall, W. J. Riley,
    Uncertainty of stability variances based on finite differences, 35th PTTI, 2003 (degrees of freedom; from memory).
    """
    longest = max(lengths, default=0)
    count = int(np.log2(longest / FEWEST_SPANS)) + 1 if longest >= FEWEST_SPANS else 0
    factors: IntArray = 2 ** np.arange(count, dtype=np.int64)
    tau: Vector = factors * np.float64(step)
    columns = np.column_stack([3 / tau**2, 1 / tau, np.full(len(tau), FLAT), tau / 3, tau**2 / 2])
    frequency = np.geomspace(1 / (20 * max(longest, 1) * step), 0.5 / step, _FREQUENCIES)
    width = np.gradient(frequency)
    turn = 2 * np.pi * frequency
    gain = 2 * np.sin(turn * tau[:, None] / 2) ** 4 / (factors[:, None] ** 2 * np.sin(turn * step / 2) ** 2)
    spectra = [4 * np.sin(turn * step / 2) ** 2 / step, np.ones(_FREQUENCIES), 1 / turn, 1 / turn**2]
    terms = np.array([[max(length - 2 * m + 1, 0) for length in lengths] for m in factors], dtype=np.float64)
    common = np.minimum(terms[:, None, :], terms[None, :, :]).sum(axis=2)
    weight = 4 / step * common / np.outer(terms.sum(axis=1), terms.sum(axis=1))
    shared = np.array([[(gain * (one * two * width)) @ gain.T * weight for one in spectra] for two in spectra])
    return AllanDesign(factors, tau, columns, shared.reshape(_RANDOM, _RANDOM, len(tau), len(tau)))


def allan_variances(stretches: Sequence[Vector], step: float, factors: IntArray) -> Vector:
    """Give the overlapping Allan variance of one channel over several stretches, shape (len(factors),)."""
    phases = [phase_of(stretch, step) for stretch in stretches]
    means = []
    for factor in factors.tolist():
        parts = [differences(phase, factor) for phase in phases]
        total = sum(float(part @ part) for part in parts)
        means.append(total / (2 * (factor * step) ** 2 * sum(len(part) for part in parts)))
    return np.array(means)
