"""Allan deviations and their kin: how much the mean over a time differs from the mean over the next such time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Vector

Kind = Literal["ADEV", "OADEV", "MDEV", "TDEV", "HDEV", "OHDEV", "TOTDEV"]


def deviation(values: Vector, step: float, factors: Iterable[int], kind: Kind = "OADEV") -> Vector:
    r"""Give one of the deviations of a steady series.

    Parameters
    ----------
    values : ndarray, shape (N,)
        Rates (rad/s), accelerations (m/s²) or frequencies, at even steps.
    step : float, s
    factors : iterable of int
        Averaging factors m; the averaging time is :math:`\tau = m\,step`.
    kind : str
        ADEV, OADEV (overlapping), MDEV (modified), TDEV (time), HDEV (Hadamard), OHDEV (overlapping Hadamard) or
        TOTDEV (total).

    Returns
    -------
    ndarray, shape (len(factors),)
        In the unit of `values`, TDEV in that unit times s; NaN where the series is too short for a factor.

    Raises
    ------
    ValueError
        If `values` is not one row of finite numbers, or a factor is not positive.

    References
    ----------
    W. J. Riley, Handbook of Frequency Stability Analysis, NIST Special Publication 1065, 2008, sections 5.2 to 5.11.

    Examples
    --------
    >>> nbs14 = np.array([892.0, 809, 823, 798, 671, 644, 883, 903, 677])
    >>> deviation(nbs14, 1.0, [1, 2]).round(5)
    array([91.22945, 85.95287])
    """
    values = np.asarray(values, dtype=np.float64)
    if values.ndim != 1 or not np.isfinite(values).all():
        message = f"expected one row of finite numbers, got the shape {values.shape}, or numbers that are not finite"
        raise ValueError(message)
    chosen = [int(m) for m in factors]
    if min(chosen, default=1) < 1:
        message = f"averaging factors are 1 or more, got {min(chosen)}"
        raise ValueError(message)
    phase = phase_of(values, step)
    # a series too short for a factor gives None, which is NaN as a number
    return np.sqrt(np.array([_KINDS[kind](phase, m, m * step) for m in chosen], dtype=np.float64))


def phase_of(values: Vector, step: float) -> Vector:
    """Sum a series up from zero, its mean taken out: a mean changes no difference of means, and costs digits.

    Parameters
    ----------
    values : ndarray, shape (N,)
    step : float, s

    Returns
    -------
    ndarray, shape (N + 1,)
        In the unit of `values` times s.
    """
    return np.concatenate([[0.0], np.cumsum(values - values.mean()) * step]) if len(values) else np.zeros(1)


def differences(phase: Vector, factor: int) -> Vector:
    r"""Give the overlapping second differences of a phase, :math:`x_{i+2m} - 2x_{i+m} + x_i`.

    Parameters
    ----------
    phase : ndarray, shape (N + 1,)
    factor : int

    Returns
    -------
    ndarray, shape (max(N - 2m + 1, 0),)
    """
    if len(phase) <= 2 * factor:
        return np.zeros(0)
    return np.asarray(phase[2 * factor :] - 2 * phase[factor:-factor] + phase[: -2 * factor])


def _square(terms: Vector, divisor: float) -> float | None:
    return float(terms @ terms) / (divisor * len(terms)) if len(terms) else None


def _plain(phase: Vector, factor: int, tau: float) -> float | None:
    return _square(np.diff(phase[::factor], 2), 2 * tau**2)


def _overlapping(phase: Vector, factor: int, tau: float) -> float | None:
    return _square(differences(phase, factor), 2 * tau**2)


def _modified(phase: Vector, factor: int, tau: float) -> float | None:
    single = differences(phase, factor)
    if len(single) < factor:
        return None
    sums = np.concatenate([[0.0], np.cumsum(single)])
    return _square((sums[factor:] - sums[:-factor]) / factor, 2 * tau**2)


def _time(phase: Vector, factor: int, tau: float) -> float | None:
    modified = _modified(phase, factor, tau)
    return None if modified is None else modified * tau**2 / 3


def _hadamard(phase: Vector, factor: int, tau: float) -> float | None:
    return _square(np.diff(phase[::factor], 3), 6 * tau**2)


def _overlapping_hadamard(phase: Vector, factor: int, tau: float) -> float | None:
    second = differences(phase, factor)
    return _square(second[factor:] - second[:-factor], 6 * tau**2) if len(second) > factor else None


def _total(phase: Vector, factor: int, tau: float) -> float | None:
    """Reflect the phase about both ends, so that every inner point has neighbours at any distance."""
    count = len(phase)
    if count < 3 or factor > count - 1:  # noqa: PLR2004 - no point lies inside
        return None
    head = 2 * phase[0] - phase[-2:0:-1]
    tail = 2 * phase[-1] - phase[-2:0:-1]
    longer = np.concatenate([head, phase, tail])
    inner = np.arange(len(head) + 1, len(head) + count - 1)
    return _square(longer[inner - factor] - 2 * longer[inner] + longer[inner + factor], 2 * tau**2)


_KINDS: Final[Mapping[Kind, Callable[[Vector, int, float], float | None]]] = {
    "ADEV": _plain,
    "OADEV": _overlapping,
    "MDEV": _modified,
    "TDEV": _time,
    "HDEV": _hadamard,
    "OHDEV": _overlapping_hadamard,
    "TOTDEV": _total,
}
