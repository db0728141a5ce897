"""Everything one bench shows before it is judged: the measured side of the record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.attitude.reference import Attitude, reference_attitude
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.signals.body import BodyRecording, EvenRecording
from benchrig.signals.calibration import calibrated
from benchrig.signals.motions import Matching, Motion, match_motions, rest_at
from benchrig.signals.moves import Move, find_moves
from benchrig.signals.rests import Bias, Rest, Stillness, find_rests
from benchrig.signals.time_base import uniform
from benchrig.signals.to_body import specific_force, to_body
from benchrig.verdict.scale import GyroScale, gyro_scale
from benchrig.verdict.wirings import WiringPosterior, weigh_wirings

_NOTHING: Final = Bias(np.zeros(3), np.zeros(3))


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """What was declared, what was recorded, and what the signals show.

    Attributes
    ----------
    even : EvenRecording
        The accelerometer as specific force, whatever the unit reads.
    level : Rest or None
        The rest at which the airframe stood level.
    level_force : ndarray, shape (3,), m/s², or None
        Specific force there, sensor axes.
    moves : tuple of Move
        With the gyro's scale mended where it is plainly wrong, so that the wiring can still be named.
    scale : GyroScale or None
    size : float or None
        Median specific force at rest over standard gravity.
    wirings : WiringPosterior
    body : BodyRecording
        As declared.
    attitude : Attitude
        Of the reference filter, as declared.
    """

    airframe: Airframe
    recording: Recording
    even: EvenRecording
    stillness: Stillness
    level: Rest | None
    level_force: Vector | None
    moves: tuple[Move, ...]
    matching: Matching
    scale: GyroScale | None
    size: float | None
    wirings: WiringPosterior
    body: BodyRecording
    attitude: Attitude

    @property
    def motions(self) -> tuple[Motion, ...]:
        """The prompted motions, each with the move that answers it."""
        return self.matching.motions


def measure_bench(airframe: Airframe, recording: Recording) -> Bench:
    """Take from a recording all that the verdict rests on.

    Returns
    -------
    Bench
    """
    read = calibrated(uniform(recording, airframe.sensor), airframe.calibration)
    even = replace(read, acceleration=specific_force(read.acceleration, airframe.sensor))
    stillness = find_rests(even)
    bias = stillness.bias
    moves = () if bias is None else find_moves(even, stillness.rests, bias)
    scale = None if bias is None else gyro_scale(even, moves, bias)
    if bias is not None and scale is not None and scale.is_off:
        moves = _mended(even, stillness.rests, bias, scale.factor)
    matching = match_motions(even, moves, recording.prompts)
    level = _level(even, stillness.rests, moves, recording, matching.motions)
    level_force = None if level is None else even.acceleration[level.start : level.stop].mean(axis=0)
    body = to_body(read, bias, airframe.sensor)
    return Bench(
        airframe=airframe,
        recording=recording,
        even=even,
        stillness=stillness,
        level=level,
        level_force=level_force,
        moves=moves,
        matching=matching,
        scale=scale,
        size=_size(even, stillness.rests),
        wirings=weigh_wirings(matching.motions, moves, level_force, airframe.sensor.body_from_sensor),
        body=body,
        attitude=reference_attitude(body, [(r.start, r.stop) for r in stillness.rests]),
    )


def _mended(even: EvenRecording, rests: Sequence[Rest], bias: Bias, factor: float) -> tuple[Move, ...]:
    scaled = replace(even, angular_rate=even.angular_rate * factor)
    return find_moves(scaled, tuple(rests), Bias(bias.value * factor, bias.uncertainty * factor))


def _level(
    even: EvenRecording,
    rests: Sequence[Rest],
    moves: Sequence[Move],
    recording: Recording,
    motions: Sequence[Motion],
) -> Rest | None:
    """Find the rest at which the airframe stood level: the one prompted, else the bench rest before the first move."""
    bench = [r for r in rests if r.grade == "bench"]
    for prompt in recording.prompts:
        if prompt.name == "level" and prompt.start is not None:
            return rest_at(even, bench, prompt)
    first = next((m.move.start for m in motions if m.move is not None), None)
    if first is None:
        first = moves[0].start if moves else len(even.time)
    return next((r for r in bench if r.start < first), None)


def _size(even: EvenRecording, rests: Sequence[Rest]) -> float | None:
    if not rests:
        return None
    means = [even.acceleration[r.start : r.stop].mean(axis=0) for r in rests]
    return float(np.median(np.linalg.norm(means, axis=1))) / STANDARD_GRAVITY
