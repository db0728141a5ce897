"""Lines of vibration: where the spectrum of a recording stands out of its noise, how exactly, and how strongly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.noise.spectrum import Spectrum, spectrum_of
from benchrig.signals.body import EvenRecording

CHANNELS: Final = ("gyro x", "gyro y", "gyro z", "accelerometer x", "accelerometer y", "accelerometer z")

FALSE_ALARM: Final = 1e-3
"""White noise shows a line in at most one recording of a thousand."""

LEAST_RISE: Final = 4.0
"""A line's density is at least so many times the floor: a gentle hump of the unit's own filter is no line."""

_TRACE: Final = 0.2  # how far a steady sine's frequency strays, times the segment's length and the root of its rise
_STRAY: Final = 1.25  # the same of its amplitude, against averaged independent segments
_BENT: Final = 1e-3  # of a bin: the main lobe is no perfect bell
_VALLEY: Final = 100.0  # two lines have a valley of 20 dB between them; the hump of one that wanders has none so deep
_INTERPOLATION: Final = 0.01
_MIRRORED: Final = 0.1
_WANDERS: Final = 2.0  # times the uncertainty of a steady line: more than that between parts is a wandering one


@dataclass(frozen=True, slots=True)
class Peak:
    """A line in one channel.

    Attributes
    ----------
    channel : int
        Of `CHANNELS`.
    frequency, uncertainty : float, Hz
    amplitude, amplitude_uncertainty : float
        Half of peak to peak, in the channel's SI unit.
    rise : float
        Its density over the floor.
    """

    channel: int
    frequency: float
    uncertainty: float
    amplitude: float
    amplitude_uncertainty: float
    rise: float


@dataclass(frozen=True, slots=True)
class Line:
    """A line, as all channels in which it stands out tell it.

    Attributes
    ----------
    frequency, uncertainty : float, Hz
        As the samples show it: see `benchrig.measure.noise.aliases` for what it can really be.
    peaks : tuple of Peak
        By channel.
    """

    frequency: float
    uncertainty: float
    peaks: tuple[Peak, ...]


def vibration_spectrum(even: EvenRecording, stretches: Sequence[tuple[int, int]], lowest: float) -> Spectrum | None:
    """Take the spectra of all six channels over some stretches, split at gaps and at clipped samples.

    Parameters
    ----------
    even : EvenRecording
    stretches : sequence of (int, int)
        Samples ``[start, stop)``.
    lowest : float, Hz

    Returns
    -------
    Spectrum or None
        None where nothing unbroken is long enough.
    """
    values = np.hstack([even.angular_rate, even.acceleration])
    clipped = even.gyro_clipped | even.accelerometer_clipped
    parts = []
    for start, stop in stretches:
        piece, broken = values[start:stop], clipped[start:stop]
        edges = np.flatnonzero((np.diff(even.segment[start:stop]) != 0) | (broken[1:] != broken[:-1])) + 1
        parts += [
            part for part, out in zip(np.split(piece, edges), np.split(broken, edges), strict=True) if not out[:1].any()
        ]
    return spectrum_of(parts, even.step, lowest)


def find_lines(spectrum: Spectrum, false_alarm: float = FALSE_ALARM) -> tuple[Line, ...]:
    """Find what stands out of the noise.

    Parameters
    ----------
    spectrum : Spectrum
    false_alarm : float
        Share of recordings of white noise in which any line at all may be found.

    Returns
    -------
    tuple of Line
        From the lowest frequency.
    """
    least = max(spectrum.threshold(false_alarm), LEAST_RISE)
    peaks = [peak for channel in range(len(spectrum.density)) for peak in _peaks(spectrum, channel, least)]
    lines: list[list[Peak]] = []
    for peak in sorted(peaks, key=lambda peak: peak.frequency):
        near = lines and abs(peak.frequency - _joined(lines[-1]).frequency) < _near(spectrum, peak, lines[-1])
        if near and all(peak.channel != other.channel for other in lines[-1]):
            lines[-1].append(peak)
        else:
            lines.append([peak])
    return tuple(_joined(line) for line in lines)


def _near(spectrum: Spectrum, peak: Peak, line: Sequence[Peak]) -> float:
    return max(1 / spectrum.segment, 3 * float(np.hypot(peak.uncertainty, _joined(line).uncertainty)))


def _joined(peaks: Sequence[Peak]) -> Line:
    weights = np.array([1 / peak.uncertainty**2 for peak in peaks])
    frequency = float(weights @ [peak.frequency for peak in peaks] / weights.sum())
    return Line(frequency, float(weights.sum() ** -0.5), tuple(sorted(peaks, key=lambda peak: peak.channel)))


def _peaks(spectrum: Spectrum, channel: int, least: float) -> list[Peak]:
    floor, density = spectrum.floor[channel], spectrum.density[channel]
    rise = np.divide(density, floor, out=np.zeros_like(density), where=floor > 0)
    left, found = rise.copy(), []
    while left.max(initial=0.0) > least:
        top = int(np.argmax(left))
        start, stop = _extent(rise, top, -1), _extent(rise, top, 1) + 1
        if rise[top] >= rise[max(top - 1, 0) : top + 2].max():
            found.append(_peak(spectrum, channel, top, slice(start, stop)))
        left[start:stop] = 0.0
    return found


def _extent(rise: Vector, top: int, way: int) -> int:
    """Walk down from a peak to where the noise begins, or another peak."""
    lowest, at = rise[top], top
    while 0 <= at + way < len(rise) and rise[at + way] > 1 and rise[at + way] <= _VALLEY * lowest:
        at += way
        lowest = min(lowest, rise[at])
    return at


def _peak(spectrum: Spectrum, channel: int, top: int, extent: slice) -> Peak:
    density, floor = spectrum.density[channel], float(spectrum.floor[channel][top])
    independent = spectrum.freedom / 2
    rise = float(density[top]) / floor
    shift, height = _summit(density, top)
    frequency = float(spectrum.frequency[top]) + shift * spectrum.bin
    uncertainty = float(np.hypot(_TRACE / (spectrum.segment * np.sqrt(rise * independent)), _BENT * spectrum.bin))
    power = (height - floor) * spectrum.width
    middle, scatter = _wander(spectrum, channel, extent)
    if scatter > _WANDERS * uncertainty:
        # its power lies under the whole hump, and its middle is known as well as the parts of the recording agree
        power = float(np.maximum(density[extent] - floor, 0.0).sum()) * spectrum.bin
        frequency, uncertainty = middle, scatter
    amplitude = float(np.sqrt(2 * max(power, 0.0)))
    relative = float(np.hypot(_INTERPOLATION, _STRAY / np.sqrt(2 * rise * independent)))
    if spectrum.frequency[-1] - frequency < 2 * spectrum.width:
        # half the sample rate mirrors the line onto itself: what is seen depends on its phase
        relative, uncertainty = 1.0, float(np.hypot(uncertainty, _MIRRORED / spectrum.segment))
    return Peak(channel, frequency, uncertainty, amplitude, amplitude * relative, rise)


def _wander(spectrum: Spectrum, channel: int, extent: slice) -> tuple[float, float]:
    """Follow a peak through the parts of the recording: give its mean frequency and the uncertainty of that, Hz."""
    places = []
    for part in spectrum.parts[:, channel, extent]:
        top = int(np.argmax(part))
        places.append(spectrum.frequency[extent.start + top] + _summit(part, top)[0] * spectrum.bin)
    count = len(places)
    return float(np.mean(places)), float(np.std(places, ddof=1) / np.sqrt(count)) if count > 1 else 0.0


def _summit(density: Vector, top: int) -> tuple[float, float]:
    """Lay a parabola through the logarithms about a peak; this window's main lobe is nearly a bell."""
    if not 0 < top < len(density) - 1 or density[top - 1 : top + 2].min() <= 0:
        return 0.0, float(density[top])
    before, middle, after = np.log(density[top - 1 : top + 2])
    bend = before - 2 * middle + after
    shift = 0.5 * (before - after) / bend if bend < 0 else 0.0
    return float(shift), float(np.exp(middle - 0.25 * (before - after) * shift))
