"""The magnetometer of an unknown stream: a vector that the gyro turns too, about a centre that iron moves.

With hard iron h, ``dm/dt = (m − h) × ω``. The gyro is known by now, so the changes of three columns are held against
it in every order and with every sign; what h and the gyro's bias add is free.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.describe.bins import Bins, running_mean
from benchrig.measure.describe.vectors import is_one_sensor

_SPAN: Final = 0.3  # s
_SMOOTHED: Final = 0.2  # s
_MOST_TRIPLES: Final = 14
_MOMENTS: Final = 400
_FEWEST: Final = 12  # moments, and stretches

LARGEST_LEFT: Final = 0.3
"""Part of the changes that a real compass leaves unexplained, at most: it is slow, and soft iron bends it."""

CLEARLY: Final = 0.15
"""Part of the changes below which a compass is sure: real ones in calm hands leave 0.01 to 0.1."""

_LEAD: Final = 1.5
"""Times the next order and signs leave, at least."""

_SCALE_ROOM: Final = 0.25
"""How far the turn that a compass sees may be off the gyro's: gains and soft iron."""


@dataclass(frozen=True, slots=True)
class Compass:
    """Three columns that follow the gyro as a field does.

    Attributes
    ----------
    columns : tuple of int
        In the order of the file.
    relation : tuple of tuple of float
        The turn about the compass's axes, taken as right-handed, from the gyro's: a signed permutation.
    left : float
        Part of the changes that is not explained.
    lead : float
        Times as much that the next order or sign leaves.
    size : float
        Of the field, hard iron taken off.
    iron : float
        Hard iron, as a part of that.
    """

    columns: tuple[int, int, int]
    relation: tuple[tuple[float, ...], ...]
    left: float
    lead: float
    size: float
    iron: float


def find_compass(bins: Bins, rate: Vector, columns: Sequence[int]) -> Compass | None:
    """Find the compass.

    Parameters
    ----------
    bins : Bins
    rate : ndarray, shape (N, 3), rad/s
        About the gyro's own axes, bias taken out.
    columns : sequence of int
        Among which to look.

    Returns
    -------
    Compass or None
    """
    found = [fit for triple in _likely(bins, columns) if (fit := _fit(bins, rate, triple)) is not None]
    good = [fit for fit in found if fit.left < LARGEST_LEFT and fit.lead > _LEAD]
    return min(good, key=lambda fit: fit.left, default=None)


def _likely(bins: Bins, columns: Sequence[int]) -> list[tuple[int, int, int]]:
    """Give the triples that lie nearest to a sphere about any centre."""
    moments = np.flatnonzero(~bins.broken)
    if len(moments) < _FEWEST:
        return []
    moments = moments[:: max(1, len(moments) // _MOMENTS)]
    ranked = []
    noise = bins.noise
    for triple in itertools.combinations(columns, 3):
        if not is_one_sensor(noise[list(triple)]):
            continue
        values = bins.values[moments][:, triple]
        centred = values - values.mean(axis=0)
        size = float(np.sqrt((centred**2).sum(axis=1).mean()))
        if size <= 0 or (centred.std(axis=0) < 0.02 * size).any():
            continue
        scaled = centred / size
        squares = (scaled**2).sum(axis=1)
        design = np.column_stack([scaled, np.ones(len(scaled))])
        solved, *_ = np.linalg.lstsq(design, squares, rcond=None)
        radius = float(solved[3] + (solved[:3] ** 2).sum() / 4)
        ranked.append((float(np.std(squares - design @ solved)) / max(radius, 1e-9), triple))
    return [triple for _, triple in sorted(ranked)[:_MOST_TRIPLES]]


def _fit(bins: Bins, rate: Vector, triple: tuple[int, int, int]) -> Compass | None:
    """Hold three columns against the gyro in all orders and signs."""
    values = bins.values[:, triple]
    middle = values.mean(axis=0)
    scale = float(np.sqrt(((values - middle) ** 2).sum(axis=1).mean()))
    field = (values - middle) / scale
    changes, turned, base = _stretches(bins, field, rate)
    if len(changes) < _FEWEST:
        return None
    sought, total = _without(base, changes.ravel())
    left = []
    for order in SIGNED_PERMUTATIONS[:24]:
        # the overall sign comes out of the fit, so the proper half of the maps stands for all
        feature = np.einsum("wikc,kc->wi", turned, order).ravel()
        projected, power = _without(base, feature)
        along = float(projected @ sought) / max(power, 1e-12)
        left.append((1 - along**2 * power / max(total, 1e-12), along, order))
    left.sort(key=lambda fit: fit[0])
    unexplained, along, order = left[0]
    if abs(abs(along) - 1) > _SCALE_ROOM:
        return None
    relation = np.sign(along) * order
    iron, size = _iron(field)
    return Compass(
        triple,
        tuple(tuple(row) for row in relation.tolist()),
        unexplained,
        left[1][0] / max(unexplained, 1e-9),
        size * scale,
        float(np.linalg.norm(middle / scale + iron) / max(size, 1e-9)),
    )


def _stretches(bins: Bins, field: Vector, rate: Vector) -> tuple[Vector, Vector, Vector]:
    """Give the changes over short stretches, and what a turn about each axis by each rate adds to them.

    Returns
    -------
    ndarray, shape (W, 3)
    ndarray, shape (W, 3, 3, 3)
        By stretch, component, axis of the field and axis of the rate.
    ndarray, shape (3 W, Q)
        An orthonormal base of what biases and hard iron may add.
    """
    width, span = bins.count(_SMOOTHED), bins.count(_SPAN)
    starts = np.arange(0, len(field) - span - width, span)
    gaps = np.concatenate([[0], np.cumsum(bins.broken)])
    starts = starts[gaps[starts + span + width] == gaps[starts]]
    products = (field[:, :, None] * rate[:, None, :]).reshape(len(field), 9)
    integrals = np.cumsum(np.hstack([products, field, rate]) * bins.step, axis=0)
    smooth = running_mean(np.hstack([field, integrals]), width)
    over = smooth[starts + span] - smooth[starts]
    changes, product, plain, turns = over[:, :3], over[:, 3:12].reshape(-1, 3, 3), over[:, 12:15], over[:, 15:]
    turned = np.zeros((len(starts), 3, 3, 3))
    biases = np.zeros((len(starts), 3, 3))
    for axis in range(3):
        following, last = (axis + 1) % 3, (axis + 2) % 3
        turned[:, following, axis] += product[:, last]
        turned[:, last, axis] -= product[:, following]
        biases[:, following, axis] += plain[:, last]
        biases[:, last, axis] -= plain[:, following]
    irons = np.einsum("ij,wc->wijc", np.eye(3), turns).reshape(3 * len(starts), 9)
    free = np.hstack([biases.reshape(-1, 3), irons])
    base, _ = np.linalg.qr(free) if len(starts) > 4 else (np.zeros((len(free), 0)), None)  # noqa: PLR2004 - rows
    return changes, turned, base


def _without(base: Vector, values: Vector) -> tuple[Vector, float]:
    """Take the base's part out, and give what is left and its power."""
    rest = values - base @ (base.T @ values)
    return rest, float(rest @ rest)


def _iron(field: Vector) -> tuple[Vector, float]:
    """Fit the centre of the field as the one about which its size is kept; give it and the size."""
    design = np.column_stack([2 * field, np.ones(len(field))])
    solved, *_ = np.linalg.lstsq(design, (field**2).sum(axis=1), rcond=None)
    centre = solved[:3]
    return centre, float(np.median(np.linalg.norm(field - centre, axis=1)))
