"""Bias, scale and cross-talk of the accelerometer as quantities, judged where they are declared."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.geometry.directions import SENSOR_AXES, Matrix
from benchrig.measure.guard_band import held_against, within
from benchrig.measure.measurement import Quantity
from benchrig.measure.sensor.accelerometer import PAIRS, TOLD_BIAS, TOLD_CROSS, TOLD_SCALE, WORST_FIT
from benchrig.measure.sensor.part import MG, listed
from benchrig.measure.sensor.pose_names import half_way
from benchrig.measure.sensor.poses import FACE, distinct, missing_faces
from benchrig.measure.sensor.study import UnitStudy
from benchrig.outcome import Outcome

BIAS_TOLERANCE_MG: Final = 10.0
SCALE_TOLERANCE: Final = 1.0
"""mg and %: by which a declared calibration may differ from what is measured; common practice, no published source."""

FEWEST: Final = 4
"""Poses, no two alike, before anything is told: with fewer, only sizes are looked at."""

FEWEST_SPARE: Final = 2.5
"""Poses over what was fitted, below which their agreement proves nothing: with none to spare any six poses agree."""


def is_sound(study: UnitStudy) -> bool:
    """Whether the poses are enough, agree, and show a unit that needs no more than calibration."""
    fit = study.accelerometer
    return fit is not None and fit.fits and fit.size == 1.0 and distinct(study.poses) >= FEWEST


def why_not(study: UnitStudy) -> str:
    """Say why no value can be told at all; empty where single ones can."""
    fit = study.accelerometer
    if fit is None:
        return "no still pose was found: lay it down for 2 s in each of the six poses"
    if distinct(study.poses) < FEWEST:
        missing = listed(missing_faces(study.poses, study.airframe.sensor))
        found = distinct(study.poses)
        return f"{'one still pose' if found == 1 else f'{found} still poses'} cannot tell it; add {missing}"
    if not fit.fits:
        return (
            f"the poses disagree on one gravity by {fit.misfit / MG:.0f} mg rms; {WORST_FIT / MG:.0f} mg is the limit"
        )
    return ""


def _lacking(study: UnitStudy, axis: int) -> str:
    """Say which poses an axis still lacks."""
    sensor = study.airframe.sensor
    seen = [float(pose.way[axis]) for pose in study.poses]
    both = max(seen) >= np.cos(FACE) and min(seen) <= -np.cos(FACE)
    missing = missing_faces(study.poses, sensor)
    if both or not missing:
        return "the poses are too short, too restless or too much alike"
    return f"it was never along the vertical both ways; add {listed(missing)}"


def biases(study: UnitStudy) -> Iterator[Quantity]:
    """Give the bias of each axis, mg, or what is missing for it."""
    fit, why, declared = study.accelerometer, why_not(study), study.airframe.calibration
    known = None if declared is None or declared.accelerometer_bias is None else declared.accelerometer_bias / MG
    for axis, name in enumerate(SENSOR_AXES):
        before = None if known is None else float(known[axis])
        reason = why or (
            "" if fit is None or fit.bias_uncertainty[axis] <= TOLD_BIAS * fit.size else _lacking(study, axis)
        )
        if fit is None or reason:
            yield _untold(f"accelerometer bias, {name}", "mg", reason, before)
            continue
        value, spread = float(fit.bias[axis] / MG), float(fit.bias_uncertainty[axis] / MG)
        yield _told(
            f"accelerometer bias, {name}", value, spread, declared=before, tolerance=BIAS_TOLERANCE_MG, unit="mg"
        )


def scales(study: UnitStudy) -> Iterator[Quantity]:
    """Give the scale error of each axis, %, or what is missing for it."""
    fit, why, known = study.accelerometer, why_not(study), _declared_gain(study)
    for axis, name in enumerate(SENSOR_AXES):
        before = None if known is None else 100 * (float(np.linalg.norm(known[axis])) - 1)
        reason = why or ("" if fit is None or fit.scale_uncertainty[axis] <= TOLD_SCALE else _lacking(study, axis))
        if fit is None or reason:
            yield _untold(f"accelerometer scale error, {name}", "%", reason, before)
            continue
        value = 100 * (float(fit.scale[axis]) - 1)
        spread = 100 * float(fit.size * fit.scale_uncertainty[axis])
        yield _told(
            f"accelerometer scale error, {name}", value, spread, declared=before, tolerance=SCALE_TOLERANCE, unit="%"
        )


def crosses(study: UnitStudy) -> Iterator[Quantity]:
    """Give the cross-talk of each pair of axes, %, or which poses would tell it."""
    fit, why, known = study.accelerometer, why_not(study), _declared_gain(study)
    for index, (row, column) in enumerate(PAIRS):
        name = f"accelerometer cross-talk, {SENSOR_AXES[row]} and {SENSOR_AXES[column]}"
        before = None if known is None else 100 * 0.5 * float(known[row, column] + known[column, row])
        before = before or None  # 0 is what stands for cross-talk that was not told
        if fit is None or why:
            yield _untold(name, "%", why, before)
        elif fit.cross_uncertainty[index] > TOLD_CROSS:
            yield _untold(name, "%", f"add still poses half way {half_way(row, column, study.airframe.sensor)}", before)
        else:
            value, spread = 100 * float(fit.gain[row, column]), 100 * float(fit.size * fit.cross_uncertainty[index])
            yield _told(name, value, spread, declared=before, tolerance=SCALE_TOLERANCE, unit="%")


def misfit(study: UnitStudy) -> Iterator[Quantity]:
    """Give by how much the poses still differ after calibration, mg rms."""
    fit = study.accelerometer
    if fit is None or distinct(study.poses) < FEWEST:
        return
    spare = fit.parameters.freedom
    if spare < FEWEST_SPARE and fit.fits:
        return
    reason = f"rms over {fit.poses} poses, with {spare:.0f} to spare over what was fitted"
    yield Quantity("poses after calibration, off by", fit.misfit / MG, None, "mg", reason)


def _declared_gain(study: UnitStudy) -> Matrix | None:
    declared = study.airframe.calibration
    if declared is None or declared.accelerometer_matrix is None:
        return None
    return np.asarray(np.linalg.inv(declared.accelerometer_matrix), dtype=np.float64)


def _untold(name: str, unit: str, reason: str, declared: float | None) -> Quantity:
    outcome = Outcome.NOT_APPLICABLE if declared is None else Outcome.NOT_SHOWN
    return Quantity(name, None, None, unit, reason, declared, outcome)


def _told(name: str, value: float, spread: float, *, declared: float | None, tolerance: float, unit: str) -> Quantity:
    if declared is None:
        return Quantity(name, value, spread, unit)
    outcome = held_against(value, spread, declared, tolerance)
    return Quantity(name, value, spread, unit, "", declared, outcome, within(tolerance, unit))
