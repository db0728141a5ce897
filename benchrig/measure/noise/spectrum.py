"""The spectrum of vibration: its density, the floor of noise under it, and how surely a peak stands above that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.chi_square import quantile

LONGEST_SEGMENT: Final = 4.0
"""s: a rotor's speed wanders, so that longer segments would only smear its lines."""

SEGMENTS: Final = 5.0
"""So many segments, end to end, fit into the longest stretch at least; they overlap by three quarters."""

SHORTEST: Final = 2.0
"""s: less shows no line."""

PARTS: Final = 12

_WINDOW: Final = (0.35875, -0.48829, 0.14128, -0.01168)
"""Blackman-Harris, four terms (F. J. Harris, Proc. IEEE 66, 1978; from memory): side lobes 92 dB down, so that a strong
line makes no false ones beside it."""

_OVERLAP: Final = 4
_PADDING: Final = 2
_FLOOR_SHARE: Final = 8  # the floor is taken over an eighth of the band
_FLOOR_BINS: Final = 128
_ALIKE_BINS: Final = 4  # neighbouring bins, padded, that tell one story


@dataclass(frozen=True, slots=True, eq=False)
class Spectrum:
    """The spectra of C channels.

    Attributes
    ----------
    frequency : ndarray, shape (F,), Hz
        From the lowest that can be told from a drift, up to half the sample rate.
    density : ndarray, shape (C, F)
        One-sided, in the channel's unit squared by Hz.
    parts : ndarray, shape (P, C, F)
        The same of `PARTS` parts of the recording, one after another: a line that wanders shows it there.
    floor : ndarray, shape (C, F)
        The noise under the lines: a running median, corrected to a mean.
    freedom : float
        Effective degrees of freedom of a density.
    floor_freedom : float
        The same of the floor.
    width : float, Hz
        Noise bandwidth of the window: a steady line's power is its height times this.
    segment : float, s
        Length of the segments that were averaged.
    """

    frequency: Vector
    density: Vector
    parts: Vector
    floor: Vector
    freedom: float
    floor_freedom: float
    width: float
    segment: float

    @property
    def bin(self) -> float:
        """Distance of the frequencies, Hz."""
        return float(self.frequency[1] - self.frequency[0])

    def threshold(self, false_alarm: float) -> float:
        """Give how far above its floor a density stays in white noise, but for this share of all such recordings.

        Every channel and frequency is one more chance of a false alarm, so the share is divided among them.
        """
        chance = false_alarm / self.density.size
        # the floor itself is an estimate: its spread adds to that of the density
        freedom = 1 / (1 / self.freedom + 1 / self.floor_freedom)
        return quantile(1 - chance, freedom) / freedom


def spectrum_of(stretches: Sequence[Vector], step: float, lowest: float) -> Spectrum | None:
    """Average the spectra of overlapping segments.

    Parameters
    ----------
    stretches : sequence of ndarray, shape (N, C)
        At even steps; no segment reaches across two of them.
    step : float, s
    lowest : float, Hz
        Below this nothing is looked for.

    Returns
    -------
    Spectrum or None
        None where no stretch is `SHORTEST` or longer, or no frequency is left to look at.

    References
    ----------
    P. D. Welch, IEEE Trans. Audio Electroacoust. 15, 1967 (averaging, and its degrees of freedom; from memory).
    """
    longest = max((len(stretch) for stretch in stretches), default=0)
    if longest * step < SHORTEST:
        return None
    length = int(min(longest / SEGMENTS, LONGEST_SEGMENT / step))
    window = _window(length)
    hop = max(length // _OVERLAP, 1)
    size = _PADDING * length
    frequency: Vector = np.asarray(np.fft.rfftfreq(size, step), dtype=np.float64)
    # the window's main lobe is four bins wide on either side: within it, a bias or a drift is all there is
    kept = frequency >= max(lowest, _OVERLAP / (length * step))
    if np.count_nonzero(kept) < _ALIKE_BINS:
        return None
    pieces = [s[at : at + length] for s in stretches for at in range(0, len(s) - length + 1, hop)]
    groups = _split(pieces, PARTS)
    powers = [np.mean([_power(piece, window, size)[:, kept] for piece in group], axis=0) for group in groups]
    parts = np.array(powers) * (2 * step / (window @ window))
    weights = np.array([len(group) for group in groups], dtype=np.float64)
    density = np.tensordot(weights / weights.sum(), parts, axes=1)
    freedom = _freedom(window, hop, len(pieces))
    floor, independent = _floor(density, freedom)
    floor_freedom = 4 / np.pi * independent * freedom / 2
    width = float(window @ window) / float(window.sum()) ** 2 / step
    return Spectrum(frequency[kept], density, parts, floor, freedom, floor_freedom, width, length * step)


def _split(pieces: list[Vector], parts: int) -> list[list[Vector]]:
    bounds = np.linspace(0, len(pieces), min(parts, len(pieces)) + 1).round().astype(int).tolist()
    return [pieces[low:high] for low, high in pairwise(bounds)]


def _power(piece: Vector, window: Vector, size: int) -> Vector:
    """Give the squared transform of one windowed piece, shape (C, F), its mean under the window taken out."""
    shift = piece - piece[0]  # exact zeros for a channel that never changes
    swing = (shift - (window @ shift) / window.sum()) * window[:, None]
    return np.asarray(np.abs(np.fft.rfft(swing, size, axis=0).T) ** 2)


def _window(length: int) -> Vector:
    turn = 2 * np.pi * (np.arange(length) + 0.5) / length
    return np.asarray(sum(part * np.cos(order * turn) for order, part in enumerate(_WINDOW)))


def _freedom(window: Vector, hop: int, count: int) -> float:
    """Count the degrees of freedom of overlapping segments: those that share samples tell less."""
    shares = [window[lag:] @ window[: len(window) - lag] / (window @ window) for lag in range(hop, len(window), hop)]
    alike = sum((1 - lag / count) * share**2 for lag, share in enumerate(shares, start=1) if lag < count)
    return float(2 * count / (1 + 2 * alike))


def _floor(density: Vector, freedom: float) -> tuple[Vector, float]:
    """Take running medians, and give how many independent bins each rests on."""
    bins = density.shape[1]
    width = min(max(bins // _FLOOR_SHARE, _FLOOR_BINS), bins)
    starts = np.unique(np.linspace(0, bins - width, max(8 * (bins // width), 1)).astype(np.int64))
    medians = np.array([np.median(density[:, start : start + width], axis=1) for start in starts])
    middles = starts + (width - 1) / 2
    floor = [np.interp(np.arange(bins), middles, column) for column in medians.T]
    # the median of a chi-square lies below its mean
    return np.array(floor) / (quantile(0.5, freedom) / freedom), max(width / _ALIKE_BINS, 1.0)
