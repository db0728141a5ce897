"""A recording with the motor running: its lines, and what turns at which declared speed."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.measure.noise.as_sampled import as_sampled
from benchrig.measure.noise.spectrum import Spectrum
from benchrig.measure.noise.vibration import Line, find_lines, vibration_spectrum
from benchrig.measure.rotor.match import Source, Speed, find_speed
from benchrig.signals.body import EvenRecording
from benchrig.signals.runs import runs

LOWEST: Final = 5.0
"""Hz: hands and the bench move below (human movement is taken as below 5 to 20 Hz)."""

TURNED: Final = np.radians(3.0)
"""rad/s: a mean rate over a second by which the airframe is being turned; vibration has none."""

HANDLED: Final = 0.2
"""Share of a recording in which a hand may turn the airframe; with more it is one of moves, not of vibration."""

_SECONDS: Final = 1.0


@dataclass(frozen=True, slots=True)
class Turning:
    """What shakes, and how often the main rotor turns in a second as declared, Hz; None where that is not declared."""

    sources: tuple[Source, ...]
    declared: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """What a recording shows of vibration.

    Attributes
    ----------
    turning : Turning
    rate : float, Hz
        Samples a second.
    spectrum : Spectrum or None
        None where nothing unbroken is long and fast enough.
    clipped : float
        Share of samples in which a channel stood at the end of its range; they are left out.
    moved : float
        Share of samples in which a hand turned the airframe; they are left out.
    lines : tuple of Line
    speed : Speed or None
    """

    turning: Turning
    rate: float
    spectrum: Spectrum | None
    clipped: float
    moved: float
    lines: tuple[Line, ...]
    speed: Speed | None


def run_of(airframe: Airframe, recording: Recording, turning: Turning) -> Run:
    """Find the lines of a recording, and the speed that explains them.

    Parameters
    ----------
    airframe : Airframe
    recording : Recording
    turning : Turning

    Returns
    -------
    Run
    """
    even = as_sampled(recording, airframe.sensor)
    unmoved, moved = _unmoved(even)
    spectrum = vibration_spectrum(even, unmoved, LOWEST) if moved <= HANDLED else None
    lines = () if spectrum is None else find_lines(spectrum)
    declared = turning.declared
    speed = None if declared is None else find_speed(lines, turning.sources, declared, 1 / even.step, LOWEST)
    clipped = float((even.gyro_clipped | even.accelerometer_clipped).mean())
    return Run(turning, 1 / even.step, spectrum, clipped, moved, lines, speed)


def _unmoved(even: EvenRecording) -> tuple[list[tuple[int, int]], float]:
    """Give the stretches in which no hand turns the airframe, and the share of the samples outside them."""
    stretches = []
    bounds = [0, *(np.flatnonzero(np.diff(even.segment)) + 1).tolist(), len(even.time)]
    width = max(round(_SECONDS / even.step), 1)
    middle = np.median(even.angular_rate, axis=0)
    for start, stop in pairwise(bounds):
        if stop - start <= width:
            continue
        sums = np.vstack([np.zeros(3), np.cumsum(even.angular_rate[start:stop] - middle, axis=0)])
        slow = np.linalg.norm(sums[width:] - sums[:-width], axis=1) / width < TURNED
        stretches += [(start + a, start + b + width - 1) for a, b in runs(slow)]
    kept = sum(b - a for a, b in stretches)
    looked = sum(b - a for a, b in pairwise(bounds) if b - a > width)
    return stretches, 1 - kept / looked if looked else 0.0
