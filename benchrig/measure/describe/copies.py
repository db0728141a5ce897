"""Columns that say the same: a copy in another unit, or one that was smoothed and comes later."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.describe.bins import Bins
from benchrig.measure.describe.companions import is_pulse

_ALIKE: Final = 0.985
"""Part of a copy that its original explains. Pulses that answer a gyro also hold the angle, and stay below."""

_AT_ONCE: Final = 0.6
_SHIFTED: Final = 0.85
"""Correlation below which no copy is sought, as the columns stand and at the shift that suits them best."""

_SAME_UNIT: Final = 0.25
"""By how much the spread of a smoothed copy may be off its original's."""

_FARTHEST: Final = 0.3  # s
_LATER: Final = 0.004
"""s: a copy that is later by more than this is the copy."""

_SMOOTHER: Final = 1.25
"""Times: a copy whose steps are smaller by more than this is the smoothed one."""


@dataclass(frozen=True, slots=True)
class Copy:
    """Another column that says what one says.

    Attributes
    ----------
    column : int
    correlation : float
        Negative where it has the other sign.
    later : float, s
        By how much it comes after; negative where it comes before.
    roughness : float
        How much it steps from one moment to the next, as parts of its size, against the other one.
    """

    column: int
    correlation: float
    later: float
    roughness: float

    @property
    def is_original(self) -> bool:
        """Whether it is this one that was copied: it comes first, or, at the same time, is rougher."""
        if abs(self.later) > _LATER:
            return self.later < 0
        return self.roughness > _SMOOTHER


def copies_of(bins: Bins, column: int, columns: Sequence[int]) -> list[Copy]:
    """Find the columns that say the same as one, whatever their unit, sign and smoothing."""
    reach = bins.count(_FARTHEST)
    own = _standard(bins.values[:, column])
    found = []
    for other in columns:
        if other == column:
            continue
        theirs = _standard(bins.values[:, other])
        if abs(float(own @ theirs)) < _AT_ONCE * len(own):
            continue
        correlation, shift = _best_shift(own, theirs, reach)
        if abs(correlation) >= _SHIFTED and max(_explains(own, theirs, reach), _explains(theirs, own, reach)) >= _ALIKE:
            found.append(Copy(other, correlation, shift * bins.step, _roughness(theirs) / max(_roughness(own), 1e-12)))
    return found


def without_copies(bins: Bins, columns: Sequence[int]) -> list[int]:
    """Leave out the smoothed copies of other columns in the same unit; pulses copy nothing and are copied by nothing.

    Parameters
    ----------
    bins : Bins
    columns : sequence of int

    Returns
    -------
    list of int
    """
    spread = bins.values.std(axis=0)
    sensing = [c for c in columns if not is_pulse(bins.values[:, c])]
    copies = set()
    for column in sensing:
        alike = [c for c in sensing if is_one_unit(spread[c], spread[column])]
        if any(copy.is_original and copy.correlation > 0 for copy in copies_of(bins, column, alike)):
            copies.add(column)
    return [c for c in columns if c not in copies]


def is_one_unit(spread: float, other: float) -> bool:
    """Whether two columns that say the same have about one spread, and so one unit."""
    return bool(abs(spread / other - 1) < _SAME_UNIT)


def _explains(source: Vector, copy: Vector, reach: int) -> float:
    """Give the part of a column that some smoothing of another, up to 0.3 s back, explains."""
    taps = np.lib.stride_tricks.sliding_window_view(source, reach + 3)[:, ::2]
    told = copy[reach : len(copy) - 2]
    design = np.column_stack([taps, np.ones(len(taps))])
    fitted, *_ = np.linalg.lstsq(design, told, rcond=None)
    return 1 - float(np.var(told - design @ fitted) / max(float(np.var(told)), 1e-12))


def _standard(values: Vector) -> Vector:
    spread = float(values.std())
    return (values - values.mean()) / spread if spread > 0 else np.zeros_like(values)


def _best_shift(own: Vector, other: Vector, reach: int) -> tuple[float, float]:
    """Give the best correlation and by how many bins `other` comes later, to a part of a bin."""
    inner = own[reach : len(own) - reach]
    shifted = np.lib.stride_tricks.sliding_window_view(other, len(inner))
    scores = shifted @ inner / max(float(np.sqrt(len(inner)) * np.linalg.norm(inner)), 1e-12)
    best = int(np.argmax(np.abs(scores)))
    shift = float(best)
    if 0 < best < len(scores) - 1:
        before, at, after = np.abs(scores[best - 1 : best + 2])
        bend = before - 2 * at + after
        shift += 0.5 * (before - after) / bend if bend < 0 else 0.0
    return float(np.clip(scores[best], -1.0, 1.0)), shift - reach


def _roughness(values: Vector) -> float:
    return float(np.sqrt(np.mean(np.diff(values, n=2) ** 2)))
