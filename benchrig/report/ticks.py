"""Round numbers along an axis, and how they are written."""

from __future__ import annotations

from math import ceil, floor, log10
from typing import Final

from benchrig.report.quantity import minus

_SUPERSCRIPT: Final = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_PLAIN: Final = (1e-3, 1e5)
"""Powers of ten between these are written out."""
_FEW_DECADES: Final = 2.5
"""On fewer decades than this, 2 and 5 are marked beside the powers of ten."""
_SLACK: Final = 1e-9


def step_of(span: float, count: float) -> float:
    """Give a round step that divides `span` into about `count` parts.

    Examples
    --------
    >>> step_of(37.0, 5)
    10.0
    """
    rough = span / count
    power = 10.0 ** floor(log10(rough))
    return float(next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough * (1 - _SLACK)))


def linear_ticks(low: float, high: float, count: float) -> list[float]:
    """Give round numbers from `low` to `high`, about `count` of them."""
    step = step_of(high - low, count)
    digits = max(9, 2 - floor(log10(step)))
    first, last = ceil(low / step - _SLACK), floor(high / step + _SLACK)
    return [round(k * step, digits) + 0.0 for k in range(first, last + 1)]


def logarithmic_ticks(low: float, high: float) -> list[float]:
    """Give the powers of ten from `low` to `high`, with 2 and 5 between them where there are few.

    Examples
    --------
    >>> logarithmic_ticks(0.009, 200.0)
    [0.01, 0.1, 1.0, 10.0, 100.0]
    >>> logarithmic_ticks(0.9, 6.0)
    [1.0, 2.0, 5.0]
    """
    factors = (1.0, 2.0, 5.0) if log10(high / low) < _FEW_DECADES else (1.0,)
    powers = range(floor(log10(low)), ceil(log10(high)) + 1)
    ticks = [float(f"{factor}e{power}") for power in powers for factor in factors]
    return [tick for tick in ticks if low * (1 - _SLACK) <= tick <= high * (1 + _SLACK)]


def tick_label(value: float) -> str:
    """Write a number beside its tick.

    Examples
    --------
    >>> tick_label(-0.25), tick_label(1e-6), tick_label(2e7)
    ('−0.25', '10⁻⁶', '2×10⁷')
    """
    if value == 0 or _PLAIN[0] <= abs(value) < _PLAIN[1]:
        return minus(f"{value:.6g}")
    power = floor(log10(abs(value)) + _SLACK)
    factor = minus(f"{value / 10.0**power:.4g}")
    written = f"10{str(power).translate(_SUPERSCRIPT)}"
    return written if factor == "1" else f"{factor}×{written}"
