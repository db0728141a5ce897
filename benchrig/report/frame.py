"""The frame of a plot: which box of the picture a range of numbers fills, with its ticks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.figure import Curve, Figure
from benchrig.report.ticks import linear_ticks, logarithmic_ticks

LEFT: Final = 84.0
RIGHT: Final = 730.0
TOP: Final = 36.0
BOTTOM: Final = 386.0
_TALLEST: Final = 520.0
_LOWEST: Final = 170.0
_NARROWEST: Final = 240.0
"""Of a plan's frame, whose shape follows what it shows."""
_MARGIN: Final = 0.05
"""Of the range, left free at either end."""
_COUNTS: Final = (7.0, 6.0)
"""Of ticks along x and y, about."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: the range `low` to `high` lies between `start` and `end` of the picture."""

    low: float
    high: float
    start: float
    end: float
    logarithmic: bool
    count: float

    def place(self, values: Vector) -> Vector:
        """Give where values lie; NaN for what a logarithmic axis cannot show."""
        shown = _shown(np.asarray(values, dtype=np.float64), logarithmic=self.logarithmic)
        low, high = np.log10([self.low, self.high]) if self.logarithmic else (self.low, self.high)
        found: Vector = self.start + (self.end - self.start) * (shown - low) / (high - low)
        return found

    def ticks(self) -> list[float]:
        """Give the round numbers to mark."""
        if self.logarithmic:
            return logarithmic_ticks(self.low, self.high)
        return linear_ticks(self.low, self.high, self.count)


def _shown(values: Vector, *, logarithmic: bool) -> Vector:
    """Give the logarithm where the axis asks for it."""
    if not logarithmic:
        return values
    positive: Vector = np.where(values > 0, values, np.nan)
    return np.log10(positive)


def axes_of(figure: Figure) -> tuple[Axis, Axis] | None:
    """Choose both axes so that all points and their spreads are in the picture.

    Returns
    -------
    tuple of Axis, or None
        None where there is no point to show.
    """
    logarithmic = figure.scale == "logarithmic"
    across = _range([curve.x for curve in figure.curves], logarithmic=logarithmic)
    up = _range([part for curve in figure.curves for part in _extent(curve)], logarithmic=logarithmic)
    if across is None or up is None:
        return None
    if figure.scale == "equal":
        return _plan(across, up)
    return (
        Axis(*across, LEFT, RIGHT, logarithmic, _COUNTS[0]),
        Axis(*up, BOTTOM, TOP, logarithmic, _COUNTS[1]),
    )


def _extent(curve: Curve) -> Sequence[Vector]:
    if curve.spread is None:
        return (curve.y,)
    spread = np.where(np.isfinite(curve.spread), curve.spread, 0.0)
    return (curve.y - spread, curve.y + spread, curve.y)


def _range(parts: Sequence[Vector], *, logarithmic: bool) -> tuple[float, float] | None:
    values = np.concatenate([np.asarray(part, dtype=np.float64).ravel() for part in parts]) if parts else np.zeros(0)
    if logarithmic:
        values = values[values > 0]
    values = values[np.isfinite(values)]
    if not values.size:
        return None
    shown = np.log10(values) if logarithmic else values
    low, high = float(shown.min()), float(shown.max())
    margin = _MARGIN * (high - low) or (0.5 if logarithmic else max(0.1 * abs(high), 1e-9))
    low, high = low - margin, high + margin
    return (10.0**low, 10.0**high) if logarithmic else (low, high)


def _plan(across: tuple[float, float], up: tuple[float, float]) -> tuple[Axis, Axis]:
    """Choose a frame of about the shape of the data, in which a unit is as long along x as along y."""
    shape = (across[1] - across[0]) / (up[1] - up[0])
    height = min(max((RIGHT - LEFT) / shape, _LOWEST), _TALLEST)
    width = min(max(height * shape, _NARROWEST), RIGHT - LEFT)
    unit = max((across[1] - across[0]) / width, (up[1] - up[0]) / height)
    each = 9.0 / (RIGHT - LEFT)  # the same step along both
    return (
        Axis(*_widened(across, unit * width), LEFT, LEFT + width, logarithmic=False, count=each * width),
        Axis(*_widened(up, unit * height), TOP + height, TOP, logarithmic=False, count=each * height),
    )


def _widened(given: tuple[float, float], span: float) -> tuple[float, float]:
    middle = (given[0] + given[1]) / 2
    return middle - span / 2, middle + span / 2
