"""Stillness as it comes: short blocks of samples, and over the last quarter second the spread of each channel."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.signals.rests import (
    BENCH_ACCELERATION_SD,
    BENCH_GYRO_SD,
    HAND_ACCELERATION_SD,
    HAND_DRIFT,
    HAND_GYRO_SD,
    WINDOW,
)

Grade = Literal["", "hand", "bench"]

_FEWEST: Final = 4  # samples in a window: as few as the judge takes
_KEPT: Final = 400  # windows among which the quietest tenth is sought
_BEYOND_ANY_GYRO: Final = 10.0  # times the bench's gate: 1.7 °/s at rest, where consumer gyros show 0.05 to 0.3
_BENCH_DRIFT: Final = np.radians(2.0)  # rad/s: how far a bench rest may read off the bias


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Sums over a short stretch of samples, from which means and spreads over a window follow at once.

    Attributes
    ----------
    start, end : float, s
        Of the sample before its first, and of its last.
    count : int
    first, second : ndarray, shape (6,)
        Sums, and sums of squares, of the rates (rad/s) and the readings of the accelerometer (m/s²) from `Stillness`'s
        origin.
    """

    start: float
    end: float
    count: int
    first: Vector
    second: Vector


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """What the last quarter second shows.

    Attributes
    ----------
    start, end : float, s
    rate : ndarray, shape (3,), rad/s
        Mean reading of the gyro, sensor axes.
    force : ndarray, shape (3,), m/s²
        Mean reading of the accelerometer, sensor axes.
    gyro_sd : float, rad/s
        Of the channel that varies most.
    acceleration_sd : float
        The same, as a part of the accelerometer's own mean reading.
    grade : {"", "hand", "bench"}
        By the gates that the judge takes.
    """

    start: float
    end: float
    rate: Vector
    force: Vector
    gyro_sd: float
    acceleration_sd: float
    grade: Grade


class Stillness:
    """Says of each block whether the airframe is still; the same gates as the judge's, raised as the judge raises them.

    The work for a block does not grow with the recording.
    """

    def __init__(self) -> None:
        self._origin: Vector | None = None
        self._blocks: deque[Block] = deque()
        self._quiet: deque[float] = deque(maxlen=_KEPT)
        self._listed_until = float("-inf")
        self._raised = 1.0
        self.bias: Vector | None = None

    @property
    def reads_degrees(self) -> bool:
        """Whether the gyro is so restless at its quietest that it must read degrees where radians were declared."""
        return self._raised > _BEYOND_ANY_GYRO

    def rescale(self, ratio: float) -> None:
        """Go on with rates that are multiplied by `ratio` from now on; the window begins anew."""
        self._blocks.clear()
        self._quiet = deque((sd * ratio for sd in self._quiet), maxlen=_KEPT)
        if self._origin is not None:
            self._origin = self._origin * np.array([ratio, ratio, ratio, 1.0, 1.0, 1.0])
        if self.bias is not None:
            self.bias = self.bias * ratio
        self._raise_gate()

    def clear(self) -> None:
        """Forget the samples before a gap."""
        self._blocks.clear()

    def add(self, start: float, end: float, readings: Vector) -> Window | None:
        """Take a block of readings, shape (n, 6): rates (rad/s), then the accelerometer (m/s²).

        Returns
        -------
        Window or None
            None while a whole window is not yet there.
        """
        if self._origin is None:
            self._origin = readings[0].copy()
        centred = readings - self._origin
        self._blocks.append(Block(start, end, len(readings), centred.sum(axis=0), (centred**2).sum(axis=0)))
        while len(self._blocks) > 1 and self._blocks[1].start <= end - WINDOW and self._enough_without_first():
            self._blocks.popleft()
        count = sum(block.count for block in self._blocks)
        if count < _FEWEST or self._blocks[0].start > end - WINDOW + 1e-9:
            return None
        return self._window(count)

    def _enough_without_first(self) -> bool:
        return sum(block.count for block in self._blocks) - self._blocks[0].count >= _FEWEST

    def _window(self, count: int) -> Window:
        origin = self._origin if self._origin is not None else np.zeros(6)
        first = np.sum([block.first for block in self._blocks], axis=0) / count
        second = np.sum([block.second for block in self._blocks], axis=0) / count
        spread = np.sqrt(np.maximum(second - first**2, 0.0))
        mean = first + origin
        size = float(np.linalg.norm(mean[3:])) or 1.0
        gyro_sd, acceleration_sd = float(spread[:3].max()), float(spread[3:].max()) / size
        start, end = self._blocks[0].start, self._blocks[-1].end
        self._learn(start, end, gyro_sd, acceleration_sd)
        grade = self._grade(mean[:3], gyro_sd, acceleration_sd)
        return Window(start, end, mean[:3], mean[3:], gyro_sd, acceleration_sd, grade)

    def _learn(self, start: float, end: float, gyro_sd: float, acceleration_sd: float) -> None:
        """Raise the gyro's gate to what it shows at its quietest, as the judge does over the whole recording."""
        if acceleration_sd >= BENCH_ACCELERATION_SD or start < self._listed_until:
            return
        self._listed_until = end
        self._quiet.append(gyro_sd)
        self._raise_gate()

    def _raise_gate(self) -> None:
        quietest = float(np.percentile(self._quiet, 10)) if self._quiet else 0.0
        self._raised = max(1.0, 3 * quietest / BENCH_GYRO_SD)

    def _grade(self, rate: Vector, gyro_sd: float, acceleration_sd: float) -> Grade:
        drift = 0.0 if self.bias is None else float(np.linalg.norm(rate - self.bias))
        if acceleration_sd >= HAND_ACCELERATION_SD or gyro_sd >= HAND_GYRO_SD * self._raised:
            return ""
        if drift >= HAND_DRIFT * self._raised:
            return ""
        on_bench = acceleration_sd < BENCH_ACCELERATION_SD and gyro_sd < BENCH_GYRO_SD * self._raised
        return "bench" if on_bench and drift < _BENCH_DRIFT * self._raised else "hand"
