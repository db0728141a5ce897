"""Steady turns: where the airframe turned at one rate about one axis."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.signals.body import IntArray
from benchrig.signals.runs import longest, runs

STEADY: Final = 0.05
"""Of the rate: by how much it may change within a spin."""

TRIM: Final = 0.25
"""s: left out at both ends of a spin and of a rest."""

_TURNING: Final = np.radians(20.0)  # rad/s
_MEAN: Final = 0.25  # s, over which the rate is looked at


@dataclass(frozen=True, slots=True, eq=False)
class SteadyTurn:
    """Samples ``[start, stop)`` of a steady turn, and its mean rate, shape (3,), rad/s."""

    start: int
    stop: int
    rate: Vector

    @property
    def speed(self) -> float:
        """Of the turn, rad/s."""
        return float(np.linalg.norm(self.rate))

    def turns(self, step: float) -> float:
        """Count whole and part turns, at `step` seconds a sample."""
        return self.speed * (self.stop - self.start) * step / (2 * np.pi)


def steady_turns(rate: Vector, segment: IntArray, step: float) -> tuple[SteadyTurn, ...]:
    """Find the longest steady part of each stretch of turning.

    Parameters
    ----------
    rate : ndarray, shape (N, 3), rad/s
        Bias taken out.
    segment : ndarray, shape (N,), int
        A new number after each gap.
    step : float, s

    Returns
    -------
    tuple of SteadyTurn
        In order of time.
    """
    size = np.linalg.norm(_running_mean(rate, step), axis=1)
    found = (_longest(rate, start, stop, step) for start, stop in runs(size > _TURNING, segment))
    return tuple(turn for turn in found if turn is not None)


def _longest(rate: Vector, start: int, stop: int, step: float) -> SteadyTurn | None:
    inside = rate[start:stop]
    smooth, middle = _running_mean(inside, step), np.median(inside, axis=0)
    first, last = 0, 0
    for _ in range(2):  # the first middle may stand in a ramp
        near = np.linalg.norm(smooth - middle, axis=1) < STEADY * np.linalg.norm(middle)
        first, last = longest(runs(near))
        if last == first:
            return None
        middle = inside[first:last].mean(axis=0)
    trim = round(TRIM / step)
    if last - first <= 4 * trim:
        return None
    inner = slice(start + first + trim, start + last - trim)
    return SteadyTurn(inner.start, inner.stop, rate[inner].mean(axis=0))


def _running_mean(values: Vector, step: float) -> Vector:
    """Average over `_MEAN` seconds about each sample; over fewer at the ends."""
    width = max(round(_MEAN / step), 1)
    total = np.vstack([np.zeros(3), np.cumsum(values, axis=0)])
    centre = np.arange(len(values))
    first, last = np.maximum(centre - width // 2, 0), np.minimum(centre + width - width // 2, len(values))
    mean: Vector = (total[last] - total[first]) / (last - first)[:, None]
    return mean
