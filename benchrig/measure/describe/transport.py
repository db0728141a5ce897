"""Which columns turn a vector: a first search by linear regression, over all orders and signs of three columns.

A vector that is fixed in the world, seen from a turning body, obeys ``da/dt = a × ω``, which is linear in ω. Over
short stretches ``Δa = ∫ a × ω dt``: every column is tried as every component of ω, and the triples that explain most
of Δa under one scale are kept for the exact search.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.describe.bins import Bins, running_mean
from benchrig.measure.describe.vectors import Directed

SPAN: Final = 0.25
"""s: over which a change of the vector is explained; long against a sensor's delay, short against a move."""

_SMOOTHED: Final = 0.14  # s
_FORCED: Final = 0.05  # of the size: by as much a hand's own acceleration changes it in an easy move
_MOST_STRETCHES: Final = 1200
_COLUMNS_AN_AXIS: Final = 10
_FEWEST_STRETCHES: Final = 12
_SIGNS: Final = np.array([[1, 1, 1], [1, 1, -1], [1, -1, 1], [-1, 1, 1]], dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Turner:
    """Three columns as the components of ω about the axes of a vector's columns.

    Attributes
    ----------
    columns : tuple of int
        Of ω about the first, second and third axis.
    signs : tuple of int
        1 or -1 each.
    scale : float, rad/s
        To one of the columns' own unit.
    unexplained : float
        Part of the changes of the vector that is left.
    """

    columns: tuple[int, int, int]
    signs: tuple[int, int, int]
    scale: float
    unexplained: float


@dataclass(frozen=True, slots=True, eq=False)
class _Normal:
    """Normal equations of the regression: ``matrix @ coefficients = right``, by axis and column."""

    matrix: Vector
    right: Vector
    total: float


def search_turners(bins: Bins, vector: Directed, columns: list[int], most: int) -> list[Turner]:
    """Find the triples of columns that may turn a vector, best first.

    Parameters
    ----------
    bins : Bins
    vector : Directed
    columns : list of int
        Among which ω's components are sought.
    most : int

    Returns
    -------
    list of Turner
        Empty where nothing turns.
    """
    if len(columns) < 3:  # noqa: PLR2004 - a triple
        return []
    rates = bins.values[:, columns] - bins.level[columns]
    size = rates.std(axis=0)
    size[size == 0] = 1.0
    normal = _regress(bins, vector, rates / size)
    if normal is None:
        return []
    count = len(columns)
    scaled = np.tile(size, 3)
    matrix, right = normal.matrix * np.outer(scaled, scaled), normal.right * scaled
    alone = np.where(np.diag(matrix) > 0, right**2 / np.maximum(np.diag(matrix), 1e-300), 0.0).reshape(3, count)
    likely = [np.argsort(-alone[axis])[:_COLUMNS_AN_AXIS].tolist() for axis in range(3)]
    orders = np.array([order for order in itertools.product(*likely) if len(set(order)) == 3])  # noqa: PLR2004 - three axes
    places = orders + count * np.arange(3)
    blocks, sides = matrix[places[:, :, None], places[:, None, :]], right[places]
    along = sides @ _SIGNS.T
    length = np.maximum(np.einsum("si,oij,sj->os", _SIGNS, blocks, _SIGNS), 1e-300)
    explained = along**2 / length
    found = []
    for flat in np.argsort(-explained, axis=None)[:most]:
        order, sign = np.unravel_index(flat, explained.shape)
        scale = float(along[order, sign] / length[order, sign])
        signs = (np.sign(scale) * _SIGNS[sign]).astype(int).tolist()
        chosen = tuple(columns[c] for c in orders[order])
        left = 1 - float(explained[order, sign]) / normal.total
        found.append(Turner((chosen[0], chosen[1], chosen[2]), (signs[0], signs[1], signs[2]), abs(scale), left))
    return found


def _regress(bins: Bins, vector: Directed, rates: Vector) -> _Normal | None:
    """Set up the regression of the vector's changes on all columns about all axes, biases projected out."""
    force = vector.of(bins.values)
    width, span = bins.count(_SMOOTHED), bins.count(SPAN)
    smooth = running_mean(force, width)
    starts = np.arange(0, len(smooth) - span, span)
    gaps = np.concatenate([[0], np.cumsum(bins.broken)])
    starts = starts[gaps[starts + span + width - 1] == gaps[starts]]
    sizes = np.linalg.norm(smooth, axis=1)
    if len(starts) < _FEWEST_STRETCHES:
        return None
    off = np.max([np.abs(sizes[starts + i] - 1) for i in range(span + 1)], axis=0)
    weight = 1 / (1 + (off / _FORCED) ** 2) ** 2
    change = smooth[starts + span] - smooth[starts]
    best = np.argsort(-weight * np.linalg.norm(change, axis=1))[:_MOST_STRETCHES]
    starts, weight, change = starts[best], weight[best], change[best]
    root = np.sqrt(weight)
    features, biases = _features(bins, force, rates, (width, span), starts)
    wide = (features * root[:, None, None, None]).reshape(3 * len(starts), -1)
    narrow = (biases * root[:, None, None]).reshape(3 * len(starts), 3)
    sought = (change * root[:, None]).ravel()
    base, _ = np.linalg.qr(narrow)
    wide = wide - base @ (base.T @ wide)
    sought = sought - base @ (base.T @ sought)
    total = float(sought @ sought)
    return _Normal(wide.T @ wide, wide.T @ sought, total) if total > 0 else None


def _features(
    bins: Bins, force: Vector, rates: Vector, sizes: tuple[int, int], starts: np.ndarray
) -> tuple[Vector, Vector]:
    """Integrate ``a × e_k g_c`` over every stretch, smoothed as the vector itself is.

    Returns
    -------
    ndarray, shape (W, 3, 3, C)
        By stretch, component, axis k and column c.
    ndarray, shape (W, 3, 3)
        The same for a constant rate.
    """
    width, span = sizes
    count = rates.shape[1]
    columns = np.column_stack([rates, np.ones(len(rates))])
    products = (force[:, :, None] * columns[:, None, :]).reshape(len(force), -1)
    integral = np.zeros_like(products)
    integral[1:] = np.cumsum(0.5 * bins.step * (products[1:] + products[:-1]), axis=0)
    sums = np.cumsum(np.vstack([np.zeros(integral.shape[1]), integral]), axis=0)
    late, early = starts + span, starts
    over = (sums[late + width] - sums[late] - sums[early + width] + sums[early]) / width
    over = over.reshape(len(starts), 3, count + 1)
    turned = np.zeros((len(starts), 3, 3, count + 1))
    for axis in range(3):
        following, last = (axis + 1) % 3, (axis + 2) % 3
        # (a × e_k) = a_j e_i − a_i e_j for the cyclic order i, j, k
        turned[:, following, axis] += over[:, last]
        turned[:, last, axis] -= over[:, following]
    return turned[..., :count], turned[..., count]
