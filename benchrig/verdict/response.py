"""How one actuator's pulses answer the airframe's turning: gains, delay, and how sure they are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.attitude.gyro import gyro_attitude
from benchrig.capture.recording import Pulses
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import angles_from_matrix, matrix_from_quaternion
from benchrig.measure.pulses.collective import by_stick
from benchrig.signals.body import BodyRecording, BoolArray
from benchrig.verdict.bench import Bench

LONGEST_DELAY: Final = 0.3
"""s: how late an answer is looked for, beyond what two clocks may stand apart."""

CLOCK_SPREADS: Final = 3.0
"""Standard deviations of the offset between two clocks within which an answer is looked for, early and late."""

NOMINAL_MOVE: Final = 1.0
"""s: the duration for which the part that answers the rate is counted as a change of pulse for the angle turned."""

_COARSE, _FINE = 0.010, 0.002  # s
_LEAST_SAMPLES: Final = 30
_LEAST_SPAN: Final = 10e-6  # s: a channel that moves less has no end stops to be at
_FAR_FROM_REST: Final = 0.3
_MOSTLY: Final = 0.5
_NO_LESS: Final = 1e-12  # s per rad: a channel without noise must not seem infinitely sure
_AT_LEAST: Final = 5  # pulses at a stop: fewer may be chance
_END_SHARE: Final = 0.01  # of the samples: more at the largest or smallest pulse than this is an end stop


@dataclass(frozen=True, slots=True, eq=False)
class Response:
    """A channel's answer to the airframe's real turning.

    Attributes
    ----------
    to_rate : ndarray, shape (3,), s per rad/s
        For roll, pitch and yaw.
    to_angle : ndarray, shape (3,), s per rad
    to_rate_uncertainty, to_angle_uncertainty : ndarray, shape (3,)
        One standard deviation; neighbouring residuals are alike, and that is counted.
    delay, delay_uncertainty : float, s
    time, measured, modelled : ndarray, shape (P,)
        Pulse, s from its mean, as recorded and as these gains give it.
    span : float, s
        Largest minus smallest pulse.
    at_ends : float
        Share of the pulses that stood at an end stop and were left out.
    clock_uncertainty : float, s
        The part of `delay_uncertainty` that comes from a second clock; all channels by that clock share it.
    precedes : bool
        Whether it seems to answer before its cause, by more than two clocks may stand apart.
    """

    to_rate: Vector
    to_angle: Vector
    to_rate_uncertainty: Vector
    to_angle_uncertainty: Vector
    delay: float
    delay_uncertainty: float
    time: Vector
    measured: Vector
    modelled: Vector
    span: float
    at_ends: float
    clock_uncertainty: float = 0.0
    precedes: bool = False

    @property
    def per_angle(self) -> Vector:
        """Change of pulse over the angle turned in a motion of one second, shape (3,), s per rad."""
        return self.to_angle + self.to_rate / NOMINAL_MOVE

    @property
    def per_angle_uncertainty(self) -> Vector:
        """One standard deviation of `per_angle`."""
        return np.hypot(self.to_angle_uncertainty, self.to_rate_uncertainty / NOMINAL_MOVE)


def real_motion(bench: Bench) -> Matrix:
    """Give what the airframe really did, by the likeliest wiring.

    Returns
    -------
    ndarray, shape (N, 6)
        Body rates (rad/s), then roll, pitch and yaw (rad) by the gyro alone, from the first bench rest after each gap:
        what comes before that is not known, and nan.
    """
    likeliest = bench.wirings.mounting(int(np.argmax(bench.wirings.gyro)))
    factor = 1.0 if bench.scale is None or not bench.scale.is_off else bench.scale.factor
    bias = np.zeros(3) if bench.stillness.bias is None else bench.stillness.bias.value
    rate = factor * (bench.even.angular_rate - bias) @ likeliest.T
    zero = np.zeros_like(rate)
    body = BodyRecording(bench.even.time, bench.even.step, bench.even.segment, rate, zero, zero)
    attitude = matrix_from_quaternion(gyro_attitude(body))
    angles = np.full_like(rate, np.nan)
    for rest in reversed([r for r in bench.stillness.rests if r.grade == "bench"]):
        # of the rests of one segment the first is met last, and stays
        part = np.flatnonzero(bench.even.segment == bench.even.segment[rest.start])
        part = part[part >= rest.start]
        angles[part] = np.unwrap(angles_from_matrix(attitude[rest.start].T @ attitude[part]), axis=0)
    return np.column_stack([rate, angles])


def measure_response(bench: Bench, motion: Matrix, pulses: Pulses) -> Response | None:
    """Fit a channel's pulses to the airframe's rates and angles over a grid of delays.

    Parameters
    ----------
    bench : Bench
    motion : ndarray, shape (N, 6)
        From `real_motion`.
    pulses : Pulses

    Returns
    -------
    Response or None
        None where there are too few pulses to say anything.
    """
    when, width, row = update_instants(pulses)
    apart = _COARSE * float(np.ceil(CLOCK_SPREADS * pulses.delay_uncertainty / _COARSE))
    inside = _explained(bench, motion, when, apart)
    when, width = when[inside], width[inside]
    if len(when) < _LEAST_SAMPLES:
        return None
    span, free = float(np.ptp(width)), ~_at_end_stop(width)
    when, width = when[free], width[free]
    if len(when) < _LEAST_SAMPLES:
        return None
    # a nan that is never asked for would still spoil its neighbours
    known = np.nan_to_num(motion)
    change = width - width.mean()

    def design(delay: float) -> Matrix:
        columns = np.column_stack([np.interp(when - delay, bench.even.time, c) for c in known.T])
        centred: Matrix = columns - columns.mean(axis=0)
        return centred

    def badness(delay: float) -> float:
        # normal equations cost a tenth of a full decomposition, and only the place of the minimum is wanted here
        columns = design(delay)
        gains = np.linalg.lstsq(columns.T @ columns, columns.T @ change, rcond=None)[0]
        return float(change @ change - gains @ (columns.T @ change))

    delay, delay_uncertainty = _best_delay(badness, len(when), apart)
    columns = design(delay)
    gains, spread = _gains(columns, change)
    return Response(
        to_rate=gains[:3],
        to_angle=gains[3:],
        to_rate_uncertainty=spread[:3],
        to_angle_uncertainty=spread[3:],
        delay=delay,
        # where in its row a new pulse came is not known: evenly spread over the row
        delay_uncertainty=float(np.hypot(np.hypot(delay_uncertainty, row / np.sqrt(12)), pulses.delay_uncertainty)),
        time=when,
        measured=change,
        modelled=columns @ gains,
        span=span,
        at_ends=float(1 - free.mean()),
        clock_uncertainty=pulses.delay_uncertainty,
        precedes=apart > 0 and delay <= _FINE - apart,
    )


def _gains(columns: Matrix, change: Vector) -> tuple[Vector, Vector]:
    """Give the gains that fit best, and one standard deviation of each."""
    gains: Vector = np.asarray(np.linalg.lstsq(columns, change, rcond=None)[0], dtype=np.float64)
    residual = change - columns @ gains
    squares = float(residual @ residual)
    variance = np.diag(np.linalg.pinv(columns.T @ columns)) * squares / max(len(change) - 7, 1)
    spread: Vector = np.maximum(np.sqrt(np.maximum(variance, 0.0)) * _kinship(residual), _NO_LESS)
    return gains, spread


def _explained(bench: Bench, motion: Matrix, when: Vector, apart: float) -> BoolArray:
    """Tell which pulses answer the airframe: no stick, no gap, nothing unknown where their cause may lie."""
    time, segment = bench.even.time, bench.even.segment
    unknown = np.isnan(motion).any(axis=1).astype(np.float64)
    earliest, latest = when - LONGEST_DELAY - apart, when + apart
    whole = np.interp(earliest, time, segment) == np.interp(latest, time, segment)
    inside = (earliest >= time[0]) & (latest <= time[-1])
    by_unit = ~by_stick(bench.recording.prompts, when)
    return np.asarray(inside & whole & by_unit & (np.interp(when, time, unknown) == 0))


def update_instants(pulses: Pulses) -> tuple[Vector, Vector, float]:
    """Find when a channel was renewed, where its rows only hold the last pulse.

    A row that holds an old pulse would count it as new, up to a frame too late. Where most rows hold, only the
    changes are kept, and the frames between them in which the pulse stayed the same. A row shows a change that came
    since the row before it: half a row earlier, on average.

    Returns
    -------
    time, width : ndarray, shape (P,), s
    row : float, s
        The span within which a change is placed; 0 where every row is new.
    """
    time, width = pulses.time, pulses.width
    if len(time) < 3:  # noqa: PLR2004 - no step to look at
        return time, width, 0.0
    changed = np.flatnonzero(np.diff(width) != 0) + 1
    if len(changed) < _LEAST_SAMPLES or len(changed) > 0.6 * len(time):
        return time, width, 0.0
    row = float(np.median(np.diff(time)))
    frame = float(np.percentile(np.diff(time[changed]), 10))
    starts, stops = time[changed], np.append(time[changed[1:]], time[-1])
    copies = np.maximum(np.round((stops - starts) / frame).astype(int), 1)
    offset = np.arange(copies.sum()) - np.repeat(np.cumsum(copies) - copies, copies)
    return np.repeat(starts - 0.5 * row, copies) + offset * frame, np.repeat(width[changed], copies), row


def _at_end_stop(width: Vector) -> BoolArray:
    low, high = width.min(), width.max()
    if high - low <= _LEAST_SPAN:
        return np.zeros(len(width), dtype=np.bool_)
    marks = np.zeros(len(width), dtype=np.bool_)
    for end in (low, high):
        at_end = width == end
        far = abs(end - np.median(width)) > _FAR_FROM_REST * (high - low)
        if far and at_end.sum() >= _AT_LEAST and _END_SHARE < at_end.mean() < _MOSTLY:
            marks |= at_end
    return marks


def _kinship(residual: Vector) -> float:
    """Give the factor by which alike neighbours widen the uncertainty."""
    power = float(residual @ residual)
    alike = float(residual[1:] @ residual[:-1]) / power if power > 0 else 0.0
    alike = min(max(alike, 0.0), 0.98)
    return float(np.sqrt((1 + alike) / (1 - alike)))


def _best_delay(badness: Callable[[float], float], count: int, apart: float) -> tuple[float, float]:
    coarse = np.arange(-apart, LONGEST_DELAY + apart, _COARSE)
    at_coarse = [badness(float(d)) for d in coarse]
    centre = float(coarse[int(np.argmin(at_coarse))])
    fine = np.arange(max(centre - _COARSE, -apart), centre + _COARSE + _FINE / 2, _FINE)
    at_fine = np.array([badness(float(d)) for d in fine])
    best = int(np.argmin(at_fine))
    if best in {0, len(fine) - 1}:
        return float(fine[best]), _FINE
    left, middle, right = at_fine[best - 1 : best + 2]
    curve = left - 2 * middle + right
    delay = float(fine[best] + 0.5 * _FINE * (left - right) / curve) if curve > 0 else float(fine[best])
    variance = max(float(middle), 0.0) / max(count, 1)
    width = _FINE * np.sqrt(2 * variance / curve) if curve > 0 else _COARSE
    return delay, float(min(max(width, 1e-4), LONGEST_DELAY))
