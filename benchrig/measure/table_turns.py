"""Steady turns on a table, and their true speed: as stated, or counted by gravity's once-a-turn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.signals.body import EvenRecording
from benchrig.signals.rests import Stillness

SPEED_TOLERANCE: Final = 0.005
"""By which a record player's speed may be off: IEC 60098:2020, clause 5.6, as quoted for recording."""

STATED: Final = SPEED_TOLERANCE / np.sqrt(3)
"""One standard deviation of a stated speed, relative: the tolerance is taken as rectangular (GUM 4.3.7)."""

SLOWEST: Final = np.radians(30.0)
SHORTEST: Final = 3.0
"""rad/s, s: of a steady turn that counts."""

FEWEST_COUNTED: Final = 3.0
"""Turns: with fewer, once a turn cannot be told from a constant."""

CLEAR: Final = 12.0
"""Once a turn must stand out of the noise by this many of its standard deviations."""

_SMOOTH: Final = 0.25
_STEADY: Final = 0.05  # of the rate, a second
_REACH: Final = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Turning:
    """A stretch of steady turning; sensor axes.

    Attributes
    ----------
    span : slice
    rate : ndarray, shape (3,), rad/s
        Mean, the bias of the recording's rests taken out where there are any.
    has_bias : bool
        Whether it was.
    bias_uncertainty : float, rad/s
    """

    span: slice
    rate: Vector
    has_bias: bool
    bias_uncertainty: float

    @property
    def speed(self) -> float:
        """As the gyro reads it, rad/s."""
        return float(np.linalg.norm(self.rate))


@dataclass(frozen=True, slots=True, eq=False)
class Spin:
    """A steady turn whose true speed is known.

    Attributes
    ----------
    rate : ndarray, shape (3,), rad/s
        As read, bias taken out; sensor axes.
    speed : float, rad/s
        True.
    uncertainty : float
        One standard deviation, relative, that of the rate's bias included.
    by : {"stated", "counted"}
    """

    rate: Vector
    speed: float
    uncertainty: float
    by: Literal["stated", "counted"]


def find_turning(even: EvenRecording, stillness: Stillness) -> tuple[Turning, ...]:
    """Find where the rate stays the same in size and direction, and is far from rest.

    Returns
    -------
    tuple of Turning
        In order of time.
    """
    bias = np.zeros(3) if stillness.bias is None else stillness.bias.value
    spread = np.inf if stillness.bias is None else float(np.linalg.norm(stillness.bias.uncertainty))
    width = max(round(_SMOOTH / even.step), 2)
    found = []
    for start, stop in _runs(even):
        rate = even.angular_rate[start:stop] - bias
        if len(rate) <= 3 * width:
            continue
        smooth = _means(rate, width)
        change = np.linalg.norm(smooth[width:] - smooth[:-width], axis=1) / (width * even.step)
        speed = np.linalg.norm(smooth, axis=1)[: len(change)]
        steady = (speed > SLOWEST) & (change < _STEADY * speed)
        for a, b in _stretches(steady):
            span = slice(start + a, start + b + 2 * width - 1)
            mean = (even.angular_rate[span] - bias).mean(axis=0)
            enough = (span.stop - span.start) * even.step >= SHORTEST
            if enough and float(np.linalg.norm(mean)) * (span.stop - span.start) * even.step > 2 * np.pi:
                found.append(Turning(span, mean, stillness.bias is not None, spread))
    return tuple(found)


def stated_spins(turnings: Sequence[Turning], speed: float) -> tuple[Spin, ...]:
    """Hold turns against the speed that was stated.

    A rate without a bias from a rest counts only together with one of the other sense.

    Parameters
    ----------
    turnings : sequence of Turning
    speed : float, rad/s

    References
    ----------
    Rate table, both senses: K = (ω₊ − ω₋) ÷ 2Ω, bias = (ω₊ + ω₋) ÷ 2; IEEE 1431 and 952 (from memory).
    """
    spins = [
        Spin(t.rate, speed, float(np.hypot(STATED, t.bias_uncertainty / speed)), "stated")
        for t in turnings
        if t.has_bias
    ]
    free = [t for t in turnings if not t.has_bias]
    for one, other in pairwise(free):
        if one.rate @ other.rate < 0:
            spins.append(Spin(0.5 * (one.rate - other.rate), speed, STATED, "stated"))
    return tuple(spins)


def counted_spin(even: EvenRecording, turning: Turning, force: Vector) -> Spin | None:
    """Count a table's turns by gravity, whose part across a table that is not quite level comes round once a turn.

    Parameters
    ----------
    even : EvenRecording
    turning : Turning
    force : ndarray, shape (N, 3), m/s²
        The accelerometer's readings, its own errors taken out as far as they are known; sensor axes.

    Returns
    -------
    Spin or None
        None where once a turn does not stand out, or the bias is not known.
    """
    if not turning.has_bias:
        return None
    axis = turning.rate / turning.speed
    _, _, rows = np.linalg.svd(axis[None, :])
    first = rows[1]
    across = force[turning.span] @ np.column_stack([first, np.cross(axis, first)])
    signal = across[:, 0] + 1j * across[:, 1]
    turned = np.cumsum((even.angular_rate[turning.span] - (turning_bias(even, turning))) @ axis) * even.step
    if turned[-1] - turned[0] < 2 * np.pi * FEWEST_COUNTED:
        return None
    found = _once_a_turn(signal, turned)
    if found is None:
        return None
    factor, spread = found
    relative = float(np.hypot(spread / factor, turning.bias_uncertainty / turning.speed))
    return Spin(turning.rate, turning.speed * factor, relative, "counted")


def turning_bias(even: EvenRecording, turning: Turning) -> Vector:
    """Give the bias that was taken out of a turn's mean rate."""
    bias: Vector = even.angular_rate[turning.span].mean(axis=0) - turning.rate
    return bias


def _once_a_turn(signal: Vector, turned: Vector) -> tuple[float, float] | None:
    """Find by which factor the gyro's angle must be stretched for gravity to come round once a turn."""
    phase = turned - turned.mean()
    turns = (turned[-1] - turned[0]) / (2 * np.pi)
    trials = np.arange(1 - _REACH, 1 + _REACH, 0.1 / turns)
    best = float(trials[int(np.argmin([_left(signal, phase, k)[0] for k in trials]))])
    step = 0.1 / turns
    for _ in range(8):
        low, middle, high = (_left(signal, phase, best + d)[0] for d in (-step, 0.0, step))
        bend = low - 2 * middle + high
        best += float(np.clip(0.5 * step * (low - high) / bend, -step, step)) if bend > 0 else 0.0
        step /= 3
    _, amplitude, residual = _left(signal, phase, best)
    noise = float(np.sqrt(np.mean(np.abs(residual) ** 2) / 2)) * _alike(residual)
    if abs(amplitude) < CLEAR * noise / np.sqrt(len(signal)):
        return None
    return best, noise / (abs(amplitude) * float(np.sqrt(np.sum(phase**2))))


def _left(signal: Vector, phase: Vector, factor: float) -> tuple[float, complex, Vector]:
    """Fit a constant and a turning part: what is left, squared; the turning amplitude; the residual."""
    model = np.column_stack([np.ones(len(phase)), np.exp(-1j * factor * phase)])
    values = np.linalg.lstsq(model, signal, rcond=None)[0]
    residual = signal - model @ values
    return float(np.vdot(residual, residual).real), complex(values[1]), residual


def _alike(residual: Vector) -> float:
    """By how much neighbouring samples of a disturbance are alike: the factor on a white spread."""
    power = float(np.vdot(residual, residual).real)
    total = 1.0
    for lag in range(1, len(residual) // 4):
        alike = float(np.vdot(residual[:-lag], residual[lag:]).real) / power
        if alike < 0.05:  # noqa: PLR2004 - beyond its first zero the rest is noise of the estimate
            break
        total += 2 * alike
    return float(np.sqrt(total))


def _runs(even: EvenRecording) -> list[tuple[int, int]]:
    good = ~(even.gyro_clipped | even.accelerometer_clipped)
    edges = np.flatnonzero((np.diff(even.segment) != 0) | (good[1:] != good[:-1])) + 1
    bounds = [0, *edges.tolist(), len(good)]
    return [(a, b) for a, b in pairwise(bounds) if good[a]]


def _stretches(mask: Vector) -> list[tuple[int, int]]:
    padded = np.concatenate([[False], mask, [False]]).astype(np.int8)
    edges = np.flatnonzero(np.diff(padded))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _means(values: Vector, width: int) -> Vector:
    sums = np.vstack([np.zeros(3), np.cumsum(values, axis=0)])
    return np.asarray((sums[width:] - sums[:-width]) / width)
