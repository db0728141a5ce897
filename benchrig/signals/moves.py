"""Moves: what the airframe did between one still pose and the next, by its own sensors, whatever was asked."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.integration import net_rotation, net_turn
from benchrig.signals.body import EvenRecording
from benchrig.signals.rests import Bias, Rest

SAME_POSE: Final = np.radians(8.0)
"""rad: a smaller turn between two rests is a wobble of one pose, not a move."""

_SHORT_LOSS: Final = 0.4  # s: no hand turns an airframe by 20° and stands still again in that time

EDGE: Final = 0.6
"""s: how much of a rest, next to the move, gives the direction of gravity before and after it."""


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """One turn of the airframe between two still poses; sensor axes.

    Attributes
    ----------
    before, after : Rest
    start, stop : int
        Samples from the middle of the still edge before to the middle of the one after.
    turn : ndarray, shape (3,), rad
        Net turn if the gyro is right-handed, in its own axes at the start.
    mirrored_turn : ndarray, shape (3,), rad
        Net turn of the reversed rates: what a left-handed gyro's readings mean, up to the sign.
    rotation, mirrored_rotation : ndarray, shape (3,), rad
        The same as exact rotation vectors of at most half a turn: where the airframe ended, whatever way it took.
    turn_uncertainty : float, rad
        One standard deviation of the angle, from the bias (which grows with time) and the scale.
    force_before, force_after : ndarray, shape (3,), m/s²
        Mean reading of the accelerometer in the still edges.
    gap, clipped : bool
        Whether the stream breaks, or a channel stands at the end of its range, inside the move.
    """

    before: Rest
    after: Rest
    start: int
    stop: int
    turn: Vector
    mirrored_turn: Vector
    rotation: Vector
    mirrored_rotation: Vector
    turn_uncertainty: float
    force_before: Vector
    force_after: Vector
    gap: bool
    clipped: bool

    @property
    def angle(self) -> float:
        """Size of the turn, rad."""
        return float(np.linalg.norm(self.turn))

    @property
    def gravity_angle(self) -> float:
        """Angle between the accelerometer's readings before and after, rad."""
        cross = float(np.linalg.norm(np.cross(self.force_before, self.force_after)))
        return float(np.arctan2(cross, self.force_before @ self.force_after))


def find_moves(even: EvenRecording, rests: tuple[Rest, ...], bias: Bias) -> tuple[Move, ...]:
    """Integrate the gyro between the rests, and join rests that are one pose.

    Parameters
    ----------
    even : EvenRecording
    rests : tuple of Rest
        In order of time.
    bias : Bias

    Returns
    -------
    tuple of Move
        In order of time; wobbles below `SAME_POSE`, and short losses within a rest, left out.
    """
    moves = (_move(even, before, after, bias) for before, after in itertools.pairwise(rests))
    return tuple(m for m in moves if _is_move(even, m))


def _is_move(even: EvenRecording, move: Move) -> bool:
    if not move.gap:
        return bool(max(move.angle, move.gravity_angle) >= SAME_POSE)
    # still to the last sample before a short loss and from the first after it: the rest was cut in two
    edges = even.time[move.before.stop - 1], even.time[move.after.start]
    return bool(edges[1] - edges[0] > _SHORT_LOSS or move.gravity_angle >= SAME_POSE)


def scaled_rotation(even: EvenRecording, move: Move, bias: Bias, scale: float) -> Vector:
    """Integrate a move again as if the gyro had read `scale` times what it read; negative reverses the rates.

    Returns
    -------
    ndarray, shape (3,), rad
    """
    rate = even.angular_rate[move.start : move.stop] - bias.value
    return net_rotation(scale * rate, even.step)


def _move(even: EvenRecording, before: Rest, after: Rest, bias: Bias) -> Move:
    edge = max(int(EDGE / even.step), 2)
    early = slice(max(before.start, before.stop - edge), before.stop)
    late = slice(after.start, min(after.stop, after.start + edge))
    start, stop = (early.start + early.stop) // 2, (late.start + late.stop) // 2 + 1
    rate = even.angular_rate[start:stop] - bias.value
    gap = bool(even.segment[start] != even.segment[stop - 1])
    turn = np.zeros(3) if gap else net_turn(rate, even.step)
    mirrored = np.zeros(3) if gap else net_turn(-rate, even.step)
    duration = (stop - start) * even.step
    angle = float(np.linalg.norm(turn))
    inside = slice(before.stop, after.start)
    return Move(
        before=before,
        after=after,
        start=start,
        stop=stop,
        turn=turn,
        mirrored_turn=mirrored,
        rotation=np.zeros(3) if gap else net_rotation(rate, even.step),
        mirrored_rotation=np.zeros(3) if gap else net_rotation(-rate, even.step),
        turn_uncertainty=float(np.hypot(np.linalg.norm(bias.uncertainty) * duration, 0.017 * angle)),
        force_before=even.acceleration[early].mean(axis=0),
        force_after=even.acceleration[late].mean(axis=0),
        gap=gap,
        clipped=bool((even.gyro_clipped[inside] | even.accelerometer_clipped[inside]).any()),
    )
