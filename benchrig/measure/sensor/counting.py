"""What a channel's numbers are made of: the size of one count, bits that never change, samples that are copies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.signals.runs import longest, runs

WORD: Final = 65536
"""Counts in the whole range of a 16 bit unit."""

COPIES: Final = 0.05
"""Share of rows that may repeat the row before beyond chance."""

_FEWEST: Final = 30  # different values, before a count can be told
_WHOLE: Final = 0.05  # of a count: how near to whole numbers all values must lie
_COARSE: Final = 1.4
_MOST: Final = 12  # bits


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel's numbers.

    Attributes
    ----------
    name : str
    count : float or None
        Size of one count, in the channel's SI unit; None where the numbers stand on no raster.
    noise : float or None
        Standard deviation at rest, same unit; None without a rest.
    stuck_bits : int or None
        Lowest bits that never change, against the finest raster that the unit can have; None where that is not known.
    clipped : int
        Samples at the end of the range.
    is_dead : bool
        Whether it never changes.
    """

    name: str
    count: float | None
    noise: float | None
    stuck_bits: int | None
    clipped: int
    is_dead: bool = False

    @property
    def is_coarse(self) -> bool:
        """Whether the raster hides the noise, so that a mean at rest is no better than a part of a count."""
        if self.count is None or self.noise is None:
            return False
        return bool(self.noise < self.count / np.sqrt(12) * _COARSE)

    @property
    def rounding(self) -> float | None:
        """Standard deviation that rounding to whole counts adds: a count over √12."""
        return None if self.count is None else float(self.count / np.sqrt(12))


def one_count(values: Vector) -> float | None:
    """Find the raster that all values of a channel stand on.

    Parameters
    ----------
    values : ndarray, shape (N,)

    Returns
    -------
    float or None
        None where there is none, or too few different values to tell.

    Examples
    --------
    >>> counts = np.round(np.sin(np.arange(500.0)) * 100)
    >>> round(one_count(counts * 0.061), 6)
    0.061
    """
    different = np.unique(values)
    if len(different) < _FEWEST:
        return None
    gaps = np.diff(different)
    # texts hold rounded numbers: gaps below a tenth of the usual one are that rounding, not a count
    usual = float(np.percentile(gaps, 5))
    first = float(np.median(gaps[gaps < _COARSE * usual]))
    whole = np.rint(gaps / first)
    if np.abs(gaps / first - whole).max() > 0.3 or whole.min() < 1:  # noqa: PLR2004 - of a count: no raster at all
        return None
    refined = float((different[-1] - different[0]) / whole.sum())
    counts = (different - different[0]) / refined
    return refined if np.abs(counts - np.rint(counts)).max() < _WHOLE * max(1.0, whole.max() ** 0.5) else None


def stuck_bits(count: float | None, finest: float | None) -> int | None:
    """Say how many of the lowest bits never change, from a channel's raster and the finest that the unit can have.

    Examples
    --------
    >>> stuck_bits(0.244, 0.061), stuck_bits(0.061, 0.061)
    (2, 0)
    """
    if count is None or finest is None:
        return None
    bits = round(float(np.log2(count / finest)))
    off = abs(count / finest / 2.0**bits - 1)
    return bits if 0 <= bits <= _MOST and off < 0.05 else None  # noqa: PLR2004 - no power of two: another range


def look_at_channels(values: Vector, clipped: Vector, noise: Vector | None, full_scale: float | None) -> list[Channel]:
    """Look at the three channels of one sensor.

    Parameters
    ----------
    values, clipped : ndarray, shape (N, 3)
        Numbers as read, in SI units, and whether each stands at the end of its range.
    noise : ndarray, shape (3,), or None
        Standard deviation at rest.
    full_scale : float or None
        Largest reading, where it is declared or the columns are raw counts: one count of 16 bits follows from it.

    Returns
    -------
    list of Channel
        Names without the sensor: ``x``, ``y``, ``z``.
    """
    counts = [one_count(column) for column in values.T]
    known = [count for count in counts if count is not None]
    finest = min(known) if known else None
    if finest is not None and full_scale is not None:
        word = 2 * full_scale / WORD
        # a raster that is no power of two of the declared range is that of another range or unit
        finest = word if stuck_bits(finest, word) is not None else finest
    return [
        Channel(
            name=name,
            count=count,
            noise=None if noise is None else float(noise[axis]),
            stuck_bits=stuck_bits(count, finest),
            clipped=int(clipped[:, axis].sum()),
            is_dead=bool(np.ptp(values[:, axis]) == 0),
        )
        for axis, (name, count) in enumerate(zip("xyz", counts, strict=True))
    ]


def longest_stop(values: Vector) -> int:
    """Count the rows of the longest stretch in which no channel changes.

    Parameters
    ----------
    values : ndarray, shape (N, K)

    Examples
    --------
    >>> longest_stop(np.array([[1.0], [2.0], [2.0], [2.0], [3.0]]))
    2
    """
    same = (np.diff(values, axis=0) == 0).all(axis=1)
    start, stop = longest(runs(same))
    return stop - start


def share_of_copies(values: Vector) -> float:
    """Give the share of rows that repeat the row before in every channel, beyond what chance explains.

    Parameters
    ----------
    values : ndarray, shape (N, 3)
        One sensor's channels.

    Examples
    --------
    >>> rows = np.random.default_rng(1).normal(size=(500, 3))
    >>> share_of_copies(rows), round(share_of_copies(np.repeat(rows, 2, axis=0)), 1)
    (0.0, 0.5)
    """
    same = np.diff(values, axis=0) == 0
    moving = ~same.all(axis=0)  # a dead channel repeats itself always, and says nothing
    if not moving.any():
        return 0.0
    alone = same[:, moving].mean(axis=0)
    together = float(same[:, moving].all(axis=1).mean())
    # by chance all repeat as often as the product says, copies as often as the channel that repeats least
    between = float(np.sqrt(np.prod(alone) * alone.min()))
    return together if together > max(COPIES, between) else 0.0
