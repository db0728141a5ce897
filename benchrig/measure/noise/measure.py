"""The noise of the unit at rest, in the words and units of data sheets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import SENSOR_AXES, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.figure import Curve, Figure
from benchrig.measure.measurement import Quantity
from benchrig.measure.noise.as_sampled import as_sampled
from benchrig.measure.noise.reading import ONE_SIDED, Level, NoiseReading, read_noise
from benchrig.measure.noise.still_stretches import still_stretches
from benchrig.measure.noise.vibration import CHANNELS, FALSE_ALARM, Line, find_lines, vibration_spectrum
from benchrig.outcome import Finding
from benchrig.signals.body import EvenRecording
from benchrig.signals.rests import find_rests

LOWEST_LINE: Final = 1.0
"""Hz: below it, a line cannot be told from a slow drift."""

_MOST_LINES: Final = 6
_ROOT_HOUR: Final = 60.0  # √s


@dataclass(frozen=True, slots=True)
class _Scale:
    """A unit for people, and what a value in SI is multiplied by."""

    unit: str
    factor: float


@dataclass(frozen=True, slots=True)
class _Triad:
    name: str
    walk: str
    density: _Scale
    white: _Scale
    flicker: _Scale
    slow: _Scale
    curve: _Scale


_DEGREE: Final = 180 / np.pi
_GYRO: Final = _Triad(
    "gyro",
    "angle random walk",
    _Scale("°/s/√Hz", _DEGREE * ONE_SIDED),
    _Scale("°/√h", _DEGREE * _ROOT_HOUR),
    _Scale("°/h", _DEGREE * _ROOT_HOUR**2),
    _Scale("°/h/√h", _DEGREE * _ROOT_HOUR**3),
    _Scale("°/h", _DEGREE * _ROOT_HOUR**2),
)
_ACCELEROMETER: Final = _Triad(
    "accelerometer",
    "velocity random walk",
    _Scale("µg/√Hz", 1e6 / STANDARD_GRAVITY * ONE_SIDED),
    _Scale("m/s/√h", _ROOT_HOUR),
    _Scale("µg", 1e6 / STANDARD_GRAVITY),
    _Scale("µg/√h", 1e6 / STANDARD_GRAVITY * _ROOT_HOUR),
    _Scale("µg", 1e6 / STANDARD_GRAVITY),
)

METHOD: Final = (
    "The noise is read from overlapping Allan deviations of the stretches at rest, none averaged across a move.",
    (
        "White noise, flicker and random walk are fitted to all points at once, each weighed by how it varies with "
        "the others, and read where IEEE 952 does: N at 1 s, B where the curve is flat (0.664 B), K at 3 s."
    ),
    (
        "Noise density is one-sided, as on data sheets: √2 times N. The random walks are N itself; some data sheets "
        "print 60 times the one-sided density instead, which is √2 larger."
    ),
    "The shortest averaging times are left out where the unit's own filter bends the curve.",
    f"Lines are looked for above 1 Hz; white noise shows one in at most {FALSE_ALARM:.1%} of all recordings.",
)
UNKNOWN: Final = (
    "Rest tells nothing of the noise while motors run: record them running, blades off, for the vibration.",
    "One recording tells nothing of how the biases change with temperature, or from one start to the next.",
)


@dataclass(frozen=True, slots=True, eq=False)
class Noise:
    """What a recording at rest says of the unit's noise, ready to stand in a measurement of the sensor.

    Attributes
    ----------
    quantities : tuple of Quantity
        Noise density, random walk, bias instability and slow walk of each channel, in the sensor's axes.
    findings : tuple of Finding
        Advice where something hummed or shook.
    figures : tuple of Figure
        The Allan deviations of the gyro and of the accelerometer; none where there are none.
    unknown, method : tuple of str
    """

    quantities: tuple[Quantity, ...]
    findings: tuple[Finding, ...]
    figures: tuple[Figure, ...]
    unknown: tuple[str, ...]
    method: tuple[str, ...]


def measure_noise(recording: Recording, sensor: Sensor) -> Noise:
    """Read the noise of all six channels where the unit lay still, and look for lines in it.

    Parameters
    ----------
    recording : Recording
    sensor : Sensor
        For the declared full scales.

    Returns
    -------
    Noise
    """
    even = as_sampled(recording, sensor)
    return noise_of(even, still_stretches(even, find_rests(even)))


def noise_of(even: EvenRecording, stretches: Sequence[tuple[int, int]]) -> Noise:
    """Read the noise of all six channels from known stretches.

    Parameters
    ----------
    even : EvenRecording
        As `benchrig.measure.noise.as_sampled.as_sampled` gives it.
    stretches : sequence of (int, int)
        Samples ``[start, stop)`` in which the unit lay still; none reaches across a gap.

    Returns
    -------
    Noise
    """
    quantities: list[Quantity] = []
    figures: list[Figure] = []
    for triad, values in ((_GYRO, even.angular_rate), (_ACCELEROMETER, even.acceleration)):
        readings = [read_noise([column[a:b] for a, b in stretches], even.step) for column in values.T]
        rows = [_quantities(triad, axis, reading) for axis, reading in zip(SENSOR_AXES, readings, strict=True)]
        quantities += [quantity for kind in zip(*rows, strict=True) for quantity in kind]
        if any(len(reading.tau) for reading in readings):
            figures.append(_figure(triad, readings))
    spectrum = vibration_spectrum(even, stretches, LOWEST_LINE)
    lines = () if spectrum is None else find_lines(spectrum)
    return Noise(tuple(quantities), tuple(_hums(lines)), tuple(figures), UNKNOWN, METHOD)


def _hums(lines: Sequence[Line]) -> Iterator[Finding]:
    if not lines:
        return
    said = "; ".join(f"{line.frequency:.1f} Hz in {_where(line)}" for line in lines[:_MOST_LINES])
    more = f" and {len(lines) - _MOST_LINES} more" if len(lines) > _MOST_LINES else ""
    fix = "Switch off what runs on the bench and record again; what stays is the mains', or the unit's own."
    yield Finding("vibration-at-rest", "advice", f"At rest the unit shows lines: {said}{more}.", fix)


def _where(line: Line) -> str:
    top = max(line.peaks, key=lambda peak: peak.rise)
    others = len(line.peaks) - 1
    return CHANNELS[top.channel] + (f" and {others} other channels" if others > 1 else "")


def _quantities(triad: _Triad, axis: str, reading: NoiseReading) -> list[Quantity]:
    since = "" if np.isnan(reading.since) else f", averaging times from {reading.since:.3g} s"
    slow = f"{'rate' if triad is _GYRO else 'acceleration'} random walk"
    return [
        _quantity(f"{triad.name} noise density, {axis}", reading.white, triad.density, f"one-sided{since}"),
        _quantity(f"{triad.name} {triad.walk}, {axis}", reading.white, triad.white, "read at 1 s"),
        _quantity(f"{triad.name} bias instability, {axis}", reading.flicker, triad.flicker, "read where it is flat"),
        _quantity(f"{triad.name} {slow}, {axis}", reading.walk, triad.slow, "read at 3 s"),
    ]


def _quantity(name: str, level: Level, scale: _Scale, read: str) -> Quantity:
    if level.value is None or level.uncertainty is None:
        return Quantity(name, None, None, scale.unit, _why_not(level, scale))
    reason = read
    if level.low is not None and level.high is not None:
        low, high = level.low * scale.factor, level.high * scale.factor
        reason += f"; 95 % interval {low:.3g} to {high:.3g} {scale.unit}"
    return Quantity(name, level.value * scale.factor, level.uncertainty * scale.factor, scale.unit, reason)


def _why_not(level: Level, scale: _Scale) -> str:
    """Say why there is no value, how large it could be, and how long a recording would show it."""
    if level.bound is None:
        return level.reason
    said = f"below {_rounded(level.bound * scale.factor)} {scale.unit}, hidden by other noise"
    if level.needed is None:
        return f"{said}, and too little for a recording of two days"
    return f"{said}; {duration(level.needed)} at rest would show that much, longer shows less"


def _rounded(value: float) -> str:
    """Round up, since it is a bound, to two digits without an exponent."""
    step = 10.0 ** (np.floor(np.log10(value)) - 1)
    return f"{np.ceil(value / step) * step:.10g}"


def duration(seconds: float) -> str:
    """Say a time as a person plans it, rounded up.

    Examples
    --------
    >>> duration(15.4), duration(123.0), duration(8000.0)
    ('16 s', '3 min', '2.3 h')
    """
    if seconds < 2 * 60:
        return f"{np.ceil(seconds):.0f} s"
    if seconds < 2 * 3600:
        return f"{np.ceil(seconds / 60):.0f} min"
    return f"{np.ceil(seconds / 360) / 10:g} h"


def _figure(triad: _Triad, readings: Sequence[NoiseReading]) -> Figure:
    factor, unit = triad.curve.factor, triad.curve.unit
    shown = [(axis, reading) for axis, reading in zip(SENSOR_AXES, readings, strict=True) if len(reading.tau)]
    curves = tuple(_curve(axis, reading, factor) for axis, reading in shown)
    said = [
        f"{axis}: {r.deviation[0] * factor:.3g} {unit} at {r.tau[0]:.3g} s, "
        f"{r.deviation[-1] * factor:.3g} {unit} at {r.tau[-1]:.3g} s"
        for axis, r in shown
    ]
    return Figure(
        title=f"Allan deviation of the {triad.name} at rest",
        description="White noise falls by half when the averaging time grows fourfold. " + "; ".join(said) + ".",
        x_label="averaging time, s",
        y_label=f"deviation, {unit}",
        curves=curves,
        scale="logarithmic",
    )


def _curve(axis: str, reading: NoiseReading, factor: float) -> Curve:
    deviation: Vector = reading.deviation * factor
    return Curve(axis, reading.tau, deviation, "line", reading.spread * factor)
