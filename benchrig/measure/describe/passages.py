"""Passages: moves of a vector from one quiet moment to the next."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.describe.bins import Bins, running_mean
from benchrig.measure.describe.vectors import Directed
from benchrig.signals.body import BoolArray, IntArray

_QUIET_SIZE: Final = 0.08
_QUIET_SPREAD: Final = 0.025
"""Of the size: how far it may be off, and vary within a fifth of a second, where the vector is taken for fixed."""

_ENOUGH: Final = 8  # passages between still moments

_QUIET_WINDOW: Final = 0.2  # s
_SETTLING: Final = 0.5  # s
_APART: Final = 0.3  # s: two moments nearer than this are one
_CHANGED: Final = np.radians(15.0)
_LONGEST: Final = 12.0  # s: beyond this the gyro's bias tells more than its rates
_MOST_PASSAGES: Final = 160


@dataclass(frozen=True, slots=True, eq=False)
class Passages:
    """Moves from one quiet moment to the next, none overlapping another, as one vector sees them.

    Attributes
    ----------
    start, stop : ndarray, shape (P,), int
        Bins.
    before, after : ndarray, shape (P, 3)
        The vector as read, as parts of its size.
    """

    start: IntArray
    stop: IntArray
    before: Vector
    after: Vector

    def __len__(self) -> int:
        return len(self.start)

    @property
    def change(self) -> Vector:
        """Angle between the vectors before and after, shape (P,), rad."""
        sine = np.linalg.norm(np.cross(self.before, self.after), axis=1)
        return np.asarray(np.arctan2(sine, np.einsum("ij,ij->i", self.before, self.after)))


def find_passages(bins: Bins, vector: Directed) -> Passages:
    """Find the moves of a vector: from the last quiet moment before it changes to the first one after.

    Quiet is still; where the unit hardly ever was still, a size that hardly changes must do.
    """
    still = _passages(bins, vector, needs_still=True)
    if len(still) >= _ENOUGH:
        return still
    steady = _passages(bins, vector, needs_still=False)
    return steady if len(steady) > len(still) else still


def _passages(bins: Bins, vector: Directed, *, needs_still: bool) -> Passages:
    width = max(bins.count(_QUIET_WINDOW), 3)
    values = vector.of(bins.values)
    means = running_mean(values, width)
    length = np.linalg.norm(means, axis=1)
    spread = _spread(values if needs_still else np.linalg.norm(values, axis=1, keepdims=True), width)
    is_quiet = (spread < _QUIET_SPREAD) & (np.abs(length - 1) < _QUIET_SIZE)
    if needs_still:
        is_quiet &= _inner(spread < _QUIET_SPREAD, width // 2)
    units = means / np.maximum(length, 1e-9)[:, None]
    read = running_mean(bins.values[:, vector.columns] / vector.size, width)
    middle = width // 2
    gaps = np.concatenate([[0], np.cumsum(bins.broken)])
    pairs = [
        (i, j)
        for i, j in _paired(np.flatnonzero(is_quiet), units, bins.step)
        if (j - i) * bins.step <= _LONGEST and gaps[j + middle + 1] == gaps[i + middle]
    ]
    if needs_still:
        reach = bins.count(_SETTLING)
        pairs = [(_calmest(is_quiet, spread, i, -reach), _calmest(is_quiet, spread, j, reach)) for i, j in pairs]
    start, stop = np.array(_best_spread(pairs), dtype=np.int64).reshape(-1, 2).T
    return Passages(start + middle, stop + middle, read[start], read[stop])


def _spread(values: Vector, width: int) -> Vector:
    """Give how much values vary within a window, the most of any column."""
    square = running_mean(values**2, width) - running_mean(values, width) ** 2
    return np.asarray(np.sqrt(np.maximum(square, 0.0)).max(axis=1))


def _calmest(is_quiet: BoolArray, spread: Vector, moment: int, reach: int) -> int:
    """Step away from a move, to the calmest moment of the rest beside it: hands have let go by then."""
    beside = range(moment, min(max(moment + reach, 0), len(spread) - 1), 1 if reach > 0 else -1)
    rest = list(itertools.takewhile(lambda at: bool(is_quiet[at]), beside))
    return min(rest, key=lambda at: float(spread[at]), default=moment)


def _inner(mask: BoolArray, margin: int) -> BoolArray:
    """Leave out the edges: a move begins and ends with a push that has the right size by chance."""
    if len(mask) <= 2 * margin:
        return np.zeros_like(mask)
    whole = running_mean(mask[:, None].astype(np.float64), 2 * margin + 1)[:, 0] > 1 - 0.5 / (2 * margin + 1)
    return np.pad(whole, margin)


def _paired(quiet: IntArray, units: Vector, step: float) -> list[tuple[int, int]]:
    """Pair quiet moments across every change of direction and every stretch that is not quiet."""
    pairs: list[tuple[int, int]] = []
    if not len(quiet):
        return pairs
    apart = max(round(_APART / step), 1)
    bound = np.cos(_CHANGED)
    anchor = last = int(quiet[0])
    for moment in quiet[1:].tolist():
        if moment - last > apart:
            pairs.append((last, moment))
            anchor = moment
        elif moment - anchor >= apart and units[moment] @ units[anchor] < bound:
            pairs.append((anchor, moment))
            anchor = moment
        elif moment - anchor > 2 * apart and units[moment] @ units[anchor] > np.cos(_CHANGED / 5):
            anchor = moment - apart  # still: the move has not begun
        last = moment
    return pairs


def _best_spread(pairs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    if len(pairs) <= _MOST_PASSAGES:
        return pairs
    chosen = np.linspace(0, len(pairs) - 1, _MOST_PASSAGES).astype(int)
    return [pairs[i] for i in chosen]
