"""An even time base: steady steps inside a segment, nothing invented across a gap."""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import Vector
from benchrig.signals.body import BoolArray, EvenRecording

LONGEST_BRIDGE: Final = 0.050
"""s: a step longer than this, and than 2.5 ordinary steps, is a gap. Shorter losses are bridged by a straight line."""

SLOWEST_UPDATE: Final = 0.25
"""s: a compass, or a unit's own attitude, that comes less often than this gives none. Common practice, no source."""

FLAT_TOP: Final = 5
"""Samples: a channel that holds its extreme for so long has met the end of its range."""

_REPEATS_OFTEN: Final = 0.2  # a coarse channel that repeats itself anyway shows no flat top
_LEAP: Final = 2  # counts
_EVEN_ENOUGH: Final = 0.01  # of a step: below this the samples stay as they are


def uniform(recording: Recording, sensor: Sensor) -> EvenRecording:
    """Put a recording on even steps, a segment between each two gaps.

    Parameters
    ----------
    recording : Recording
    sensor : Sensor
        For the declared full scales, which show clipping.

    Returns
    -------
    EvenRecording
        Still in sensor axes.
    """
    time = recording.time
    step = float(np.median(np.diff(time)))
    gap = np.flatnonzero(np.diff(time) > max(LONGEST_BRIDGE, 2.5 * step)) + 1
    bounds = [0, *gap.tolist(), len(time)]
    spans = list(itertools.pairwise(bounds))
    grids = [_grid(time[a:b], step) for a, b in spans]
    even_time = np.concatenate(grids)
    segment = np.concatenate([np.full(len(grid), k) for k, grid in enumerate(grids)])

    def resample(values: Vector) -> Vector:
        parts = [_onto(grid, time[a:b], values[a:b]) for (a, b), grid in zip(spans, grids, strict=True)]
        return _frozen(np.concatenate(parts))

    def flag(flags: BoolArray) -> BoolArray:
        return resample(flags[:, None].astype(np.float64))[:, 0] > 0

    gyro_scale = sensor.gyro_range or recording.gyro_full_scale
    accelerometer_scale = sensor.accelerometer_range or recording.accelerometer_full_scale
    return EvenRecording(
        time=_frozen(even_time),
        step=step,
        segment=segment,
        angular_rate=resample(recording.angular_rate),
        acceleration=resample(recording.acceleration),
        magnetic_field=None if recording.magnetic_field is None else resample(_bridged(time, recording.magnetic_field)),
        unit_attitude=None if recording.unit_attitude is None else resample(_unbroken(time, recording.unit_attitude)),
        gyro_clipped=flag(clipped(recording.angular_rate, gyro_scale)),
        accelerometer_clipped=flag(clipped(recording.acceleration, accelerometer_scale)),
    )


def clipped(values: Vector, full_scale: float | None) -> BoolArray:
    """Mark the samples in which a channel stands at the end of its range.

    A channel stands at its end where it reads the full scale, or where it holds its largest or smallest value for
    `FLAT_TOP` samples or more although elsewhere it hardly ever repeats itself. A value beyond the full scale is no
    clipping: there the unit or the range is declared wrongly, and the sizes will show it.

    Parameters
    ----------
    values : ndarray, shape (N, 3)
    full_scale : float or None
        Same unit.

    Returns
    -------
    ndarray, shape (N,), bool
    """
    marks = np.zeros(len(values), dtype=np.bool_)
    if full_scale is not None and np.abs(values).max() <= 1.02 * full_scale:
        marks |= np.any(np.abs(values) >= 0.998 * full_scale, axis=1)
    for channel in values.T:
        marks |= _flat_tops(channel)
    return marks


def _flat_tops(channel: Vector) -> BoolArray:
    marks = np.zeros(len(channel), dtype=np.bool_)
    steps = np.abs(np.diff(channel))
    count = steps[steps > 0].min(initial=np.inf)
    for end in (channel.max(), channel.min()):
        at_end = channel == end
        run = np.concatenate([[0], np.cumsum(at_end)])
        long = np.flatnonzero(run[FLAT_TOP:] - run[:-FLAT_TOP] == FLAT_TOP)
        elsewhere = ~at_end[1:] & ~at_end[:-1]
        if not len(long) or elsewhere.sum() <= FLAT_TOP:
            continue
        # a coarse channel that repeats itself at rest comes to a peak of its own by single counts, to a stop by leaps
        leaps = np.median(steps[at_end[1:] != at_end[:-1]]) > _LEAP * count
        if leaps or np.mean(steps[elsewhere] == 0) < _REPEATS_OFTEN:
            marks |= at_end
    return marks


def _unbroken(time: Vector, angles: Vector) -> Vector:
    """Take the jumps at half a turn out of angles, and bridge rows without a new value."""
    whole = angles.copy()
    known = np.isfinite(angles).all(axis=1)
    whole[known] = np.unwrap(angles[known], axis=0)
    return _bridged(time, whole)


def _bridged(time: Vector, values: Vector) -> Vector:
    """Fill rows without a new value by straight lines between those that have one, up to `SLOWEST_UPDATE` apart."""
    known = np.flatnonzero(np.isfinite(values).all(axis=1))
    if len(known) in {0, len(values)}:
        return values
    bridged = np.column_stack([np.interp(time, time[known], column) for column in values[known].T])
    later = np.searchsorted(time[known], time)
    before = time[known[np.maximum(np.searchsorted(time[known], time, side="right") - 1, 0)]]
    after = time[known[np.minimum(later, len(known) - 1)]]
    outside = (time < time[known[0]]) | (time > time[known[-1]])
    bridged[outside | (after - before > SLOWEST_UPDATE)] = np.nan
    return bridged


def _grid(time: Vector, step: float) -> Vector:
    count = int((time[-1] - time[0]) / step + 0.5) + 1
    return np.linspace(time[0], time[0] + (count - 1) * step, count) if count > 1 else time[:1].copy()


def _onto(grid: Vector, time: Vector, values: Vector) -> Vector:
    if len(grid) == len(time) and np.abs(grid - time).max() < _EVEN_ENOUGH * (grid[-1] - grid[0]) / max(
        len(grid) - 1, 1
    ):
        return values
    return np.column_stack([np.interp(grid, time, column) for column in values.T])


def _frozen(values: Vector) -> Vector:
    values = np.ascontiguousarray(values, dtype=np.float64)
    values.flags.writeable = False
    return values
