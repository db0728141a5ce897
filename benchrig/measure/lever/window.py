"""The equation of motion averaged over short windows, so that a rate need never be differentiated sample by sample.

The mean of an angular acceleration over a window is the change of the rate over its length: exact, however fast the
motion. Every other column is averaged over the same window by Simpson's rule, so all see one filter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.attitude.gyro import running_product
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import matrix_from_quaternion, quaternion_from_vector
from benchrig.signals.body import BoolArray, IntArray
from benchrig.signals.runs import runs

LENGTH: Final = 0.05
"""s: of a window."""

QUIETEST: Final = 0.001
"""m/s²: no mean over a window is surer than this, whatever it leaves over; a tenth of a mg."""

THINNED: Final = 100.0
"""Hz: more samples show nothing of motions as slow as these, and cost time."""


@dataclass(frozen=True, slots=True, eq=False)
class Windows:
    """Windows end to end, none of them across a gap or a sample that was left out.

    Attributes
    ----------
    start : ndarray, shape (W,), int
        First sample of each; the last is ``start + intervals``.
    intervals : int
        Even.
    step : float, s
        Between samples.
    """

    start: IntArray
    intervals: int
    step: float

    @property
    def length(self) -> float:
        """Of a window, s."""
        return self.intervals * self.step

    def means(self, values: Vector, shift: int = 0) -> Vector:
        """Average over each window by Simpson's rule.

        Parameters
        ----------
        values : ndarray, shape (N, ...)
        shift : int
            Samples by which the windows are taken later; -1, 0 or 1.

        Returns
        -------
        ndarray, shape (W, ...)
        """
        weights = np.full(self.intervals + 1, 2.0)
        weights[1::2] = 4.0
        weights[[0, -1]] = 1.0
        weights /= weights.sum()
        total = weights[0] * values[self.start + shift]
        for k in range(1, self.intervals + 1):
            total = total + weights[k] * values[self.start + shift + k]
        return np.asarray(total)

    def slopes(self, values: Vector, shift: int = 0) -> Vector:
        """Give the mean time derivative over each window: the change over its length.

        Returns
        -------
        ndarray, shape (W, ...)
        """
        first = self.start + shift
        slope: Vector = (values[first + self.intervals] - values[first]) / self.length
        return slope


def windows(usable: BoolArray, step: float, length: float = LENGTH) -> Windows:
    """Lay windows end to end over the samples that may be used, with one such sample to spare at either side.

    Parameters
    ----------
    usable : ndarray, shape (N,), bool
        False at samples that clipped, and at the first sample after a gap.
    step : float, s
    length : float, s
        Wanted; at least two steps are taken.

    Returns
    -------
    Windows
        Neighbours share their end sample.
    """
    intervals = 2 * max(round(length / step / 2), 1)
    starts = [np.arange(a + 1, b - intervals - 1, intervals) for a, b in runs(usable)]
    start = np.concatenate(starts) if starts else np.zeros(0)
    return Windows(start.astype(np.int64), intervals, step)


def thinned(values: Vector | BoolArray, step: float) -> Vector:
    """Average neighbouring samples of a fast recording, so that `THINNED` or a little more are left each second.

    Parameters
    ----------
    values : ndarray, shape (N, ...)
        Flags become the share of True.
    step : float, s

    Returns
    -------
    ndarray, shape (M, ...)
        The last few samples, fewer than one group, are left out.
    """
    group = group_size(step)
    whole = len(values) // group * group
    mean: Vector = values[:whole].reshape(-1, group, *values.shape[1:]).mean(axis=1)
    return mean


def group_size(step: float) -> int:
    """Give how many samples `thinned` averages to one."""
    return max(int(1 / (step * THINNED)), 1)


def cross_matrix(vectors: Vector) -> Matrix:
    """Give the matrices that cross-multiply from the left: ``cross_matrix(a) @ b`` is ``a × b``.

    Parameters
    ----------
    vectors : ndarray, shape (..., 3)

    Returns
    -------
    ndarray, shape (..., 3, 3)

    Examples
    --------
    >>> (cross_matrix(np.array([0.0, 0.0, 1.0])) @ [1.0, 0.0, 0.0]).tolist()
    [0.0, 1.0, 0.0]
    """
    x, y, z = np.moveaxis(np.asarray(vectors, dtype=np.float64), -1, 0)
    none = np.zeros_like(x)
    rows = [[none, -z, y], [z, none, -x], [-y, x, none]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def lever_matrix(rate: Vector, where: Windows, shift: int = 0) -> Matrix:
    """Give the mean of ``[α×] + [ω×]²`` over each window: times a lever arm it is the specific force that it adds.

    Parameters
    ----------
    rate : ndarray, shape (N, 3), rad/s
    where : Windows
    shift : int

    Returns
    -------
    ndarray, shape (W, 3, 3), 1/s²

    References
    ----------
    Titterton & Weston, *Strapdown Inertial Navigation Technology*, ch. 3 (from memory).
    """
    # [ω×]² = ω ωᵀ - |ω|² I
    squared = rate[:, :, None] * rate[:, None, :] - (rate**2).sum(axis=1)[:, None, None] * np.eye(3)
    return cross_matrix(where.slopes(rate, shift)) + where.means(squared, shift)


def turned_back(rate: Vector, step: float) -> Matrix:
    """Integrate body rates, and give at each sample the rotation that carries the first sample's axes into its own.

    Parameters
    ----------
    rate : ndarray, shape (N, 3), rad/s
        At even steps; integrated to the fourth order, so that a swing sampled at 100 Hz does not lose its way.
    step : float, s

    Returns
    -------
    ndarray, shape (N, 3, 3)
        ``turned_back(rate, step)[k] @ v`` is a vector that stands still, given in the axes at the first sample, as it
        looks in those at sample k.

    References
    ----------
    The two-sample rotation vector with its coning term: Bortz, "A new mathematical formulation for strapdown inertial
    navigation", IEEE Trans. AES-7(1), 1971 (from memory).
    """
    turns = np.zeros_like(rate)
    # the cubic through four samples; at both ends the trapezoid
    turns[1:] = 0.5 * (rate[1:] + rate[:-1])
    turns[2:-1] += (rate[1:-2] + rate[2:-1] - rate[:-3] - rate[3:]) / 24
    turns *= step
    turns[1:] += np.cross(rate[:-1], rate[1:]) * step**2 / 12
    attitude = matrix_from_quaternion(running_product(quaternion_from_vector(turns)))
    return np.swapaxes(attitude, -1, -2)
