"""The vertical from the accelerometer while the airframe hangs.

At rest the specific force points up the plumb line. A swing that dies away averages out; the unit's own errors do not,
and they are the same in every hang: so they are carried as one common source.

References
----------
Sizes of uncalibrated errors: data sheet PS-MPU-6000A-00 rev. 3.4, pp. 12-13 (zero-g ±50 to ±80 mg, scale ±3 %,
cross-axis ±2 %), each taken as two standard deviations. How squarely a unit is mounted, and what a calibration leaves,
is common practice with no published source.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Airframe, Calibration
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.cg.plumb import Vertical
from benchrig.measure.cg.worksheet import Hung
from benchrig.signals.body import EvenRecording
from benchrig.signals.calibration import calibrated
from benchrig.signals.time_base import uniform
from benchrig.signals.to_body import specific_force

LOCAL_GRAVITY: Final = 0.003
"""Of g: standard deviation of gravity over the world (0.53 % from the equator to the poles)."""

SHORTEST_HANG: Final = 3.0
"""s: a few swings of a hanging model."""
EDGE: Final = 0.5
"""s: left out at either end of the prompt, which is no better than that."""
WIDEST_SWING: Final = np.radians(4.0)
"""rad: standard deviation of the direction while it swings."""
FASTEST_SPIN: Final = np.radians(25.0)
"""rad/s: mean rate, bias included."""
LARGEST_SIZE_ERROR: Final = 0.12
"""Of g: beyond it the unit or its declared range is wrong."""
BIAS, CALIBRATED_BIAS = 0.035, 0.005
SCALE, CALIBRATED_SCALE = 0.015, 0.003
CROSS, CALIBRATED_CROSS = 0.010, 0.003
"""Parts of g, and pure numbers: standard deviations of the accelerometer's errors."""
MOUNTING: Final = np.radians(1.0)
"""rad: standard deviation, about each axis, of how squarely a unit is mounted."""

_LONGEST_ARM: Final = 0.3  # m, from the line to the unit: what a slow spin may add
_SMALLEST_SPREAD: Final = np.radians(0.02)
_QUARTERS: Final = 4


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """What a hang's record gave.

    Attributes
    ----------
    vertical : Vertical or None
        None where it cannot be used; `reason` says why.
    size_error : float
        By which the mean specific force differs from 1 g, as a part of it.
    size_effects : ndarray, shape (1, k)
        What the unit's errors do to it, in the order of the vertical's effects.
    """

    vertical: Vertical | None
    reason: str
    size_error: float = 0.0
    size_effects: Matrix | None = None


def vertical_of_capture(hung: Hung, airframe: Airframe, source: str) -> Stretch:
    """Give the vertical while it hung, or why there is none.

    Parameters
    ----------
    hung : Hung
    airframe : Airframe
        For the declared mounting and calibration.
    source : str
        By which the errors of this record alone are named.
    """
    even = calibrated(uniform(hung.recording, airframe.sensor), airframe.calibration)
    start, stop = _longest(even, (hung.prompt.start or 0.0) + EDGE, (hung.prompt.end or 0.0) - EDGE)
    seconds = (stop - start) * even.step
    if seconds < SHORTEST_HANG:
        wanted = f"{SHORTEST_HANG:g} s, and {EDGE:g} s more at either end"
        return Stretch(None, f"only {max(seconds, 0.0):.1f} s are free of gaps and clipping, where {wanted} are needed")
    force = specific_force(even.acceleration[start:stop], airframe.sensor)
    mean = _smooth_mean(force)
    size = float(np.linalg.norm(mean))
    up = mean / size
    swing = float(np.sqrt(np.mean(np.sum((force / size - up) ** 2, axis=1)) / 2))
    spin = float(np.linalg.norm(even.angular_rate[start:stop].mean(axis=0)))
    reason = _refusal(swing, spin, size / STANDARD_GRAVITY - 1)
    if reason:
        return Stretch(None, reason)
    spread = np.hypot(_spread(force / size), spin**2 * _LONGEST_ARM / STANDARD_GRAVITY)
    return _stretch(mean, spread, airframe, source)


def _longest(even: EvenRecording, first: float, last: float) -> tuple[int, int]:
    """Find the longest stretch without gaps and clipped samples in a span of time."""
    inside = (even.time >= first) & (even.time <= last) & ~even.accelerometer_clipped
    breaks = np.flatnonzero((np.diff(inside.astype(int)) != 0) | (np.diff(even.segment) != 0)) + 1
    bounds = [0, *breaks.tolist(), len(inside)]
    runs = [(a, b) for a, b in itertools.pairwise(bounds) if inside[a]]
    return max(runs, key=lambda run: run[1] - run[0], default=(0, 0))


def _smooth_mean(values: Vector) -> Vector:
    """Average with a weight that comes and goes gently, so that a swing cut anywhere averages out."""
    weight = np.hanning(len(values) + 2)[1:-1]
    mean: Vector = weight @ values / weight.sum()
    return mean


def _spread(directions: Vector) -> float:
    """Give the standard deviation of the mean direction, rad, from four parts."""
    parts = np.array([_smooth_mean(part) for part in np.array_split(directions, _QUARTERS)])
    of_mean = np.sqrt(np.sum(parts.var(axis=0, ddof=1)) / 2 / _QUARTERS)
    return float(max(of_mean, _SMALLEST_SPREAD))


def _refusal(swing: float, spin: float, size_error: float) -> str:
    if abs(size_error) > LARGEST_SIZE_ERROR:
        return f"the accelerometer reads {size_error:+.0%} of g too much or too little: check its unit and range"
    if swing > WIDEST_SWING:
        gate = np.degrees(WIDEST_SWING)
        return f"it swung by {np.degrees(swing):.0f}° (standard deviation), where {gate:.0f}° are the most"
    if spin > FASTEST_SPIN:
        gate = np.degrees(FASTEST_SPIN)
        return f"it turned at {np.degrees(spin):.0f} °/s on its line, where {gate:.0f} °/s are the most"
    return ""


def _stretch(mean: Vector, spread: float, airframe: Airframe, source: str) -> Stretch:
    size = float(np.linalg.norm(mean))
    up = mean / size
    push = unit_errors(up, airframe.calibration)
    mounting = airframe.sensor.body_from_sensor
    down = -mounting @ up
    tilt = -mounting @ (np.eye(3) - np.outer(up, up)) @ push
    turn = MOUNTING * np.column_stack([np.cross(axis, down) for axis in np.eye(3)])
    effects = {"accelerometer": np.hstack([tilt, turn]), source: spread * np.eye(3)}
    along = up[None, :] @ np.hstack([push, np.zeros((3, 3))])
    return Stretch(Vertical(down, effects, across=True), "", size / STANDARD_GRAVITY - 1, along)


def unit_errors(up: Vector, calibration: Calibration | None) -> Matrix:
    """Give what the unit's errors add to a reading, in parts of g and sensor axes.

    Parameters
    ----------
    up : ndarray, shape (3,)
        The true reading at rest, in g.
    calibration : Calibration or None
        As declared; what it holds is already taken out, and leaves less.

    Returns
    -------
    ndarray, shape (3, 9)
        One standard deviation of each: three biases, three scales, three cross-axis pairs.
    """
    has_bias = calibration is not None and calibration.accelerometer_bias is not None
    has_matrix = calibration is not None and calibration.accelerometer_matrix is not None
    bias = CALIBRATED_BIAS if has_bias else BIAS
    scale = CALIBRATED_SCALE if has_matrix else SCALE
    cross = CALIBRATED_CROSS if has_matrix else CROSS
    pairs = np.zeros((3, 3))
    for column, (i, j) in enumerate(((0, 1), (0, 2), (1, 2))):
        pairs[i, column], pairs[j, column] = up[j], up[i]
    return np.hstack([bias * np.eye(3), scale * np.diag(up), cross * pairs])
