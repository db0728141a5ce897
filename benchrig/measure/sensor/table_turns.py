"""Spins on a table whose true speed is known: as stated, or counted by gravity's once-a-turn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

import numpy as np

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import Vector
from benchrig.measure.lever.spin import find_spins
from benchrig.measure.lever.stand import Readings, Remark, Stand
from benchrig.measure.lever.turn_count import count_turns
from benchrig.signals.body import EvenRecording
from benchrig.signals.rests import Stillness
from benchrig.signals.to_body import specific_force

SPEED_TOLERANCE: Final = 0.005
"""By which a record player's speed may be off: IEC 60098:2020, clause 5.6, as quoted for recording."""

STATED: Final = SPEED_TOLERANCE / np.sqrt(3)
"""One standard deviation of a stated speed, relative: the tolerance is taken as rectangular (GUM 4.3.7)."""

_OPPOSITE: Final = -0.95
_STEADY: Final = 0.02  # of the rate
_RAMP: Final = 0.5  # s
_REFINEMENTS: Final = 6
_UNLIKE: Final = 0.05  # beyond the first lag at which samples are no more alike, the rest is noise of the estimate
_DRIFT: Final = np.radians(0.005)  # rad/s: by which a bias wanders within minutes (from memory)


@dataclass(frozen=True, slots=True, eq=False)
class Spin:
    """A steady turn whose true speed is known.

    Attributes
    ----------
    rate : ndarray, shape (3,), rad/s
        As read, bias taken out; sensor axes.
    speed : float, rad/s
        True, without sign.
    speed_uncertainty : float
        One standard deviation, relative.
    bias_uncertainty : float
        What the bias may have left in the rate, relative.
    by : {"stated", "counted"}
    """

    rate: Vector
    speed: float
    speed_uncertainty: float
    bias_uncertainty: float
    by: Literal["stated", "counted"]

    @property
    def uncertainty(self) -> float:
        """One standard deviation of the ratio of rate and speed, relative."""
        return float(np.hypot(self.speed_uncertainty, self.bias_uncertainty))


def known_spins(
    recording: Recording, even: EvenRecording, stillness: Stillness, sensor: Sensor, name: str
) -> tuple[tuple[Spin, ...], tuple[Remark, ...]]:
    """Find the spins of a recording whose true speed is known.

    Parameters
    ----------
    recording : Recording
        For the table and the prompts.
    even : EvenRecording
        As read.
    stillness : Stillness
    sensor : Sensor
    name : str
        Of the recording, for remarks.

    Returns
    -------
    spins : tuple of Spin
    remarks : tuple of Remark
        Of spins that are no evidence.
    """
    if stillness.bias is None:
        return (), ()
    mounting = sensor.body_from_sensor
    rate = (even.angular_rate - stillness.bias.value) @ mounting.T
    force = specific_force(even.acceleration, sensor) @ mounting.T
    stands, remarks = find_spins(Readings(even, rate, force, stillness, name), recording.turntable, recording.prompts)
    bias = float(np.linalg.norm(stillness.bias.uncertainty))
    spins = [spin for stand in stands if (spin := _known(stand, sensor, bias)) is not None]
    return _paired(spins), remarks


def _known(stand: Stand, sensor: Sensor, bias: float) -> Spin | None:
    """Take the better known speed: turns counted by gravity, or the stated one."""
    size = float(np.linalg.norm(stand.turning))
    rate = sensor.body_from_sensor.T @ stand.turning
    coarse = count_turns(stand).ratio
    found = None if coarse is None or coarse <= 0 else once_a_turn(stand, coarse)
    if found is not None and found[1] < STATED:
        return Spin(rate, size * found[0], found[1] / found[0], bias / size, "counted")
    if stand.table_rate is None:
        return None
    return Spin(rate, stand.table_rate, STATED, bias / size, "stated")


def once_a_turn(stand: Stand, about: float) -> tuple[float, float] | None:
    """Fit gravity's once-a-turn to every sample of the steady part of a spin.

    Parameters
    ----------
    stand : Stand
    about : float
        Turns by gravity over turns by the gyro, as coarsely known.

    Returns
    -------
    ratio, uncertainty : float, or None
        None where the steady part is shorter than a turn, or the speed is nowhere steady.
    """
    axis = stand.turning / np.linalg.norm(stand.turning)
    along = stand.rate @ axis
    steady = np.flatnonzero(np.abs(along - np.linalg.norm(stand.turning)) < _STEADY * np.linalg.norm(stand.turning))
    if len(steady) == 0:
        return None
    # while the table gathers speed or slows down, the pull to its axis is not the same, and would pass for gravity
    margin = round(_RAMP / stand.step)
    span = slice(int(steady[0]) + margin, int(steady[-1]) + 1 - margin)
    phase = np.cumsum(along[span]) * stand.step
    if len(phase) * stand.step * np.linalg.norm(stand.turning) < 2 * np.pi:
        return None
    phase -= phase.mean()
    _, _, rows = np.linalg.svd(axis[None, :])
    across = stand.force[span] @ np.column_stack([rows[1], np.cross(axis, rows[1])])
    signal = across[:, 0] + 1j * across[:, 1]
    step = 0.5 / float(np.ptp(phase))
    trials = about + step * np.arange(-8, 9)
    ratio = float(trials[int(np.argmin([_left(signal, trial * phase)[0] for trial in trials]))])
    for _ in range(_REFINEMENTS):
        low, middle, high = (_left(signal, (ratio + d) * phase)[0] for d in (-step, 0.0, step))
        bend = low - 2 * middle + high
        ratio += float(np.clip(0.5 * step * (low - high) / bend, -step, step)) if bend > 0 else 0.0
        step /= 3
    _, amplitude, residual = _left(signal, ratio * phase)
    noise = float(np.sqrt(np.mean(np.abs(residual) ** 2) / 2)) * _alike(residual)
    return ratio, noise / (amplitude * float(np.linalg.norm(phase)))


def _left(signal: Vector, angle: Vector) -> tuple[float, float, Vector]:
    """Fit what stands still and what goes round: the square of what is left, the size that goes round, the residual."""
    round_ = np.exp(-1j * angle)
    # two channels of unlike size draw an ellipse: a circle, and a small one the other way round
    model = np.column_stack([round_, round_.conj(), np.ones(len(angle))])
    values = np.linalg.lstsq(model, signal, rcond=None)[0]
    residual = signal - model @ values
    return float(np.vdot(residual, residual).real), float(np.abs(values[0])), residual


def _alike(residual: Vector) -> float:
    """By how much neighbouring samples of a disturbance are alike: the factor on a white spread."""
    power = float(np.vdot(residual, residual).real)
    total = 1.0
    for lag in range(1, len(residual) // 4):
        alike = float(np.vdot(residual[:-lag], residual[lag:]).real) / power
        if alike < _UNLIKE:
            break
        total += 2 * alike
    return float(np.sqrt(total))


def _paired(spins: Sequence[Spin]) -> tuple[Spin, ...]:
    """Join neighbours of opposite senses to one that no bias touches; leave the others as they are."""
    joined: list[Spin] = []
    left = list(spins)
    for one, other in pairwise(spins):
        if one in left and other in left and _cosine(one, other) < _OPPOSITE:
            joined.append(both_senses(one, other)[0])
            left.remove(one)
            left.remove(other)
    return (*joined, *left)


def _cosine(one: Spin, other: Spin) -> float:
    return float(one.rate @ other.rate / np.linalg.norm(one.rate) / np.linalg.norm(other.rate))


def both_senses(one: Spin, other: Spin) -> tuple[Spin, Vector]:
    """Join two spins of opposite senses: half their difference is free of the bias, half their sum is the bias.

    Parameters
    ----------
    one, other : Spin

    Returns
    -------
    Spin
        With the gain K = (ω₊ − ω₋) ÷ (Ω₊ + Ω₋) of its rate over its speed.
    ndarray, shape (3,), rad/s
        The bias that was left in their rates; right where both speeds are the same.

    References
    ----------
    Rate-table test of the scale factor: IEEE 1431 and 952 (from memory).

    Examples
    --------
    >>> there, back = (Spin(np.radians([0, 0, w]), np.radians(270.0), 0.003, 0.0, "stated") for w in (278.4, -272.4))
    >>> spin, bias = both_senses(there, back)
    >>> round(float(spin.rate[2] / spin.speed), 4), round(float(np.degrees(bias[2])), 3)
    (1.02, 3.0)
    """
    by: Literal["stated", "counted"] = "counted" if one.by == other.by == "counted" else "stated"
    # a table's error is the same both ways, so that two stated speeds are no better than one
    spread = STATED if by == "stated" else 0.5 * float(np.hypot(one.speed_uncertainty, other.speed_uncertainty))
    rate, speed = 0.5 * (one.rate - other.rate), 0.5 * (one.speed + other.speed)
    return Spin(rate, speed, spread, _DRIFT / speed, by), 0.5 * (one.rate + other.rate)
