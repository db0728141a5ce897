"""The reference attitude: Mahony's filter of the `ahrs` library, and how well two other witnesses agree with it.

The filter is shown and checked, and never decides: with one gyro axis reversed its correction pulls the attitude to the
accelerometer's answer within seconds, and the fault is gone from sight.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.attitude.gyro import gyro_attitude, segments
from benchrig.attitude.kernel import LONG, Loop
from benchrig.attitude.library import (
    LIBRARY,
    ReferenceFilterError,
    fed_rate,
    library_mahony,
    pull_of_gravity,
    self_test,
    upright_attitude,
)
from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import matrix_from_quaternion, multiply, vector_from_quaternion
from benchrig.signals.body import BodyRecording

__all__ = ["Agreement", "Attitude", "ReferenceFilterError", "gyro_attitude", "reference_attitude", "self_test"]

PROPORTIONAL_GAIN: Final = 0.5
"""k_P, 1/s: gravity corrects the attitude with a time constant of 2 s."""

INTEGRAL_GAIN: Final = 0.001
"""k_I, 1/s²: the bias is taken out at rest before the filter sees the rates, so next to nothing is left to learn.

The library's own gains (1 and 0.3) take hand-made accelerations for a bias of the gyro. Measured on two published hand
recordings with the bias of a rest taken out: inclination against optical motion capture 0.44° and 0.52° rms with the
library's gains, 0.35° and 0.33° with these (worst 1.9° against 1.2°), and the heading over 90 s within 2.0° rms against
0.7°. On a board turned by hand and spun at 1030°/s the library's gains learn a bias of 16°/s that is not there, and the
attitude leaves the gyro's by 180°; with these it stays within 7.3° (1.4° before the spin). A bias of 0.3°/s left in the
rates costs 0.6°.
"""

REPLAYED_SAMPLES: Final = 2000
REPLAY_LIMIT: Final = 1e-9
"""Largest difference of quaternion parts between the loop here and the library's that is put down to rounding."""

RESTLESS_START: Final = 5.0
"""Seconds of a segment without a rest over which gravity is averaged for its start."""

_CONJUGATE: Final = np.array([1.0, -1.0, -1.0, -1.0])


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far two ways of finding the attitude differ, over the samples where both can be compared.

    Attributes
    ----------
    witness : {"gyro only", "gravity"}
        "gyro only": angle between the two turns since the last start of a rest or segment. "gravity": angle between
        the gravity of the reference and the measured one, means over each rest.
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
        With the gyro alone, and with gravity; a witness that could say nothing is left out.
    replay_difference : float
        Largest difference of quaternion parts between the fast loop and `ahrs` itself over the window replayed.
    """

    quaternion: Vector
    method: str
    agreements: tuple[Agreement, ...]
    replay_difference: float


def reference_attitude(body: BodyRecording, rests: Sequence[tuple[int, int]]) -> Attitude:
    """Run the reference filter, anew for each segment.

    It starts from gravity at the first rest of the segment, carried back to the segment's first sample by the gyro:
    the attitude is right from the first sample on, and nothing has to settle. A segment without a rest starts from
    the mean of its first seconds, carried back in the same way.

    Parameters
    ----------
    body : BodyRecording
        Gravity is taken from `specific_force_at_cg`.
    rests : sequence of (start, stop)
        Sample ranges at which gravity can be trusted.

    Returns
    -------
    Attitude

    Raises
    ------
    ValueError
        If there is no sample, a value is not finite, or a rest is empty or reaches out of the recording.
    ReferenceFilterError
        If the library does not replay what the loop here computed.
    """
    if not len(body.time):
        message = "an attitude needs at least one sample"
        raise ValueError(message)
    for start, stop in rests:
        if not 0 <= start < stop <= len(body.time):
            message = f"the rest [{start}, {stop}) is empty or not within {len(body.time)} samples"
            raise ValueError(message)
    rate, pull = fed_rate(body.angular_rate), pull_of_gravity(body.specific_force_at_cg)
    by_gyro = gyro_attitude(body)
    parts = tuple(segments(body.segment))
    longest = max(parts, key=lambda part: part[1] - part[0])
    quaternion, difference = np.empty((len(rate), 4)), 0.0
    for part in parts:
        inside = slice(*part)
        upright = upright_attitude(_pull_at_start(by_gyro, pull, _start_range(body.step, part, rests)))
        run = _Run(rate[inside], pull[inside], body.step, upright, len(rate) >= LONG)
        if part == longest:
            quaternion[inside], difference = _vouched(run)
        else:
            quaternion[inside] = _whole(run)
    agreements = (
        _agreement_with_gyro(quaternion, by_gyro, (part[0] for part in parts), rests),
        _agreement_with_gravity(quaternion, pull, rests),
    )
    quaternion.flags.writeable = False
    return Attitude(quaternion, _method(len(rate)), tuple(a for a in agreements if a is not None), difference)


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """What one run of the filter is fed with."""

    rate: Vector
    pull: Vector
    step: float
    start: Vector
    compiled: bool

    def loop(self) -> Loop:
        return Loop(self.rate, self.pull, self.step, _GAINS, self.start, compiled=self.compiled)


_GAINS: Final = (PROPORTIONAL_GAIN, INTEGRAL_GAIN)


def _method(samples: int) -> str:
    kind = "compiled" if samples >= LONG else "interpreted"
    return (
        f"Mahony filter of {LIBRARY}, gyro and accelerometer, k_P = {PROPORTIONAL_GAIN}, k_I = {INTEGRAL_GAIN}; "
        "each segment started from gravity at its first rest, carried to its first sample by the gyro "
        f"(without a rest: from its first {RESTLESS_START:g} s); "
        f"computed by an equal loop, {kind}, of which {LIBRARY} replayed a window of at most {REPLAYED_SAMPLES} samples"
    )


def _start_range(step: float, part: tuple[int, int], rests: Sequence[tuple[int, int]]) -> slice:
    within = [(max(start, part[0]), min(stop, part[1])) for start, stop in rests if start < part[1] and stop > part[0]]
    if within:
        return slice(*min(within))
    return slice(part[0], min(part[1], part[0] + 1 + round(RESTLESS_START / step)))


def _pull_at_start(by_gyro: Vector, pull: Vector, where: slice) -> Vector:
    """Average gravity in the axes of the segment's first sample."""
    mean: Vector = np.einsum("nij,nj->ni", matrix_from_quaternion(by_gyro[where]), pull[where]).mean(axis=0)
    return mean


def _whole(run: _Run) -> Vector:
    loop = run.loop()
    loop.run_to(len(run.rate))
    return loop.attitude


def _vouched(run: _Run) -> tuple[Vector, float]:
    """Run the loop, and let the library replay the stretch with most motion in it from the state the loop had there."""
    count = min(REPLAYED_SAMPLES, len(run.rate))
    moved = np.concatenate([[0.0], np.linalg.norm(run.rate, axis=1).cumsum()])
    first = int(np.argmax(moved[count:] - moved[:-count]))
    loop = run.loop()
    loop.run_to(first + 1)
    bias = loop.bias
    loop.run_to(len(run.rate))
    attitude, window = loop.attitude, slice(first, first + count)
    replayed = library_mahony(run.rate[window], run.pull[window], run.step, _GAINS, attitude[first], bias=bias)
    difference = float(np.abs(replayed - attitude[window]).max())
    if not difference <= REPLAY_LIMIT:
        message = (
            f"{LIBRARY} replayed samples {first} to {first + count - 1} of a segment and came to quaternions that "
            f"differ by {difference:.3g} from this program's own loop, where at most {REPLAY_LIMIT:g} is rounding"
        )
        raise ReferenceFilterError(message)
    return attitude, difference


def _agreement_with_gyro(
    quaternion: Vector, by_gyro: Vector, segment_starts: Iterable[int], rests: Sequence[tuple[int, int]]
) -> Agreement | None:
    anchors = np.array(sorted({*segment_starts, *(start for start, _ in rests)}))
    anchor = anchors[np.searchsorted(anchors, np.arange(len(quaternion)), side="right") - 1]
    turn, gyro_turn = (multiply(q[anchor] * _CONJUGATE, q) for q in (quaternion, by_gyro))
    angle = np.linalg.norm(vector_from_quaternion(multiply(turn * _CONJUGATE, gyro_turn)), axis=1)
    compared = np.delete(angle, anchors)
    return _agreement("gyro only", compared, np.ones(len(compared)))


def _agreement_with_gravity(quaternion: Vector, pull: Vector, rests: Sequence[tuple[int, int]]) -> Agreement | None:
    angles = []
    for start, stop in rests:
        predicted = matrix_from_quaternion(quaternion[start:stop])[:, 2, :].mean(axis=0)
        measured = pull[start:stop].mean(axis=0)
        angles.append(np.arctan2(np.linalg.norm(np.cross(predicted, measured)), predicted @ measured))
    return _agreement("gravity", np.array(angles), np.array([float(stop - start) for start, stop in rests]))


def _agreement(witness: str, angles: Vector, samples: Vector) -> Agreement | None:
    if not len(angles):
        return None
    rms = float(np.sqrt(np.average(angles**2, weights=samples)))
    return Agreement(witness, rms, float(angles.max()), int(samples.sum()))
