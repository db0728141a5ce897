"""Hard and soft iron of a compass by the attitude: ``y = M (Rᵀ m) + h``, all errors weighed together.

With the attitude R (world from body) known, the reading y is linear in the iron h, and in the gains and soft iron M for
a given field m of the earth. R comes from the gyro, with gravity to hold it upright; since a consumer gyro and
accelerometer are off by 1 to 3 %, their own errors are unknowns of the same least squares, held by what data sheets
say of them. So nothing has to be exact, and the uncertainty knows it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Calibration
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.compass.iron_state import (
    BIAS,
    COMMON,
    DELAY,
    FIELD,
    FIELD_SPREAD,
    FORCE,
    GYRO,
    HARD,
    HARD_SPREAD,
    IRON,
    OF_A_STRETCH,
    READING_SPREAD,
    IronState,
)
from benchrig.measure.compass.stretch import Stretch

SCALE_SPREAD: Final = 0.03 / np.sqrt(3)
CROSS_SPREAD: Final = 0.02 / np.sqrt(3)
BIAS_SPREAD: Final = 0.06 * STANDARD_GRAVITY / np.sqrt(3)
"""One standard deviation of a scale, a cross-axis part and an accelerometer's bias (m/s²): ±3 %, ±2 % and ±60 mg
(data sheet PS-MPU-6000A-00 rev. 3.4, pp. 12-13), spread evenly within (GUM 4.3.7, from memory)."""

CALIBRATED: Final = 0.2
"""By which those are lowered where the airframe file declares the unit's calibration."""

IRON_SPREAD: Final = 0.05
"""Of each part of M around the unit matrix: gains, soft iron and 3° of glue (common practice, no published source)."""

DELAY_SPREAD: Final = 0.05
"""s: how late a compass may be (a published recording shows 47 ms; no published source for what is usual)."""

_LEAST_SPREAD: Final = 0.1e-6  # T
_ROUNDS: Final = 12
_SETTLED: Final = 1e-3  # of one standard deviation


@dataclass(frozen=True, slots=True, eq=False)
class IronFit:
    """What the least squares found; body axes as declared.

    Attributes
    ----------
    hard : ndarray, shape (3,), T
    gain : ndarray, shape (3, 3)
        M: what the compass makes of a field in body axes, 1 on average.
    earth : ndarray, shape (3,), T
        North-ish (the heading at the first sample), east-ish, down.
    delay : float, s
        By which the compass is late.
    covariance : ndarray, shape (16, 16)
        Of gain (row by row), hard, earth and delay.
    attitude : tuple of ndarray, shape (M, 3, 3)
        World from body at the readings of each stretch.
    residual : tuple of ndarray, shape (M, 3), T
        Reading minus fit, of each stretch.
    misfit : float, T
        Rms of one axis.
    spread : float, T
        What one reading was taken to be unsure by: the misfit, raised since neighbours err alike.
    whole : ndarray, shape (P, P)
        Covariance of every unknown.
    slope : tuple of ndarray, shape (M, 3, P)
        By how much each reading changes with each unknown, of each stretch.
    strain : float
        Largest error found in gyro or accelerometer, in the standard deviations that data sheets give it.
    """

    hard: Vector
    gain: Matrix
    earth: Vector
    delay: float
    covariance: Matrix
    attitude: tuple[Matrix, ...]
    residual: tuple[Vector, ...]
    misfit: float
    spread: float
    whole: Matrix
    slope: tuple[Matrix, ...]
    strain: float

    @property
    def hard_covariance(self) -> Matrix:
        """Of the hard iron, shape (3, 3), T²."""
        return self.covariance[9:12, 9:12]

    @property
    def earth_covariance(self) -> Matrix:
        """Of the earth's field, shape (3, 3), T²."""
        return self.covariance[12:15, 12:15]


def fit_iron(stretches: Sequence[Stretch], calibration: Calibration | None = None) -> IronFit:
    """Fit hard iron, gains and soft iron, the earth's field and the unit's own errors to all stretches at once.

    Parameters
    ----------
    stretches : sequence of Stretch
        At least one.
    calibration : Calibration or None
        Declared, and applied to the stretches already: what it mends is held more tightly.

    Returns
    -------
    IronFit
    """
    state = IronState.begin(stretches)
    spread = _spreads(stretches, calibration)
    readings = READING_SPREAD
    for _ in range(2):
        covariance, residuals = _settle(state, spread, readings)
        readings = max(_LEAST_SPREAD, lasting_misfit(residuals))
    covariance, residuals = _settle(state, spread, readings)
    kept = np.r_[IRON, HARD, FIELD, DELAY]
    every = np.concatenate(residuals)
    return IronFit(
        hard=state.values[HARD],
        gain=np.eye(3) + state.values[IRON].reshape(3, 3),
        earth=state.values[FIELD],
        delay=float(state.values[DELAY][0]),
        covariance=covariance[np.ix_(kept, kept)],
        attitude=tuple(state.at_readings()),
        residual=tuple(residuals),
        misfit=float(np.sqrt((every**2).mean())),
        spread=readings,
        whole=covariance,
        slope=tuple(state.reading_slope(k) for k in range(len(stretches))),
        strain=float(np.abs(state.values[: IRON.start] / spread[: IRON.start]).max()),
    )


def gyro_attitudes(stretches: Sequence[Stretch]) -> list[Matrix]:
    """Give the attitude at each reading by the gyro as it is, upright at a rest, headings from each stretch's start.

    Returns
    -------
    list of ndarray, shape (M, 3, 3)
        World from body; the compass has no part in it.
    """
    return IronState.upright(stretches).at_readings()


def _spreads(stretches: Sequence[Stretch], calibration: Calibration | None) -> Vector:
    spread = np.empty(COMMON + OF_A_STRETCH * len(stretches))
    square = np.where(np.eye(3) > 0, SCALE_SPREAD, CROSS_SPREAD)
    spread[GYRO], spread[FORCE], spread[BIAS] = square.ravel(), square.ravel(), BIAS_SPREAD
    if calibration is not None:
        if calibration.gyro_scale is not None:
            spread[GYRO] = np.where(np.eye(3) > 0, CALIBRATED * SCALE_SPREAD, CROSS_SPREAD).ravel()
        if calibration.accelerometer_matrix is not None:
            spread[FORCE] *= CALIBRATED
        if calibration.accelerometer_bias is not None:
            spread[BIAS] *= CALIBRATED
    spread[IRON], spread[HARD], spread[FIELD], spread[DELAY] = IRON_SPREAD, HARD_SPREAD, FIELD_SPREAD, DELAY_SPREAD
    for k, stretch in enumerate(stretches):
        own = COMMON + OF_A_STRETCH * k
        spread[own : own + 3] = stretch.rate_uncertainty
        spread[own + 3 : own + 6] = np.pi
        if k == 0:
            spread[own + 5] = 1e-9  # the world's heading is that of the first sample
    return spread


def lasting_misfit(residuals: Sequence[Vector]) -> float:
    """Give the spread that readings would need if neighbours were independent: alike ones count for less."""
    power = sum(float((r**2).sum()) for r in residuals)
    alike = sum(float((r[1:] * r[:-1]).sum()) for r in residuals) / power if power > 0 else 0.0
    alike = min(max(alike, 0.0), 0.98)
    count = sum(r.size for r in residuals)
    return float(np.sqrt(power / count * (1 + alike) / (1 - alike)))


def _settle(state: IronState, spread: Vector, readings: float) -> tuple[Matrix, list[Vector]]:
    """Repeat the linear step until nothing moves; gives the covariance and the readings' residuals."""
    for _ in range(_ROUNDS):
        normal, right = np.diag(spread**-2.0), -state.values / spread**2
        for k in range(len(state.stretches)):
            for residual, slope, weight in state.equations(k, readings):
                normal += slope.T @ (slope * weight[:, None])
                right += slope.T @ (residual * weight)
        scaled = normal * spread * spread[:, None]
        step = spread * np.linalg.solve(scaled, right * spread)
        state.move(step)
        covariance = np.linalg.inv(scaled) * spread * spread[:, None]
        if np.abs(step / np.sqrt(np.diag(covariance))).max() < _SETTLED:
            break
    return covariance, [state.reading_residual(k) for k in range(len(state.stretches))]
