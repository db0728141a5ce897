"""Taking the unit's own figures from one bench."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.capture.recording import Recording
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.signals.rests import WINDOW
from benchrig.verdict.bench import Bench
from benchrig.verdict.figures import Reading, UnitFigures
from benchrig.verdict.health import noise_density, sensor_delay

_LEAST_RESTS: Final = 3
"""A spread needs three."""

_OF_A_MEDIAN: Final = float(np.sqrt(np.pi / 2))
"""By which the median of normal numbers is less sure than their mean (large samples)."""

_LEAST_SIZE_SPREAD: Final = 0.001
"""g: what a degree of warming moves a consumer accelerometer's offset (common practice, no published source); no two
benches are held against each other more finely."""


def unit_figures(bench: Bench) -> UnitFigures:
    """Take what the unit shows of itself, each figure with its standard deviation.

    Returns
    -------
    UnitFigures
    """
    bias = bench.stillness.bias
    # a unit whose scale is plainly wrong has its bias wrong by the same factor
    factor = bench.scale.factor if bench.scale is not None and bench.scale.is_off else 1.0
    delay = sensor_delay(bench)
    return UnitFigures(
        gyro_bias=None if bias is None else bias.value * factor,
        gyro_bias_uncertainty=None if bias is None else bias.uncertainty * factor,
        gyro_over_gravity=_scale(bench),
        accelerometer_size=_size(bench),
        gyro_noise=_noise(bench),
        accelerometer_delay=None if delay is None else Reading(*delay),
        temperature=_temperature(bench.recording),
    )


def _scale(bench: Bench) -> Reading | None:
    scale = bench.scale
    return None if scale is None else Reading(scale.ratio, scale.ratio * scale.uncertainty)


def _size(bench: Bench) -> Reading | None:
    rests = bench.stillness.rests
    if bench.size is None or len(rests) < _LEAST_RESTS:
        return None
    means = [bench.even.acceleration[r.start : r.stop].mean(axis=0) for r in rests]
    sizes = np.linalg.norm(means, axis=1) / STANDARD_GRAVITY
    spread = _OF_A_MEDIAN * float(np.std(sizes, ddof=1)) / np.sqrt(len(sizes))
    return Reading(bench.size, float(np.hypot(spread, _LEAST_SIZE_SPREAD)))


def _noise(bench: Bench) -> Reading | None:
    """Give the noise; one window's spread of n samples is known to a part in the root of 2 (n − 1)."""
    if not np.isfinite(bench.stillness.gyro_noise):
        return None
    density = float(np.radians(noise_density(bench)))
    samples = max(round(WINDOW / bench.even.step), 4)
    return Reading(density, density / float(np.sqrt(2 * (samples - 1))))


def _temperature(recording: Recording) -> Reading | None:
    own = recording.temperature
    if own is not None and np.isfinite(own).any():
        return Reading(float(np.nanmean(own)), float(np.nanstd(own)))
    at_bench = recording.temperature_at_bench
    return None if at_bench is None else Reading(at_bench, 0.0)
