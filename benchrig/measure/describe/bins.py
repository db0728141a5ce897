"""The columns of an unknown stream at even steps of about 20 ms: enough to follow a hand, and quick to search."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.signals.body import BoolArray

STEP: Final = 0.02
"""s: a hand turns an airframe by a few degrees in this time."""

LONGEST: Final = 45_000
"""Bins that are searched, 15 minutes of them: the liveliest stretch of a longer stream."""

_LARGEST_LEVEL: Final = 0.7
"""What a gyro reads at rest, as a part of the most it reads in a hand: its bias, which pulses and angles dwarf."""

_LONGEST_GAP: Final = 1.0  # s
_SHORT_LOSS: Final = 0.1  # s: bridged, as a hand does little in it
_BLOCK: Final = 1.0  # s: of each the calmest moment, so that every pose has its say and not the longest rest alone
_CALM_SHARE: Final = 0.8  # of the blocks
_CALM_WINDOW: Final = 0.3  # s


@dataclass(frozen=True, slots=True, eq=False)
class Bins:
    """Means of the rows in even steps of time.

    Attributes
    ----------
    step : float, s
    values : ndarray, shape (N, C)
        In the file's own units; blanks bridged.
    broken : ndarray, shape (N,), bool
        Where rows are missing.
    calm : ndarray, shape (N,), bool
        The calmest moment of every second, but for the fifth of them that is liveliest.
    lively : ndarray, shape (N,)
        How much the columns move, as parts of what each does in the middle.
    """

    step: float
    values: Vector
    broken: BoolArray
    calm: BoolArray
    lively: Vector

    @property
    def level(self) -> Vector:
        """What each column reads in the middle of the calm moments: a gyro's bias. Shape (C,)."""
        return np.asarray(np.median(self.values[self.calm], axis=0))

    def may_turn(self, column: int) -> bool:
        """Whether a column could be a gyro's: it moves about nothing by more than what it reads at rest."""
        level = float(self.level[column])
        return abs(level) < float(np.abs(self.values[:, column] - level).max()) * _LARGEST_LEVEL

    @property
    def noise(self) -> Vector:
        """How much each column steps to and fro from one bin to the next. Shape (C,)."""
        return np.asarray(np.abs(np.diff(self.values, n=2, axis=0)).mean(axis=0))

    def count(self, seconds: float) -> int:
        """Give the steps in a stretch of time, at least one."""
        return max(round(seconds / self.step), 1)


def running_mean(values: Vector, count: int) -> Vector:
    """Give the means of `count` rows each.

    Parameters
    ----------
    values : ndarray, shape (N, C)

    Returns
    -------
    ndarray, shape (N - count + 1, C)
    """
    if count <= 1:
        return values
    sums = np.cumsum(np.vstack([np.zeros((1, values.shape[1])), values]), axis=0)
    means: Vector = (sums[count:] - sums[:-count]) / count
    return means


def bin_columns(time: Vector, values: Vector) -> Bins:
    """Bring columns to even steps.

    Parameters
    ----------
    time : ndarray, shape (R,), s
        From zero, increasing.
    values : ndarray, shape (R, C)

    Returns
    -------
    Bins
    """
    steps = np.diff(time)
    row_step = float(np.median(steps))
    # nothing is searched across a gap, so a long one need not be filled with empty bins
    time = np.concatenate([[0.0], np.cumsum(np.minimum(steps, max(_LONGEST_GAP, 4 * row_step)))])
    # a whole number of rows to a bin, so that no bin is empty by chance
    step = row_step * max(1, round(STEP / row_step))
    number = np.floor(time / step + 0.5).astype(np.int64)
    count = int(number[-1]) + 1
    binned = np.column_stack([_means(number, values[:, c], count) for c in range(values.shape[1])])
    broken = _broken(time, number, count, row_step)
    lively = _liveliness(binned, max(round(_CALM_WINDOW / step), 3))
    if count > LONGEST:
        binned, broken, lively = _liveliest(binned, broken, lively)
    return Bins(step, binned, broken, _calm(lively, broken, max(round(_BLOCK / step), 1)), lively)


def _means(number: np.ndarray, column: Vector, count: int) -> Vector:
    """Give a column's mean in each bin; empty ones are bridged by a straight line."""
    there = np.isfinite(column)
    if not there.any():
        return np.zeros(count)
    filled = np.bincount(number[there], minlength=count)
    sums = np.bincount(number[there], weights=column[there], minlength=count)
    at = np.flatnonzero(filled)
    return np.interp(np.arange(count), at, sums[at] / filled[at])


def _broken(time: Vector, number: np.ndarray, count: int, row_step: float) -> BoolArray:
    broken = np.zeros(count, dtype=np.bool_)
    for row in np.flatnonzero(np.diff(time) > max(3 * row_step, _SHORT_LOSS)):
        broken[number[row] : number[row + 1] + 1] = True
    return broken


def _liveliness(values: Vector, width: int) -> Vector:
    """Give how much the columns move in the time around each bin: the middle one of them, each by its own measure."""
    centred = values - np.median(values, axis=0)
    size = centred.std(axis=0)
    moving = size > 0
    if not moving.any() or len(values) <= width:
        return np.zeros(len(values))
    scaled = centred[:, moving] / size[moving]
    spread = np.sqrt(np.maximum(running_mean(scaled**2, width) - running_mean(scaled, width) ** 2, 0.0))
    usual = np.maximum(np.median(spread, axis=0), 1e-6)
    middle = np.median(spread / usual, axis=1)
    ends = width // 2, len(values) - len(middle) - width // 2
    return np.pad(middle, ends, mode="edge")


def _calm(lively: Vector, broken: BoolArray, block: int) -> BoolArray:
    restless = np.where(broken, np.inf, lively)
    block = min(block, len(restless))
    whole = len(restless) // block * block
    calmest = restless[:whole].reshape(-1, block).argmin(axis=1) + block * np.arange(whole // block)
    calm = np.zeros(len(lively), dtype=np.bool_)
    bound = np.quantile(lively[calmest], _CALM_SHARE)
    calm[calmest[lively[calmest] <= bound]] = True
    return calm


def _liveliest(values: Vector, broken: BoolArray, lively: Vector) -> tuple[Vector, BoolArray, Vector]:
    sums = np.concatenate([[0.0], np.cumsum(np.minimum(lively, 10.0))])
    start = int(np.argmax(sums[LONGEST:] - sums[:-LONGEST]))
    part = slice(start, start + LONGEST)
    return values[part], broken[part], lively[part]
