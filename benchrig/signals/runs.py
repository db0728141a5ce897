"""Runs: the stretches of a recording in which something holds."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

import numpy as np

from benchrig.signals.body import BoolArray, IntArray


def runs(mask: BoolArray, segment: IntArray | None = None) -> list[tuple[int, int]]:
    """Give the stretches ``[start, stop)`` in which a mask holds, cut where the segment changes.

    Parameters
    ----------
    mask : ndarray, shape (N,), bool
    segment : ndarray, shape (N,), int, or None
        A new number after each gap; None where there is none.

    Examples
    --------
    >>> runs(np.array([True, True, False, True, True]), np.array([0, 0, 0, 0, 1]))
    [(0, 2), (3, 4), (4, 5)]
    """
    changes = mask[1:] != mask[:-1]
    if segment is not None:
        changes = changes | (segment[1:] != segment[:-1])
    bounds = [0, *(np.flatnonzero(changes) + 1).tolist(), len(mask)]
    return [(a, b) for a, b in itertools.pairwise(bounds) if b > a and mask[a]]


def longest(found: Iterable[tuple[int, int]]) -> tuple[int, int]:
    """Give the longest of some stretches, the first of those that are; (0, 0) where there is none.

    Examples
    --------
    >>> longest([(0, 2), (3, 9), (9, 15)]), longest([])
    ((3, 9), (0, 0))
    """
    return max(found, key=lambda run: run[1] - run[0], default=(0, 0))
