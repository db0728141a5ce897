"""A number with its uncertainty, or the reason why there is none; and several of them joined to one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Estimate:
    """One number as measured.

    Attributes
    ----------
    value, uncertainty : float or None
        The uncertainty is one standard deviation. None where it cannot be told.
    reason : str
        Why it is None, or how it came about.
    """

    value: float | None
    uncertainty: float | None
    reason: str = ""


def unknown(reason: str) -> Estimate:
    """Give the estimate of what cannot be told."""
    return Estimate(None, None, reason)


def joined(estimates: Sequence[Estimate], nothing: str) -> Estimate:
    """Join repeated estimates of one number: their mean, no surer than their scatter allows.

    Parameters
    ----------
    estimates : sequence of Estimate
    nothing : str
        The reason where there is none at all.

    Examples
    --------
    >>> both = joined([Estimate(1.0, 0.1), Estimate(2.0, 0.1), unknown("too fast")], "")
    >>> both.value, round(both.uncertainty, 2)
    (1.5, 0.5)
    """
    known = [(e.value, e.uncertainty) for e in estimates if e.value is not None and e.uncertainty is not None]
    if not known:
        return unknown(next((e.reason for e in estimates if e.reason), nothing))
    values, spreads = (np.array(column) for column in zip(*known, strict=True))
    own = float(np.sqrt(np.mean(spreads**2) / len(values)))
    scatter = float(values.std(ddof=1) / np.sqrt(len(values))) if len(values) > 1 else 0.0
    reason = next((e.reason for e in estimates if e.value is not None and e.reason), "")
    return Estimate(float(values.mean()), max(own, scatter), reason)
