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
from benchrig.measure.spin import find_spins
from benchrig.measure.stand import Readings, Remark, Stand
from benchrig.measure.turn_count import count_turns
from benchrig.signals.body import EvenRecording
from benchrig.signals.rests import Stillness
from benchrig.signals.to_body import specific_force

SPEED_TOLERANCE: Final = 0.005
"""By which a record player's speed may be off: IEC 60098:2020, clause 5.6, as quoted for recording."""

STATED: Final = SPEED_TOLERANCE / np.sqrt(3)
"""One standard deviation of a stated speed, relative: the tolerance is taken as rectangular (GUM 4.3.7)."""

_OPPOSITE: Final = -0.95
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
    count = count_turns(stand)
    if count.ratio is not None and count.ratio > 0 and count.spread < STATED:
        return Spin(rate, size * count.ratio, count.spread / count.ratio, bias / size, "counted")
    if stand.table_rate is None:
        return None
    return Spin(rate, stand.table_rate, STATED, bias / size, "stated")


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
