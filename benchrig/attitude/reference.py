"""PLACEHOLDER type, the attitude floor completes it."""

from __future__ import annotations

from dataclasses import dataclass

from benchrig.geometry.directions import Vector


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far two ways of finding the attitude differ, over the samples where both can be compared.

    Attributes
    ----------
    witness : {"gyro only", "gravity"}
    rms, worst : float, rad
    samples : int
    """

    witness: str
    rms: float
    worst: float
    samples: int


@dataclass(frozen=True, slots=True, eq=False)
class Attitude:
    """The reference attitude of each sample.

    Attributes
    ----------
    quaternion : ndarray, shape (N, 4)
        World from body, scalar first; heading counts from the start of each segment.
    method : str
        In words, for the result: filter, version, gains, and by what it was computed.
    agreements : tuple of Agreement
    replay_difference : float
        Largest difference of quaternion parts between the fast loop and `ahrs` itself over the window replayed.
    """

    quaternion: Vector
    method: str
    agreements: tuple[Agreement, ...]
    replay_difference: float
