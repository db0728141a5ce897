"""Unbroken stretches of a recording as the compass fit needs them: rates, gravity where it was felt, and readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe, Magnetometer
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.signals.body import BodyRecording, EvenRecording, IntArray
from benchrig.signals.calibration import calibrated
from benchrig.signals.rests import Rest, find_rests
from benchrig.signals.time_base import uniform
from benchrig.signals.to_body import specific_force, to_body

MOVING_SPREAD: Final = 0.5
"""m/s²: one standard deviation of what a hand's own acceleration adds to gravity, at `MOVING_STEP`."""

RESTING_SPREAD: Final = 0.03
"""m/s²: one standard deviation of a rest's mean, beyond the bias and the gains, which are fitted."""

MOVING_STEP: Final = 0.2
"""s: how often gravity is looked at while the airframe turns."""

_NEAR_GRAVITY: Final = 0.3  # of g: a reading that differs by more is no gravity
_LEAST_UNSURE: Final = 1e-6  # rad/s: of a gyro whose channels do not even flicker; no weight may be infinite
_STILL: Final = 1e-9  # of the largest reading: what rounding makes of one that never changes
_LEAST_READINGS: Final = 50
_LEAST_SECONDS: Final = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """One stretch without a gap or a clipped sample.

    Attributes
    ----------
    recording : int
        Which of the recordings it is from.
    time : ndarray, shape (N,), s
        From the first sample of its recording.
    step : float, s
    rate : ndarray, shape (N, 3), rad/s
        Body axes as declared, bias of the rests taken out.
    rate_uncertainty : ndarray, shape (3,), rad/s
        Of that bias, body axes.
    felt : ndarray, shape (K,), int
        Samples at which gravity was felt, increasing; the first of them in a rest is `anchor`.
    force, force_spread : ndarray, shape (K, 3) and (K,), m/s²
        Specific force there, body axes, and one standard deviation of it.
    anchor : int
        Sample in a rest from which the attitude starts.
    anchor_force : ndarray, shape (3,), m/s²
    chosen : ndarray, shape (M,), int
        Samples with a reading of the compass.
    reading : ndarray, shape (M, 3), T
        Body axes as declared.
    """

    recording: int
    time: Vector
    step: float
    rate: Vector
    rate_uncertainty: Vector
    felt: IntArray
    force: Vector
    force_spread: Vector
    anchor: int
    anchor_force: Vector
    chosen: IntArray
    reading: Vector


def stretches_of(airframe: Airframe, compass: Magnetometer, recording: Recording, number: int) -> tuple[Stretch, ...]:
    """Cut a recording into stretches that the compass fit can use.

    The declared gyro and accelerometer calibration is applied, that of the compass is not: it is what is measured.

    Parameters
    ----------
    airframe : Airframe
    compass : Magnetometer
    recording : Recording
    number : int
        Of the recording.

    Returns
    -------
    tuple of Stretch
        Empty where nothing lay still, or the compass gave too little.
    """
    calibration = airframe.calibration
    if calibration is not None:
        calibration = replace(calibration, magnetometer_bias=None, magnetometer_matrix=None)
    read = calibrated(uniform(recording, airframe.sensor), calibration)
    even = replace(read, acceleration=specific_force(read.acceleration, airframe.sensor))
    stillness = find_rests(even)
    if stillness.bias is None:
        return ()
    body = to_body(read, stillness.bias, airframe.sensor)
    at, field = _readings(even, recording)
    field = field @ compass.body_from_sensor.T
    unsure = np.maximum(np.abs(airframe.sensor.body_from_sensor) @ stillness.bias.uncertainty, _LEAST_UNSURE)
    found = []
    for start, stop in _runs(even):
        rests = [r for r in stillness.rests if start <= r.start and r.stop <= stop and _serves(r, body)]
        inside = np.flatnonzero((at >= start) & (at < stop))
        if not rests or len(inside) < _LEAST_READINGS or (stop - start) * even.step < _LEAST_SECONDS:
            continue
        found.append(_stretch(body, (start, stop), rests, (at[inside], field[inside]), (number, unsure)))
    return tuple(found)


def still_channels(stretches: Sequence[Stretch], body_from_compass: Matrix) -> tuple[str, ...]:
    """Name the compass's own axes whose reading never changes."""
    read = np.concatenate([s.reading for s in stretches]) @ body_from_compass
    return tuple(
        axis for axis, reach in zip("xyz", np.ptp(read, axis=0), strict=True) if reach <= _STILL * np.abs(read).max()
    )


def _serves(rest: Rest, body: BodyRecording) -> bool:
    """Say whether a rest gives the gyro's zero and gravity: on the bench, with a force of about the size of gravity."""
    size = float(np.linalg.norm(body.specific_force[rest.start : rest.stop].mean(axis=0)))
    return rest.grade == "bench" and abs(size / STANDARD_GRAVITY - 1) < _NEAR_GRAVITY


def _readings(even: EvenRecording, recording: Recording) -> tuple[IntArray, Vector]:
    """Give each new reading with the sample of the even time base next to it, shapes (M,) and (M, 3).

    They are taken as they came: a compass is often slower than the rows and leaves blanks or repeats its last reading,
    and what is put on an even time base between a blank and a reading is a blank.
    """
    field = recording.magnetic_field
    if field is None:
        return np.zeros(0, dtype=np.int64), np.zeros((0, 3))
    known = np.flatnonzero(np.isfinite(field).all(axis=1))
    read = field[known]
    new = np.ones(len(read), dtype=np.bool_)
    new[1:] = (read[1:] != read[:-1]).any(axis=1)
    time = recording.time[known[new]]
    later = np.clip(np.searchsorted(even.time, time), 1, len(even.time) - 1)
    return np.where(time - even.time[later - 1] < even.time[later] - time, later - 1, later), read[new]


def _runs(even: EvenRecording) -> list[tuple[int, int]]:
    """Give the sample ranges without gap or clipped gyro sample."""
    broken = np.diff(even.segment * 2 + even.gyro_clipped) != 0
    edges = [0, *(np.flatnonzero(broken) + 1).tolist(), len(even.time)]
    return [(a, b) for a, b in pairwise(edges) if not even.gyro_clipped[a]]


def _stretch(
    body: BodyRecording,
    span: tuple[int, int],
    rests: list[Rest],
    compass: tuple[IntArray, Vector],
    gyro: tuple[int, Vector],
) -> Stretch:
    start, stop = span
    number, unsure = gyro
    at, force, spread = _gravity(body, span, rests)
    first = rests[0]
    return Stretch(
        recording=number,
        time=body.time[start:stop],
        step=body.step,
        rate=body.angular_rate[start:stop],
        rate_uncertainty=unsure,
        felt=at - start,
        force=force,
        force_spread=spread,
        anchor=(first.start + first.stop) // 2 - start,
        anchor_force=body.specific_force[first.start : first.stop].mean(axis=0),
        chosen=compass[0] - start,
        reading=compass[1],
    )


def _gravity(body: BodyRecording, span: tuple[int, int], rests: list[Rest]) -> tuple[IntArray, Vector, Vector]:
    """Give gravity once for each rest, as its mean, and every `MOVING_STEP` between them."""
    start, stop = span
    still = np.zeros(stop - start, dtype=np.bool_)
    for rest in rests:
        still[rest.start - start : rest.stop - start] = True
    width = max(round(MOVING_STEP / body.step), 1)
    smooth = np.column_stack(
        [np.convolve(c, np.ones(width) / width, mode="same") for c in body.specific_force_at_cg[start:stop].T]
    )
    moving = np.arange(width, stop - start - width, width, dtype=np.int64)
    size = np.linalg.norm(smooth[moving], axis=1)
    moving = moving[~still[moving] & (np.abs(size / STANDARD_GRAVITY - 1) < _NEAR_GRAVITY)]
    at = [(r.start + r.stop) // 2 for r in rests]
    means = [body.specific_force[r.start : r.stop].mean(axis=0) for r in rests]
    where = np.array([*at, *(moving + start)], dtype=np.int64)
    force = np.array([*means, *smooth[moving]])
    spread = np.array([RESTING_SPREAD] * len(rests) + [MOVING_SPREAD] * len(moving))
    order = np.argsort(where, kind="stable")
    return where[order], force[order], spread[order]
