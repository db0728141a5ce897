"""The chi-square distribution, near enough for intervals and thresholds, without a heavy import."""

from __future__ import annotations

from statistics import NormalDist
from typing import Final

import numpy as np

_NORMAL: Final = NormalDist()


def quantile(probability: float, freedom: float) -> float:
    """Give what a chi-square variable stays below with a probability.

    Good to 6 % from 5 degrees of freedom up, even far out, and to 1 % from 80 up. The far upper tail comes out too
    large, so that thresholds err on the side of fewer false alarms.

    Parameters
    ----------
    probability : float
        Between 0 and 1.
    freedom : float
        Degrees of freedom.

    References
    ----------
    E. B. Wilson, M. M. Hilferty, The distribution of chi-square, Proc. Natl. Acad. Sci. 17, 1931 (from memory; the
    tests hold it against scipy).
    """
    part = 2 / (9 * freedom)
    root = 1 - part + _NORMAL.inv_cdf(probability) * part**0.5
    return float(freedom * max(root, 0.0) ** 3)


def excess(value: float, freedom: float) -> float:
    """Give by how many standard deviations a chi-square value lies above what it should be, on the normal's scale."""
    part = 2 / (9 * freedom)
    return float((np.cbrt(value / freedom) - 1 + part) / part**0.5)


def interval(deviation: float, freedom: float, confidence: float = 0.95) -> tuple[float, float]:
    """Give the confidence interval of a standard deviation from its effective degrees of freedom.

    Parameters
    ----------
    deviation : float
    freedom : float
    confidence : float

    Returns
    -------
    low, high : float
        In the unit of `deviation`.

    References
    ----------
    NIST Special Publication 1065, section 5.3.1.
    """
    tail = (1 - confidence) / 2
    high, low = quantile(1 - tail, freedom), quantile(tail, freedom)
    return deviation * (freedom / high) ** 0.5, (deviation * (freedom / low) ** 0.5 if low > 0 else float("inf"))
