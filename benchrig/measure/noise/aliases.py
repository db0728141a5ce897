"""What sampling makes of a frequency: where a vibration shows itself, and what a line that is seen can really be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Origin:
    """A frequency that a line can really have.

    Attributes
    ----------
    frequency, uncertainty : float, Hz
    folds : int
        0 where the line is what it seems; otherwise the number of the multiple of the sample rate it lies beside.
    """

    frequency: float
    uncertainty: float
    folds: int


def seen_at(frequency: float, rate: float) -> float:
    """Give where a frequency shows itself in samples taken at `rate`, both Hz: folded into 0 to half the rate.

    Examples
    --------
    >>> seen_at(40.0, 50.0), seen_at(40.0, 200.0)
    (10.0, 40.0)
    """
    return float(abs(frequency - rate * np.round(frequency / rate)))


def origins(line: float, uncertainty: float, rate: float, highest: float) -> tuple[Origin, ...]:
    """List what a line seen at a frequency can really be, from the lowest up to `highest`.

    Parameters
    ----------
    line, uncertainty : float, Hz
    rate : float, Hz
        Samples a second.
    highest : float, Hz

    Returns
    -------
    tuple of Origin

    Examples
    --------
    >>> [origin.frequency for origin in origins(20.0, 0.1, 100.0, 250.0)]
    [20.0, 80.0, 120.0, 180.0, 220.0]
    """
    last = int(highest / rate) + 1
    pairs = [(line, 0)] + [(folds * rate + side * line, folds) for folds in range(1, last + 1) for side in (-1, 1)]
    return tuple(Origin(f, uncertainty, folds) for f, folds in sorted(pairs) if f <= highest)
