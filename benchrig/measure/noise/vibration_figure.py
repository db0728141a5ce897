"""Spectra of vibration as pictures."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.directions import SENSOR_AXES
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.figure import Curve, Figure
from benchrig.measure.noise.spectrum import Spectrum
from benchrig.measure.noise.vibration import Line

_TRIADS: Final = (("gyro", "°/s/√Hz", 180 / np.pi), ("accelerometer", "mg/√Hz", 1e3 / STANDARD_GRAVITY))
_MOST_POINTS: Final = 1500


def spectrum_figures(spectrum: Spectrum, lines: tuple[Line, ...]) -> tuple[Figure, ...]:
    """Draw the spectra of the gyro and of the accelerometer, a cross at every line.

    Parameters
    ----------
    spectrum : Spectrum
    lines : tuple of Line
    """
    return tuple(_figure(spectrum, lines, triad) for triad in range(len(_TRIADS)))


def _figure(spectrum: Spectrum, lines: tuple[Line, ...], triad: int) -> Figure:
    name, unit, factor = _TRIADS[triad]
    channels = range(3 * triad, 3 * triad + 3)
    curves = []
    for axis, channel in zip(SENSOR_AXES, channels, strict=True):
        frequency, root = _thinned(spectrum.frequency, np.sqrt(spectrum.density[channel]) * factor)
        curves.append(Curve(axis, frequency, root))
    tops = [(peak.frequency, peak.channel) for line in lines for peak in line.peaks if peak.channel in channels]
    if tops:
        at = np.array([frequency for frequency, _ in tops])
        heights = [np.interp(f, spectrum.frequency, np.sqrt(spectrum.density[channel])) * factor for f, channel in tops]
        curves.append(Curve("lines", at, np.array(heights), "cross"))
    said = ", ".join(sorted({f"{f:.1f}" for f, _ in tops}, key=float)) or "none"
    return Figure(
        title=f"Spectrum of the {name}",
        description=f"Noise density from {spectrum.frequency[0]:.3g} to {spectrum.frequency[-1]:.4g} Hz; lines at: "
        f"{said}{' Hz' if tops else ''}.",
        x_label="frequency as sampled, Hz",
        y_label=f"density, {unit}",
        curves=tuple(curves),
        scale="logarithmic",
    )


def _thinned(frequency: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Keep the largest of each few points, so that no line is lost and the page stays light."""
    every = -(-len(values) // _MOST_POINTS)
    if every == 1:
        return frequency, values
    starts = np.arange(0, len(values), every)
    tops = np.array([start + int(np.argmax(values[start : start + every])) for start in starts])
    return frequency[tops], values[tops]
