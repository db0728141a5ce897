"""The noise of one channel at rest: density, bias instability and random walk, or why each cannot be told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.chi_square import interval
from benchrig.measure.noise.allan_design import FEWEST_SPANS, AllanDesign, allan_variances, design
from benchrig.measure.noise.allan_terms import FLICKER, RAMP, RANDOM_WALK, WHITE, Fit, fit_terms, fuller_fit

ONE_SIDED: Final = float(np.sqrt(2.0))
"""A data sheet's noise density is the root of a one-sided spectrum: √2 times N, whose square is a two-sided one."""

SHORTEST: Final = 3.0
"""s: less still time shows no noise density."""

SUREST: Final = 4.0
"""A bias instability or random walk is given where its square is so many times its standard deviation: ± 1/8."""

LONGEST_RECORDING: Final = 48 * 3600.0
"""s: no bench is asked to lie still for longer."""

_WHITE_SURE: Final = 3.0
_AMPLE: Final = 1.5  # a recording that is just long enough shows it every other time
_LONG: Final = 30.0  # s: in less, the unit's own filter and a slight motion cannot be told apart
_NOTHING: Final = 1e-20  # of the largest variance: what rounding leaves where nothing varies
_COARSE: Final = 0.5  # of a count: below this the spread is the counts', not the unit's


@dataclass(frozen=True, slots=True)
class Level:
    """The size of one kind of noise in the channel's SI unit (times √s, or by √s), or why there is none.

    Attributes
    ----------
    value, uncertainty : float or None
    low, high : float or None
        The 95 % interval, by the effective degrees of freedom.
    bound : float or None
        Where there is no value: it is hardly larger than this (2 standard deviations).
    needed : float or None, s
        Where there is no value: how long a recording could show one as large as `bound`; a smaller one takes longer.
    reason : str
        Why there is no value.
    """

    value: float | None = None
    uncertainty: float | None = None
    low: float | None = None
    high: float | None = None
    bound: float | None = None
    needed: float | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class NoiseReading:
    """What one channel's Allan curve says.

    Attributes
    ----------
    tau, deviation, spread : ndarray, shape (A,)
        The overlapping Allan deviation and one standard deviation of it; s, and the channel's SI unit.
    white : Level
        N, from which the curve's white part is read at 1 s.
    flicker : Level
        B: the flat part, divided by 0.664.
    walk : Level
        K, from which the curve's rising part is read at 3 s.
    since : float
        s: the shortest averaging time that was used.
    """

    tau: Vector
    deviation: Vector
    spread: Vector
    white: Level
    flicker: Level
    walk: Level
    since: float


def read_noise(stretches: Sequence[Vector], step: float) -> NoiseReading:
    r"""Read the noise of one channel from stretches in which it lay still.

    The terms' sizes are those that the asymptotes have at the usual read points: white noise N at 1 s on the slope
    -1/2, bias instability B at the slope 0 (0.664 B), rate random walk K at 3 s on the slope +1/2.

    Parameters
    ----------
    stretches : sequence of ndarray, shape (N,)
        In SI units; nothing is averaged across two of them.
    step : float, s

    Returns
    -------
    NoiseReading

    References
    ----------
    IEEE Std 952-1997, annex C: the terms and read points (read points confirmed, formulas from memory).
    """
    duration = sum(len(stretch) for stretch in stretches) * step
    refusal = _refusal(stretches, duration)
    if refusal:
        return _unreadable(Level(reason=refusal, needed=SHORTEST if duration < SHORTEST else None))
    plan = design([len(stretch) for stretch in stretches], step)
    variances = allan_variances(stretches, step, plan.factors)
    if variances.min() <= _NOTHING * variances.max():
        return _unreadable(Level(reason="the channel repeats one pattern, and no noise does that"))
    found = fit_terms(plan, variances)
    squares = _plain(variances, plan) if found is None else np.nan_to_num(found.squares)
    # before the fit begins, a negative Q² would take away more than there is
    expected = plan.columns @ np.maximum(squares, 0.0)
    spread = np.sqrt(variances) * np.sqrt(np.diag(plan.covariance(squares))) / (2 * expected)
    if found is None or found.sureness(WHITE) < _WHITE_SURE:
        level = _unread(duration)
        return NoiseReading(plan.tau, np.sqrt(variances), spread, level, level, level, float("nan"))
    white = _level(found, WHITE)
    flicker = _slow(plan, fuller_fit(plan, variances, found.start, ramp=False), found, FLICKER, step)
    walk = _slow(plan, fuller_fit(plan, variances, found.start, ramp=True), found, RANDOM_WALK, step)
    since = float(plan.tau[found.start])
    return NoiseReading(plan.tau, np.sqrt(variances), spread, white, flicker, walk, since)


def _unreadable(level: Level) -> NoiseReading:
    empty = np.zeros(0)
    return NoiseReading(empty, empty, empty, level, level, level, float("nan"))


def _refusal(stretches: Sequence[Vector], duration: float) -> str:
    if duration < SHORTEST:
        return f"only {duration:.1f} s lie still; it takes {SHORTEST:.0f} s, and 30 s are better"
    if max(len(stretch) for stretch in stretches) < FEWEST_SPANS:
        return f"no stretch at rest has {FEWEST_SPANS} samples: record more of them a second"
    spread = max(float(np.std(stretch)) for stretch in stretches)
    steps = np.abs(np.concatenate([np.diff(stretch) for stretch in stretches]))
    if not steps.any():
        return "the channel never changes"
    count = float(steps[steps > 0].min())
    if np.mean(steps == 0) > 0 and spread < _COARSE * count:
        return "the noise is smaller than half a count: only that can be said"
    return ""


def _unread(duration: float) -> Level:
    if duration < _LONG:
        reason = f"{duration:.0f} s are too few to tell the noise from the unit's own filter, or from a slight motion"
        return Level(reason=f"{reason}; leave it alone for {_LONG:.0f} s")
    return Level(reason="the curve is not that of noise alone: something moved, hummed or warmed up")


def _plain(variances: Vector, plan: AllanDesign) -> Vector:
    squares = np.zeros(plan.columns.shape[1])
    squares[WHITE] = float(np.median(variances * plan.tau))
    return squares


def _level(found: Fit, term: int) -> Level:
    value, uncertainty = found.size(term)
    low, high = interval(value, 0.5 * (value / uncertainty) ** 2)
    return Level(value, uncertainty, low, high)


def _slow(plan: AllanDesign, full: Fit | None, plainest: Fit, term: int, step: float) -> Level:
    """Give one of the terms that only long recordings show."""
    if full is not None and full.fits and full.sureness(term) > SUREST:
        return _level(full, term)
    reason = "other noise outweighs it in this recording"
    if full is None or not np.isfinite(full.squares[term]):
        return Level(reason=reason)
    square = max(float(full.squares[term]), 0.0) + 2 * float(full.uncertainties[term])
    squares = np.nan_to_num(plainest.squares)
    squares[term] = square
    shortest = FEWEST_SPANS * float(plan.tau[-1])
    return Level(bound=square**0.5, needed=_needed(squares, term, step, shortest), reason=reason)


def _needed(squares: Vector, term: int, step: float, duration: float) -> float | None:
    """Find how long a still recording must be for a term of this size to be sure, in doublings."""
    model = [WHITE, FLICKER, RANDOM_WALK] + ([RAMP] if term == RANDOM_WALK else [])
    while duration < LONGEST_RECORDING:
        duration *= 2
        plan = design([int(duration / step)], step)
        inverse = np.linalg.inv(plan.covariance(squares))
        columns = plan.columns[:, model]
        spread = np.sqrt(np.linalg.inv(columns.T @ inverse @ columns)[model.index(term), model.index(term)])
        if squares[term] > _AMPLE * SUREST * spread:
            return duration
    return None
