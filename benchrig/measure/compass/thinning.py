"""Long stretches at the rate that a turn by hand needs: more rows cost minutes and say nothing new."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.compass.stretch import MOVING_SPREAD, Stretch
from benchrig.signals.body import IntArray

RATE: Final = 50.0
"""Hz: nodes that are kept; a hand turns by a degree or two between them."""

LONG: Final = 20_000
"""Samples: shorter stretches are taken as they are."""

SAMPLES: Final = 6000
"""Readings of one stretch that are used, evenly spread: a minute at 100 Hz, and more says hardly anything new."""


_ROUNDING: Final = 1e-6


def thinned(stretch: Stretch) -> Stretch:
    """Average a long stretch to nodes about `RATE` apart; keep `SAMPLES` of its readings, and of gravity, at most.

    Rates become means about each node, so that their integral stays. Readings become means about each node that has
    any, moved to the node itself by those of its neighbours.
    """
    every = int(1.0 / (RATE * stretch.step) + _ROUNDING)
    if len(stretch.time) >= LONG and every > 1:
        stretch = _averaged(stretch, every)
    few = _spread(np.arange(len(stretch.chosen)))
    resting = stretch.force_spread < MOVING_SPREAD
    felt = np.sort(np.concatenate([np.flatnonzero(resting), _spread(np.flatnonzero(~resting))]))
    return replace(
        stretch,
        felt=stretch.felt[felt],
        force=stretch.force[felt],
        force_spread=stretch.force_spread[felt],
        chosen=stretch.chosen[few],
        reading=stretch.reading[few],
    )


def _spread(among: IntArray) -> IntArray:
    """Give `SAMPLES` of them at most, evenly spread."""
    few = np.round(np.linspace(0, len(among) - 1, min(SAMPLES, len(among)))).astype(np.int64)
    return among[few]


def _averaged(stretch: Stretch, every: int) -> Stretch:
    count = (len(stretch.time) - 1) // every + 1
    kept = slice(0, (count - 1) * every + 1, every)
    last = count - 1
    node = np.minimum((stretch.chosen + every // 2) // every, last)
    known, inverse, number = np.unique(node, return_inverse=True, return_counts=True)
    at = np.bincount(inverse, stretch.chosen.astype(np.float64)) / number
    means = [np.bincount(inverse, column) / number for column in stretch.reading.T]
    return replace(
        stretch,
        time=stretch.time[kept],
        step=stretch.step * every,
        rate=_means(stretch.rate, every, count),
        felt=np.minimum((stretch.felt + every // 2) // every, last),
        anchor=min((stretch.anchor + every // 2) // every, last),
        chosen=known,
        reading=np.column_stack([np.interp(known * float(every), at, mean) for mean in means]),
    )


def _means(values: Vector, every: int, count: int) -> Vector:
    """Give the mean over one node's distance about each node, over as much of it as there is at the ends."""
    sums = np.zeros_like(values)
    np.cumsum(0.5 * (values[1:] + values[:-1]), axis=0, out=sums[1:])
    index, middle = np.arange(len(values)), every * np.arange(count, dtype=np.float64)
    low, high = np.maximum(middle - every / 2, 0.0), np.minimum(middle + every / 2, len(values) - 1.0)
    return np.column_stack([(np.interp(high, index, c) - np.interp(low, index, c)) / (high - low) for c in sums.T])
