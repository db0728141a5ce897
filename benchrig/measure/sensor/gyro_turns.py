"""Turns between two still poses, whose true size gravity shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.sensor.poses import block_variance, inner, tells_its_spread
from benchrig.signals.body import EvenRecording
from benchrig.signals.moves import Move
from benchrig.signals.rests import Stillness

SMALLEST_TILT: Final = np.radians(15.0)
LONGEST_TURN: Final = 30.0
"""rad, s: a turn that tilts less, or takes longer, says nothing of the scale."""

_ANGLE_FLOOR: Final = np.radians(0.02)
_RATE_FLOOR: Final = np.radians(0.005)  # rad/s: by which a bias wanders within seconds (from memory)
_HELD_RATE: Final = np.radians(0.05)  # rad/s: by how much the bias of a whole recording may be off at one turn
_EDGE: Final = 1.0  # s of a pose beside a turn that give gravity's direction


@dataclass(frozen=True, slots=True, eq=False)
class Carry:
    """A turn between two still poses; sensor axes, all as read.

    Attributes
    ----------
    rate : ndarray, shape (N, 3), rad/s
        From the middle of one still edge to the middle of the other, the bias of the two poses taken out.
    step : float, s
    before, after : ndarray, shape (3,), m/s²
    uncertainty : float, rad
        Of the direction of gravity as the gyro carries it, one standard deviation, the scale apart.
    """

    rate: Vector
    step: float
    before: Vector
    after: Vector
    uncertainty: float


def find_carries(even: EvenRecording, stillness: Stillness, moves: Sequence[Move]) -> tuple[Carry, ...]:
    """Take the moves in which gravity shows how far the airframe turned.

    Parameters
    ----------
    even : EvenRecording
    stillness : Stillness
    moves : sequence of Move

    Returns
    -------
    tuple of Carry
    """
    good = [m for m in moves if not (m.gap or m.clipped) and (m.stop - m.start) * even.step <= LONGEST_TURN]
    good = [m for m in good if m.gravity_angle >= SMALLEST_TILT]
    good = [m for m in good if all(tells_its_spread(even, rest) for rest in (m.before, m.after))]
    if not good:
        return ()
    beside = [inner(even, r) for m in good for r in (m.before, m.after)]
    density = float(np.median([block_variance(even.acceleration[s]) * (s.stop - s.start) for s in beside]))
    return tuple(_carry(even, stillness, m, density) for m in good)


def _carry(even: EvenRecording, stillness: Stillness, move: Move, density: float) -> Carry:
    """Cut a carry out; `density` is the accelerometer's variance of a mean times its samples."""
    early, late = _edges(even, move)
    start, stop = (early.start + early.stop) // 2, (late.start + late.stop) // 2 + 1
    before, after = even.acceleration[early].mean(axis=0), even.acceleration[late].mean(axis=0)
    bias, spread = _local_bias(even, stillness, move)
    duration = (stop - start) * even.step
    shortest = min(early.stop - early.start, late.stop - late.start)
    # both edges are off, each in two directions, of which either residual sees one
    direction = np.sqrt(2 * density / shortest) / float(np.linalg.norm(before))
    wander = stillness.gyro_noise * np.sqrt(duration * even.step)
    uncertainty = float(np.linalg.norm([spread * duration, direction, wander, _ANGLE_FLOOR]))
    return Carry(even.angular_rate[start:stop] - bias, even.step, before, after, uncertainty)


def _edges(even: EvenRecording, move: Move) -> tuple[slice, slice]:
    """Take the still samples next to a move, less those in which the hand already moves it.

    A mean that reaches into the move sees part of it, and every turn would seem too small.
    """
    early, late, longest = inner(even, move.before), inner(even, move.after), round(_EDGE / even.step)
    early = slice(max(early.start, early.stop - longest), early.stop)
    return early, slice(late.start, min(late.stop, late.start + longest))


def _local_bias(even: EvenRecording, stillness: Stillness, move: Move) -> tuple[Vector, float]:
    """Take the bias from the poses beside a turn where they lie on the bench: it drifts over minutes."""
    beside = [r for r in (move.before, move.after) if r.grade == "bench"]
    if not beside:
        common = np.zeros(3) if stillness.bias is None else stillness.bias.value
        spread = 0.0 if stillness.bias is None else float(stillness.bias.uncertainty.max())
        return common, float(np.hypot(spread, _HELD_RATE))
    # the first and last moments of a rest already turn the way of the move: they would shorten every turn alike
    quiet = [even.angular_rate[inner(even, r)] for r in beside]
    rates = np.array([rate.mean(axis=0) for rate in quiet])
    errors = [np.sqrt(block_variance(rate)) for rate in quiet]
    drift = float(np.abs(rates - rates.mean(axis=0)).max())
    return rates.mean(axis=0), float(np.linalg.norm([np.mean(errors), drift / np.sqrt(3), _RATE_FLOOR]))
