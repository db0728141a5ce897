"""The delay between gyro and accelerometer, from moves in which both see gravity turn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from benchrig.attitude.gyro import running_product
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import matrix_from_quaternion, quaternion_from_vector
from benchrig.measure.lever.window import cross_matrix
from benchrig.signals.body import EvenRecording, IntArray
from benchrig.signals.rests import Rest

LONGEST_DELAY: Final = 0.1
"""s: farther apart the two are not looked for."""

FEWEST: Final = 3
"""Stretches: fewer give no scatter to judge by."""

SMALLEST_TILT: Final = np.radians(15.0)
LONGEST_STRETCH: Final = 8.0
"""rad, s: of a stretch that counts."""

_SMOOTHING: Final = 0.05  # s: the same mean over every column, so that it delays none against another
_COARSE: Final = 0.004
_USUAL: Final = 0.002  # s: by which single stretches differ where hands turn the airframe
_REFINEMENTS: Final = 3
_HALVES: Final = 5


@dataclass(frozen=True, slots=True)
class Delay:
    """By how much the accelerometer comes after the gyro.

    Attributes
    ----------
    value, uncertainty : float, s
        Positive: the accelerometer is late.
    stretches : int
    """

    value: float
    uncertainty: float
    stretches: int


@dataclass(frozen=True, slots=True, eq=False)
class _Model:
    """What an accelerometer feels in one stretch, as the gyro tells it; even steps.

    Attributes
    ----------
    columns : ndarray, shape (N, 3, 9)
        What a unit of gravity along each axis of the start, of lever arm, and of the hand's own push would add.
    force : ndarray, shape (N, 3), m/s²
    step : float, s
    """

    columns: Matrix
    force: Vector
    step: float

    def left(self, delay: float) -> float:
        """Give the sum of squares that the best gravity, lever arm and push leave at this delay."""
        rows = np.arange(self.reach, len(self.force) - self.reach, self.every)
        columns = _later(self.columns, rows, delay / self.step).reshape(-1, self.columns.shape[2])
        force = self.force[rows].reshape(-1)
        normal = columns.T @ columns
        # a turn about one axis shows no lever arm along it: that column is empty
        normal += 1e-9 * np.trace(normal) * np.eye(len(normal))
        best = np.linalg.solve(normal, columns.T @ force)
        return float(np.sum((force - columns @ best) ** 2))

    @property
    def reach(self) -> int:
        """Samples at either end that only serve to be shifted."""
        return int(np.ceil(LONGEST_DELAY / self.step)) + 3

    @property
    def every(self) -> int:
        """Samples from one compared to the next: smoothed ones are alike."""
        return max(round(_SMOOTHING / self.step) // 2, 1)

    @property
    def compared(self) -> float:
        """Numbers that are compared."""
        return 3 * (len(self.force) - 2 * self.reach) / self.every


def sensor_delay(even: EvenRecording, rests: Sequence[Rest], gyro: Matrix, force: Vector, bias: Vector) -> Delay | None:
    """Find how much later than the gyro the accelerometer shows the same moves.

    From one bench rest to the next, gravity's direction, a lever arm from the point that the airframe turns about, and
    a push in step with the turn are fitted together with the delay: whatever the hand does, they must not pass for a
    delay. A move out and back is one stretch, in which the hand's own errors largely cancel.

    Parameters
    ----------
    even : EvenRecording
    rests : sequence of Rest
    gyro : ndarray, shape (3, 3)
        Matrix for the rates, the bias taken out.
    force : ndarray, shape (N, 3), m/s²
        The accelerometer, its own errors taken out as far as they are known.
    bias : ndarray, shape (3,), rad/s

    Returns
    -------
    Delay or None
        None with fewer than `FEWEST` stretches in which gravity turns far enough.
    """
    bench = [r for r in rests if r.grade == "bench"]
    rate = (even.angular_rate - bias) @ gyro.T
    models = [m for a, b in pairwise(bench) if (m := _model(even, rate, force, _span(even, a, b))) is not None]
    found = [one for model in models if (one := _best(model)) is not None]
    if len(found) < FEWEST:
        return None
    delays, own = np.array(found).T
    value, uncertainty = _joined(delays, np.maximum(own, 1e-6))
    return Delay(value, max(uncertainty, even.step / 100), len(found))


def _joined(delays: Vector, own: Vector) -> tuple[float, float]:
    """Average delays by their own uncertainty and their common scatter; what lies far off counts for less."""
    value, count = float(np.median(delays)), len(delays)
    share = np.full(count, 1 / count)
    for _ in range(10):
        off = np.abs(delays - value)
        # few stretches tell their scatter badly: what is usual counts as two more
        scatter = np.sqrt((count * (1.4826 * np.median(off)) ** 2 + 2 * _USUAL**2) / (count + 2))
        spread = np.hypot(own, scatter)
        weights = np.minimum(1.0, 1.5 * spread / np.maximum(off, 1e-12)) / spread**2
        share = weights / weights.sum()
        value = float(share @ delays)
    square = count * float(share @ (delays - value) ** 2) + 2 * _USUAL**2
    return value, float(np.sqrt(np.sum(share**2) * square / (count + 1)))


def _span(even: EvenRecording, before: Rest, after: Rest) -> slice:
    """Take a stretch with as much of the rests on either side as the columns are shifted by."""
    margin = 2 * (int(np.ceil(LONGEST_DELAY / even.step)) + 4)
    return slice(max(before.stop - margin, before.start), min(after.start + margin, after.stop))


def _model(even: EvenRecording, rates: Vector, forces: Vector, span: slice) -> _Model | None:
    margin = int(np.ceil(LONGEST_DELAY / even.step)) + 4
    width = max(round(_SMOOTHING / even.step), 1) | 1
    rate, force = rates[span], forces[span]
    unfit = len(rate) * even.step > LONGEST_STRETCH or len(rate) <= 4 * margin + width
    broken = even.segment[span.start] != even.segment[span.stop - 1]
    clipped = even.gyro_clipped[span] | even.accelerometer_clipped[span]
    # zeros are what a dead accelerometer gives: they point nowhere
    if unfit or broken or clipped.any() or not force[0].any():
        return None
    turns = quaternion_from_vector(0.5 * (rate[1:] + rate[:-1]) * even.step)
    path = np.concatenate([np.eye(3)[None], matrix_from_quaternion(running_product(turns))])
    sways = np.swapaxes(path, 1, 2) @ (force[0] / np.linalg.norm(force[0]))
    if _swing(sways) < SMALLEST_TILT:
        return None
    smooth = _smoothed(rate, width)
    spin = cross_matrix(smooth)
    lever = cross_matrix(np.gradient(smooth, even.step, axis=0)) + spin @ spin
    gravity = np.swapaxes(_smoothed(path.reshape(-1, 9), width).reshape(-1, 3, 3), 1, 2)
    # a hand lifts in step with the turn, and puts down in step with the turn back
    _, _, rows = np.linalg.svd(smooth, full_matrices=False)
    push = gravity * np.gradient(smooth @ rows[0], even.step)[:, None, None]
    return _Model(np.concatenate([gravity, lever, push], axis=2), _smoothed(force, width), even.step)


def _swing(ways: Vector) -> float:
    """Give the largest angle between the first of many unit vectors and any other, rad."""
    return float(np.arccos(np.clip(ways @ ways[0], -1.0, 1.0)).max())


def _best(model: _Model) -> tuple[float, float] | None:
    """Find the delay that leaves least, from every start on a coarse grid; None at the edge of what is looked at.

    Beside it stands the uncertainty that it would have if what is left were white.
    """
    trials = np.arange(-LONGEST_DELAY, LONGEST_DELAY + _COARSE / 2, _COARSE)
    left = [model.left(t) for t in trials]
    at = int(np.argmin(left))
    if at in (0, len(trials) - 1):
        return None
    best, step, own = float(trials[at]), _COARSE, np.inf
    for _ in range(_REFINEMENTS):
        low, middle, high = (model.left(best + d) for d in (-step, 0.0, step))
        bend = low - 2 * middle + high
        if bend <= 0:
            return None
        own = float(np.sqrt(2 * middle / model.compared / bend) * step)
        best += float(np.clip(0.5 * step * (low - high) / bend, -step, step))
        step /= _HALVES
    return best, own


def _later(columns: Matrix, rows: IntArray, late: float) -> Matrix:
    """Read rows of columns `late` samples earlier, between samples by the cubic through the four around."""
    whole = int(np.floor(late))
    t = 1 - (late - whole)
    at = rows - whole - 1
    return np.asarray(
        -t * (t - 1) * (t - 2) / 6 * columns[at - 1]
        + (t + 1) * (t - 1) * (t - 2) / 2 * columns[at]
        - (t + 1) * t * (t - 2) / 2 * columns[at + 1]
        + (t + 1) * t * (t - 1) / 6 * columns[at + 2]
    )


def _smoothed(values: Vector, width: int) -> Vector:
    padded = np.pad(values, ((width // 2, width // 2), (0, 0)), mode="edge")
    sums = np.vstack([np.zeros(values.shape[1]), np.cumsum(padded, axis=0)])
    return np.asarray((sums[width:] - sums[:-width]) / width)
