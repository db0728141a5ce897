"""Triples of columns that keep their size while they change direction: gravity in a turning unit, or a field."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.describe.bins import Bins

LARGEST_SPREAD: Final = 0.2
"""Of the size, 80 % of the calm moments within it: a poor accelerometer's bias makes 7 %, hard iron more."""

_SMALLEST_SWING: Final = 0.004
"""How far the mean of the unit vectors must stay below one: 0.004 is a tenth of the moments at 16°."""

_SMALLEST_PART: Final = 0.1
"""Of the size: a column that is smaller than this throughout could be anything."""

MOST_UNLIKE: Final = 8.0
"""Times: how much noisier one axis of a sensor may be than another; two sensors differ by more, in most units."""

_USUAL_BIAS: Final = 0.06
_READ_WITHIN: Final = 0.1
"""Of the size: a usual bias, and how well one calm moment shows the square of it."""

_MOMENTS: Final = 500
_FEWEST_MOMENTS: Final = 6
_MOST: Final = 24


@dataclass(frozen=True, slots=True, eq=False)
class Directed:
    """Three columns that keep their size.

    Attributes
    ----------
    columns : tuple of int
        In the order of the file.
    size : float
        In the columns' own unit.
    spread : float
        80 % of the calm moments lie within this part of the size.
    centre : ndarray, shape (3,)
        What the columns read where nothing is felt: a bias, as far as the calm moments show it.
    """

    columns: tuple[int, int, int]
    size: float
    spread: float
    centre: Vector

    def of(self, values: Vector) -> Vector:
        """Give the vector, its centre taken off, as parts of its size.

        Parameters
        ----------
        values : ndarray, shape (N, C)
            All columns.

        Returns
        -------
        ndarray, shape (N, 3)
        """
        return np.asarray((values[:, self.columns] - self.centre) / self.size)


def find_directed(bins: Bins, columns: list[int]) -> list[Directed]:
    """Find the triples that keep their size best, best first.

    Parameters
    ----------
    columns : list of int
        Among which to look.

    Returns
    -------
    list of Directed
        At most two dozen.
    """
    moments = np.flatnonzero(bins.calm)
    if len(moments) < _FEWEST_MOMENTS:
        return []
    moments = moments[:: max(1, len(moments) // _MOMENTS)]
    values, noise = bins.values[moments], bins.noise
    found = []
    for chosen in itertools.combinations(columns, 3):
        if not is_one_sensor(noise[list(chosen)]):
            continue
        directed = _directed(values[:, chosen], chosen)
        if directed is not None:
            found.append(directed)
    return sorted(found, key=lambda d: d.spread)[:_MOST]


def is_one_sensor(noise: Vector) -> bool:
    """Whether three columns are as noisy as each other, as those of one sensor are; angles beside a field are not."""
    return bool(noise.min() * MOST_UNLIKE > noise.max())


def _directed(values: Vector, columns: tuple[int, int, int]) -> Directed | None:
    sizes = np.sqrt(np.einsum("ij,ij->i", values, values))
    size = float(np.median(sizes))
    if size <= 0 or float(np.quantile(np.abs(sizes / size - 1), 0.8)) > 1.5 * LARGEST_SPREAD:
        return None
    centre, size = _sphere(values, size)
    values = values - centre
    sizes = np.sqrt(np.einsum("ij,ij->i", values, values))
    spread = float(np.quantile(np.abs(sizes / size - 1), 0.8))
    if spread > LARGEST_SPREAD:
        return None
    units = values / np.maximum(sizes, 1e-12 * size)[:, None]
    swing = 1 - float(np.linalg.norm(units.mean(axis=0)))
    parts = np.quantile(np.abs(units), 0.98, axis=0)
    if swing < _SMALLEST_SWING or parts.min() < _SMALLEST_PART:
        return None
    return Directed(columns, size, spread, centre)


def _sphere(values: Vector, size: float) -> tuple[Vector, float]:
    """Fit centre and radius to points near a sphere; a few poses leave the centre near zero."""
    scaled = values / size
    squares = np.einsum("ij,ij->i", scaled, scaled)
    # |x|² = 2 c·x + r² − |c|², with c held near zero by a bias that a usual sensor may have
    design = np.column_stack([2 * scaled, np.ones(len(scaled))])
    held = np.diag([1 / _USUAL_BIAS**2] * 3 + [0.0])
    normal = design.T @ design / _READ_WITHIN**2 + held
    found = np.linalg.solve(normal, design.T @ squares / _READ_WITHIN**2)
    centre = found[:3]
    radius = float(np.median(np.linalg.norm(scaled - centre, axis=1)))
    return centre * size, radius * size
