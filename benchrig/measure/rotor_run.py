"""A recording with the motor running: its lines, and what turns at which declared speed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.measure.rotor_match import Source, Speed, find_speed
from benchrig.measure.spectrum import Spectrum
from benchrig.measure.vibration import Line, find_lines, vibration_spectrum
from benchrig.signals.time_base import uniform

LOWEST: Final = 5.0
"""Hz: hands and the bench move below (human movement is taken as below 5 to 20 Hz)."""


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
    lines : tuple of Line
    speed : Speed or None
    """

    turning: Turning
    rate: float
    spectrum: Spectrum | None
    clipped: float
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
    even = uniform(recording, airframe.sensor)
    spectrum = vibration_spectrum(even, [(0, len(even.time))], LOWEST)
    lines = () if spectrum is None else find_lines(spectrum)
    declared = turning.declared
    speed = None if declared is None else find_speed(lines, turning.sources, declared, 1 / even.step)
    clipped = float((even.gyro_clipped | even.accelerometer_clipped).mean())
    return Run(turning, 1 / even.step, spectrum, clipped, lines, speed)
