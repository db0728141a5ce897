"""Still poses: what the accelerometer reads while the airframe lies still, and which sides were down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import POSES
from benchrig.signals.body import EvenRecording
from benchrig.signals.rests import Rest, Stillness
from benchrig.signals.to_body import specific_force

SHORTEST_POSE: Final = 0.8
"""s: of a still pose that counts."""

SAME_WAY: Final = np.radians(15.0)
"""rad: two poses closer than this say the same thing."""

FACE: Final = np.radians(30.0)
"""rad: an axis within this of the vertical is one of the six faces."""

HAND_SPEED: Final = 0.02
"""m/s: by which a held airframe's speed may change over a pose; its mean reading is off by this over the duration."""

_HANDS: Final = 0.5  # s at either end that belong to the hand that lays it down and takes it up
_HAND_DRIFT: Final = np.radians(3.0)  # rad/s: a hold that turns faster is no pose
_BLOCKS: Final = 8


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """A still pose; sensor axes.

    Attributes
    ----------
    start, end : float, s
    reading : ndarray, shape (3,), m/s²
        Mean of what the accelerometer gives, its own errors included.
    uncertainty : float, m/s²
        Of one axis of the mean, one standard deviation.
    by_hand : bool
        Held, not lying.
    rate : ndarray, shape (3,), rad/s
        Mean of what the gyro gives.
    """

    start: float
    end: float
    reading: Vector
    uncertainty: float
    by_hand: bool
    rate: Vector

    @property
    def way(self) -> Vector:
        """Unit vector along the reading."""
        unit: Vector = self.reading / np.linalg.norm(self.reading)
        return unit


def find_poses(even: EvenRecording, stillness: Stillness) -> tuple[Pose, ...]:
    """Take the rests that are long enough and touch no end of a range; holds in the hand count for less.

    Parameters
    ----------
    even : EvenRecording
    stillness : Stillness

    Returns
    -------
    tuple of Pose
        In order of time. The uncertainty of a mean comes from how its parts of the same length differ, and is pooled
        over the recording: single poses are too short to tell it.
    """
    spans = [(r.grade == "hand", inner(even, r)) for r in stillness.rests if _counts(even, r, stillness)]
    if not spans:
        return ()
    scatter = np.array([block_variance(even.acceleration[s]) for _, s in spans])
    lengths = np.array([s.stop - s.start for _, s in spans])
    # white noise: the variance of a mean falls with its length, so that all poses tell of one density
    density = float(np.median(scatter * lengths))
    return tuple(
        Pose(
            start=float(even.time[s.start]),
            end=float(even.time[s.stop - 1]),
            by_hand=held,
            reading=even.acceleration[s].mean(axis=0),
            uncertainty=float(np.hypot(np.sqrt(max(density / n, variance)), held * HAND_SPEED / (n * even.step))),
            rate=even.angular_rate[s].mean(axis=0),
        )
        for (held, s), n, variance in zip(spans, lengths, scatter, strict=True)
    )


def _counts(even: EvenRecording, rest: Rest, stillness: Stillness) -> bool:
    span = inner(even, rest)
    if (span.stop - span.start) * even.step < SHORTEST_POSE or even.accelerometer_clipped[span].any():
        return False
    # zeros are what a dead accelerometer gives: they point nowhere
    if not tells_its_spread(even, rest) or not even.acceleration[span].any():
        return False
    if rest.grade == "bench":
        return True
    bias = np.zeros(3) if stillness.bias is None else stillness.bias.value
    drift = np.linalg.norm(even.angular_rate[span].mean(axis=0) - bias)
    return bool(drift < _HAND_DRIFT)


def inner(even: EvenRecording, rest: Rest) -> slice:
    """Give the samples of a rest without its edges, which belong to the hand; of a short one the middle half."""
    margin = min(round(_HANDS / even.step), rest.samples // 4)
    return slice(rest.start + margin, rest.stop - margin)


def tells_its_spread(even: EvenRecording, rest: Rest) -> bool:
    """Whether a rest has the samples that `block_variance` needs; few have at some samples a second."""
    span = inner(even, rest)
    return bool(span.stop - span.start >= _BLOCKS)


def block_variance(values: Vector) -> float:
    """Estimate the variance of the mean of samples, one axis's, from the means of blocks: slow noise counts too.

    Parameters
    ----------
    values : ndarray, shape (N, 3)
        Eight samples or more.
    """
    length = len(values) // _BLOCKS
    blocks = values[: length * _BLOCKS].reshape(_BLOCKS, length, 3).mean(axis=1)
    return float(blocks.var(axis=0, ddof=1).mean()) / _BLOCKS


def distinct(poses: Sequence[Pose]) -> int:
    """Count the poses that differ from one another by `SAME_WAY` or more."""
    kept: list[Vector] = []
    for pose in poses:
        if all(pose.way @ other < np.cos(SAME_WAY) for other in kept):
            kept.append(pose.way)
    return len(kept)


def missing_faces(poses: Sequence[Pose], sensor: Sensor) -> tuple[str, ...]:
    """Name the poses that would put an axis of the unit along the vertical for the first time.

    Parameters
    ----------
    poses : sequence of Pose
    sensor : Sensor
        For the mounting: the words are about the airframe.

    Returns
    -------
    tuple of str
        Words of `POSES`, for a unit that is not square the nearest ones.
    """
    words = []
    for axis in range(3):
        for sign in (1.0, -1.0):
            shown = any(sign * pose.way[axis] >= np.cos(FACE) for pose in poses)
            if not shown:
                words.append(_word_for(axis, sign, sensor))
    return tuple(word for word in POSES if word in words)


def _word_for(axis: int, sign: float, sensor: Sensor) -> str:
    """Name the pose in which the accelerometer's `axis` reads its largest value of that sign."""
    reading = np.zeros(3)
    reading[axis] = sign
    return lies(reading, sensor)


def lies(reading: Vector, sensor: Sensor) -> str:
    """Name the pose nearest to a reading at rest, by the declared mounting.

    Examples
    --------
    >>> unit = Sensor(np.eye(3), np.zeros(3), None, "specific force", None, None)
    >>> lies(np.array([0.0, 0.0, -9.8]), unit), lies(np.array([9.8, 0.0, 1.0]), unit)
    ('level', 'on tail')
    """
    down = -sensor.body_from_sensor @ specific_force(reading, sensor)
    return max(POSES, key=lambda word: POSES[word][1] * float(down[POSES[word][0]]))


def is_a_face(reading: Vector, sensor: Sensor) -> bool:
    """Whether one of the airframe's sides is down, rather than an edge or a corner."""
    down = sensor.body_from_sensor @ reading
    return bool(np.abs(down).max() >= np.cos(FACE) * np.linalg.norm(down))
