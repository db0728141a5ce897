"""The gyro's scale against gravity: the same turns, measured twice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.signals.body import EvenRecording
from benchrig.signals.moves import Move, scaled_rotation
from benchrig.signals.rests import Bias
from benchrig.verdict.wirings import weigh_agreement

SUSPECTS: Final = (np.pi / 180, 0.25, 1 / 3, 0.5, 0.65, 0.8, 1.0, 1.25, 1.55, 2.0, 3.0, 4.0, 180 / np.pi)
"""Factors by which a gyro's reading may have to be multiplied: ranges, units, and what lies between."""

LARGEST_RATIO_ERROR: Final = 0.15
"""How far the gyro's and gravity's angles may differ."""

_GOLDEN: Final = (np.sqrt(5) - 1) / 2
_GOOD_RESIDUAL: Final = 0.045  # g rms: below it the scale as read already tells one story
_FAR: Final = 1.3
_AT_THE_EDGE: Final = 0.95
_SMALLEST_TILT: Final = np.radians(15.0)


@dataclass(frozen=True, slots=True)
class GyroScale:
    """What the gyro's readings must be multiplied by to agree with gravity.

    Attributes
    ----------
    factor, uncertainty : float
        `uncertainty` is one standard deviation, relative.
    tilts : int
        Moves in which gravity turned far enough to count.
    """

    factor: float
    uncertainty: float
    tilts: int

    @property
    def is_off(self) -> bool:
        """Whether the angles differ by more than the limit."""
        return bool(abs(np.log(self.factor)) > np.log1p(LARGEST_RATIO_ERROR))

    @property
    def ratio(self) -> float:
        """Gyro's angle over gravity's."""
        return 1 / self.factor


def gyro_scale(even: EvenRecording, moves: Sequence[Move], bias: Bias) -> GyroScale | None:
    """Find the scale under which gyro and accelerometer tell one story, whichever way they are wired.

    Returns
    -------
    GyroScale or None
        None where no move tilts the airframe far enough.
    """
    tilts = [m for m in moves if not (m.gap or m.clipped) and m.gravity_angle >= _SMALLEST_TILT]
    if not tilts:
        return None
    likelihood, residual = weigh_agreement(tilts)
    best = int(np.argmax(likelihood))
    centre = 1.0
    if residual[best] > _GOOD_RESIDUAL:
        trials = [(s, *weigh_agreement(_rescaled(even, tilts, bias, s))) for s in SUSPECTS]
        centre, likelihood, _ = max(trials, key=lambda t: float(t[1].max()))
        best = int(np.argmax(likelihood))

    def badness(scale: float) -> float:
        return float(weigh_agreement(_rescaled(even, tilts, bias, scale), only=best)[1][0])

    reach = _FAR if centre != 1.0 else 1.0 + LARGEST_RATIO_ERROR * 1.2
    factor = _minimum(badness, centre / reach, centre * reach)
    if abs(np.log(factor / centre)) > _AT_THE_EDGE * np.log(reach):  # the minimum lies beyond what was searched
        factor = _minimum(badness, factor / _FAR, factor * _FAR)
    angle = float(np.sqrt(np.mean([m.gravity_angle**2 for m in tilts])))
    return GyroScale(factor, max(badness(factor) / (angle * np.sqrt(len(tilts))), 0.002), len(tilts))


def _rescaled(even: EvenRecording, moves: Sequence[Move], bias: Bias, scale: float) -> list[Move]:
    return [
        replace(
            m,
            rotation=scaled_rotation(even, m, bias, scale),
            mirrored_rotation=scaled_rotation(even, m, bias, -scale),
        )
        for m in moves
    ]


def _minimum(badness: Callable[[float], float], low: float, high: float) -> float:
    """Close in on the one minimum between `low` and `high` by golden section."""
    left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_left, at_right = badness(left), badness(right)
    while high - low > 2e-3 * high:
        if at_left < at_right:
            high, right, at_right = right, left, at_left
            left = high - _GOLDEN * (high - low)
            at_left = badness(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + _GOLDEN * (high - low)
            at_right = badness(right)
    return (low + high) / 2
