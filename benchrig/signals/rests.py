"""Where the airframe was still: on the bench, or held in the hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.signals.body import BoolArray, EvenRecording, IntArray
from benchrig.signals.runs import longest, runs

SHORTEST_REST: Final = 0.4
"""s: a rest or hold shorter than this shows nothing."""

WINDOW: Final = 0.25
"""s: over which stillness is judged."""

BENCH_GYRO_SD: Final = np.radians(0.5)
BENCH_ACCELERATION_SD: Final = 0.01
HAND_GYRO_SD: Final = np.radians(4.0)
HAND_ACCELERATION_SD: Final = 0.03
HAND_DRIFT: Final = np.radians(7.0)
LARGEST_BIAS: Final = np.radians(25.0)
"""Gates: standard deviations of one channel (rad/s, and parts of g), the mean rate of a held airframe (rad/s), and
the largest gyro bias a unit may have (rad/s; a data sheet for consumer units says ±20 °/s at the start).
A real hand hold shows 1.0-2.6 °/s and 0.008-0.017 g; the bench 0.15 °/s and 0.004 g."""

_RADIANS_AS_DEGREES: Final = 180 / np.pi
_SLOWEST_HAND: Final = np.radians(8.0)
_FASTEST_HAND: Final = np.radians(4000.0)
_BIAS_SPREAD: Final = np.radians(1.0)


@dataclass(frozen=True, slots=True, eq=False)
class Rest:
    """A stretch in which the airframe was still.

    Attributes
    ----------
    start, stop : int
        Samples ``[start, stop)``.
    grade : {"bench", "hand"}
        Only a bench rest is still enough to take the gyro's bias from.
    rate : ndarray, shape (3,), rad/s
        Mean reading of the gyro, sensor axes.
    """

    start: int
    stop: int
    grade: Literal["bench", "hand"]
    rate: Vector

    @property
    def samples(self) -> int:
        """How many samples it has."""
        return self.stop - self.start


@dataclass(frozen=True, slots=True, eq=False)
class Bias:
    """The gyro's reading at rest: `value` and `uncertainty`, shape (3,), rad/s, sensor axes."""

    value: Vector
    uncertainty: Vector


@dataclass(frozen=True, slots=True, eq=False)
class Stillness:
    """The rests of a recording, the bias they give, and the gates they were found with.

    `bias` is None where the airframe never lay on the bench, or the gyro read more there than a bias can be;
    `steady_rate` (rad/s) is the largest part of what it read in the quiet moments. `gyro_noise` (rad/s) is the spread
    in the quietest tenth of them, `bench_gyro_gate` (rad/s) what the spread was held against.
    """

    rests: tuple[Rest, ...]
    bias: Bias | None
    bench_gyro_gate: float
    gyro_noise: float
    steady_rate: float


def find_rests(even: EvenRecording) -> Stillness:
    """Find where the airframe was still, and take the gyro's bias there.

    The accelerometer's spread is compared with its own mean reading, and the gyro's gate is raised to what the
    recording shows at its quietest, so that a wrong unit does not hide the rests that would prove it wrong.

    Returns
    -------
    Stillness
    """
    width = max(round(WINDOW / even.step), 4)
    windows = _Windows(even, width)
    if not len(windows.start):
        return Stillness((), None, float(BENCH_GYRO_SD), float("nan"), 0.0)
    scale = _unit_scale(even, windows)
    quiet = windows.acceleration_sd < BENCH_ACCELERATION_SD
    floor = float(np.percentile(windows.gyro_sd[quiet], 10)) * scale if quiet.any() else 0.0
    raised = max(1.0, 3 * floor / BENCH_GYRO_SD)
    bench = quiet & (windows.gyro_sd * scale < BENCH_GYRO_SD * raised)
    steady = float(np.abs(np.median(windows.rate[bench], axis=0)).max()) if bench.any() else 0.0
    bias = _consensus(windows, bench, scale)
    if bias is None:
        return Stillness((), None, float(BENCH_GYRO_SD * raised), float("nan"), steady)
    drift = np.linalg.norm(windows.rate - bias, axis=1) * scale
    bench &= drift < 2 * _BIAS_SPREAD * raised
    hand = (windows.gyro_sd * scale < HAND_GYRO_SD * raised) & (drift < HAND_DRIFT * raised)
    hand &= windows.acceleration_sd < HAND_ACCELERATION_SD
    rests = _stretches(even, windows, bench, hand)
    bench_rests = [r for r in rests if r.grade == "bench"]
    return Stillness(rests, _bias(even, bench_rests), float(BENCH_GYRO_SD * raised), floor / scale, steady)


class _Windows:
    """Means and spreads over short windows, none of which reaches across a gap."""

    def __init__(self, even: EvenRecording, width: int) -> None:
        count = len(even.time) - width + 1
        start: IntArray = np.arange(max(count, 0), dtype=np.int64)
        self.start = start[even.segment[start] == even.segment[start + width - 1]] if count > 0 else start
        self.width = width
        size = float(np.median(np.linalg.norm(even.acceleration, axis=1))) or 1.0
        self.rate, gyro_sd = _moments(even.angular_rate, self.start, width)
        _, acceleration_sd = _moments(even.acceleration / size, self.start, width)
        self.gyro_sd = gyro_sd.max(axis=1, initial=0.0)
        self.acceleration_sd = acceleration_sd.max(axis=1, initial=0.0)


def _moments(values: Vector, start: IntArray, width: int) -> tuple[Vector, Vector]:
    centred = values - values.mean(axis=0)  # running sums of squares lose digits far from zero
    first = np.vstack([np.zeros(3), np.cumsum(centred, axis=0)])
    second = np.vstack([np.zeros(3), np.cumsum(centred**2, axis=0)])
    mean = (first[start + width] - first[start]) / width
    square = (second[start + width] - second[start]) / width
    return mean + values.mean(axis=0), np.sqrt(np.maximum(square - mean**2, 0.0))


def _unit_scale(even: EvenRecording, windows: _Windows) -> float:
    """Tell by size alone a gyro whose unit is off by 57: stillness must be judged before the unit can be."""
    middle = np.median(even.angular_rate, axis=0)
    peak = float(np.percentile(np.linalg.norm(even.angular_rate - middle, axis=1), 99.5))
    direction = even.acceleration / np.linalg.norm(even.acceleration, axis=1, keepdims=True).clip(1e-9)
    swing = float(np.percentile(np.linalg.norm(direction - direction[windows.start[0]], axis=1), 95))
    if peak < _SLOWEST_HAND and swing > np.radians(20.0):
        return _RADIANS_AS_DEGREES
    return 1 / _RADIANS_AS_DEGREES if peak > _FASTEST_HAND else 1.0


def _consensus(windows: _Windows, bench: BoolArray, scale: float) -> Vector | None:
    """Give the mean rate that most still windows share; a steady spin is still too, but not what they share."""
    rates = windows.rate[bench]
    rates = rates[np.linalg.norm(rates, axis=1) * scale < LARGEST_BIAS]
    if not len(rates):
        return None
    middle: Vector = np.median(rates, axis=0)
    return middle


def _stretches(even: EvenRecording, windows: _Windows, bench: BoolArray, hand: BoolArray) -> tuple[Rest, ...]:
    covered = {
        grade: _cover(len(even.time), windows, still) for grade, still in (("bench", bench), ("hand", hand | bench))
    }
    shortest = SHORTEST_REST / even.step
    rests: list[Rest] = []
    for start, stop in runs(covered["hand"], even.segment):
        if stop - start < shortest:
            continue
        core = longest(runs(covered["bench"][start:stop], even.segment[start:stop]))
        on_bench = core[1] - core[0] >= shortest
        # the bias comes from the bench part alone: the edges of a rest belong to the hand
        inner = slice(start + core[0], start + core[1]) if on_bench else slice(start, stop)
        rests.append(Rest(start, stop, "bench" if on_bench else "hand", even.angular_rate[inner].mean(axis=0)))
    return tuple(rests)


def _cover(count: int, windows: _Windows, still: BoolArray) -> BoolArray:
    edges = np.zeros(count + 1)
    starts = windows.start[still]
    np.add.at(edges, starts, 1)
    np.add.at(edges, starts + windows.width, -1)
    return np.asarray(np.cumsum(edges)[:count] > 0)


def _bias(even: EvenRecording, rests: Sequence[Rest]) -> Bias | None:
    if not rests:
        return None
    weights = np.array([r.samples for r in rests], dtype=np.float64)
    means = np.array([r.rate for r in rests])
    value = weights @ means / weights.sum()
    spread = np.sqrt(weights @ (means - value) ** 2 / weights.sum())
    sample_sd = np.array([even.angular_rate[r.start : r.stop].std(axis=0) for r in rests]).min(axis=0)
    # neighbouring samples of a filtered sensor are alike: a tenth of them count as independent
    return Bias(value, np.hypot(spread, sample_sd / np.sqrt(weights.sum() / 10)))
