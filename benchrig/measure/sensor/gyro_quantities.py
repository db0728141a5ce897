"""What the gyro's bias and scale are, in quantities with their uncertainty or the reason why there is none."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.geometry.directions import SENSOR_AXES
from benchrig.measure.guard_band import held_against, within
from benchrig.measure.measurement import Quantity
from benchrig.measure.sensor.gyro_fit import TOLD, WORST_FIT, GyroFit
from benchrig.measure.sensor.pose_names import contradicts_axes
from benchrig.measure.sensor.study import Session, UnitStudy
from benchrig.measure.sensor.table_turns import SPEED_TOLERANCE, STATED
from benchrig.outcome import Outcome

TOLERANCE: Final = 1.0
"""%: by which a declared scale may differ from what is measured; common practice, no published source."""

WRONG_SIZE: Final = 0.05
"""By which a scale is off where a range, a unit or a clock is wrong, and no calibration is meant to mend it; data
sheets of consumer units allow ±3 % (PS-MPU-6000A-00 rev. 3.4, p. 12), and a worn one a little more."""

STATED_ALONE: Final = SPEED_TOLERANCE
"""One standard deviation of a scale for which nothing speaks but a stated table speed: the whole tolerance."""

_MOSTLY: Final = 0.9  # cosine between a spin's axis and the unit's


def biases(study: UnitStudy, session: Session) -> Iterator[Quantity]:
    """Give the bias of each axis in one recording, deg/s, or why there is none."""
    where = f", {session.name}" if study.several else ""
    bias = session.stillness.bias
    rests = sum(r.grade == "bench" for r in session.stillness.rests)
    for axis, name in enumerate(SENSOR_AXES):
        called = f"gyro bias, {name}{where}"
        if bias is None:
            yield Quantity(called, None, None, "deg/s", "the airframe never lay still on the bench")
            continue
        value, spread = np.degrees(bias.value[axis]), np.degrees(bias.uncertainty[axis])
        reason = f"over {rests} rests; their scatter is in the uncertainty" if rests > 1 else "over one rest"
        yield Quantity(called, float(value), float(spread), "deg/s", reason)


def scales(study: UnitStudy) -> Iterator[Quantity]:
    """Give the scale error of each axis, %, or what would tell it."""
    fit, why, known = study.gyro, why_not(study), study.airframe.calibration
    for axis, name in enumerate(SENSOR_AXES):
        called = f"gyro scale error, {name}"
        before = None if known is None or known.gyro_scale is None else 100 * (1 / float(known.gyro_scale[axis]) - 1)
        before = before or None  # 1 is what stands for an axis that was left out
        reason = why or ("" if fit is None or is_told(fit, axis) else _lacking(study, axis))
        if fit is None or reason:
            outcome = Outcome.NOT_APPLICABLE if before is None else Outcome.NOT_SHOWN
            yield Quantity(called, None, None, "%", reason, before, outcome)
            continue
        gain = 1 / float(fit.scale[axis])
        value, spread = 100 * (gain - 1), 100 * gain * scale_spread(study, fit, axis)
        said = _rests_on(study, fit, axis)
        if before is None:
            yield Quantity(called, value, spread, "%", said)
        else:
            outcome = held_against(value, spread, before, TOLERANCE)
            yield Quantity(called, value, spread, "%", said, before, outcome, within(TOLERANCE, "%"))


def by_stated_speed(study: UnitStudy, axis: int) -> bool:
    """Whether a table spun about this axis at a stated speed, and none whose turns gravity counted."""
    spins = [spin for session in study.sessions for spin in session.spins]
    ways = {s.by for s in spins if abs(float(s.rate[axis])) > _MOSTLY * np.linalg.norm(s.rate)}
    return "stated" in ways and "counted" not in ways


def _rests_on(study: UnitStudy, fit: GyroFit, axis: int) -> str:
    """Say where a scale rests on a table's stated speed."""
    if not by_stated_speed(study, axis):
        return ""
    if fit.carries:
        return "rests on the stated speed of the table and on turns between still poses"
    return "rests on the stated speed of the table: nothing else bears it out"


def scale_spread(study: UnitStudy, fit: GyroFit, axis: int) -> float:
    """Give the relative uncertainty of a scale, wider where a stated speed is all there is."""
    relative = float(fit.uncertainty[axis] / fit.scale[axis])
    alone = by_stated_speed(study, axis) and not fit.carries
    return float(np.hypot(relative, np.sqrt(STATED_ALONE**2 - STATED**2))) if alone else relative


def is_surely_wrong(study: UnitStudy, fit: GyroFit, axis: int) -> bool:
    """Whether a scale is off by more than a calibration is meant to mend."""
    off = abs(float(np.log(fit.scale[axis]))) - 2 * scale_spread(study, fit, axis)
    return is_told(fit, axis) and off > np.log1p(WRONG_SIZE)


def is_told(fit: GyroFit, axis: int) -> bool:
    """Whether a scale is known well enough to be told."""
    return bool(fit.uncertainty[axis] <= TOLD * fit.scale[axis])


def why_not(study: UnitStudy) -> str:
    """Say why no scale can be told at all; empty where single ones can."""
    fit = study.gyro
    if fit is None:
        never = all(s.stillness.bias is None for s in study.sessions)
        unknown = "the airframe never lay still on the bench, so the gyro's zero is not known"
        return (
            unknown
            if never
            else "no turn by 15° or more between two still poses, and no spin of known speed, was found"
        )
    if fit.misfit > WORST_FIT:
        return (
            f"gyro and gravity tell different stories: they miss one another by {np.degrees(fit.misfit):.0f}° rms, and "
            f"{np.degrees(WORST_FIT):.0f}° is the limit"
        )
    if is_speed_alone(study):
        ratio = 1 / float(fit.scale[_spun(fit)])
        return (
            f"the gyro reads {ratio:.2f} times the stated speed of the table, which nothing else bears out: the speed "
            "or the gyro's size is wrong"
        )
    if not fit.fits:
        return "gyro and gravity tell one story only if the gyro's axes lay askew by more than those of a sound unit"
    contradicted = "the poses contradict the declared axes, so gravity cannot tell what the gyro turned by"
    return contradicted if contradicts_axes(study) else ""


def _spun(fit: GyroFit) -> int:
    """Give the axis that the spins tell most of."""
    return int(np.argmin(fit.uncertainty / fit.scale))


def is_speed_alone(study: UnitStudy) -> bool:
    """Whether a wrong size rests on a stated table speed and on nothing else."""
    fit = study.gyro
    stated = all(spin.by == "stated" for s in study.sessions for spin in s.spins)
    if fit is None or fit.carries or not stated:
        return False
    return bool(abs(np.log(fit.scale[_spun(fit)])) > np.log1p(WRONG_SIZE))


def _lacking(study: UnitStudy, axis: int) -> str:
    """Say which turn would tell an axis's scale."""
    words = study.airframe.sensor.axes
    along = f" ({words[SENSOR_AXES[axis]]})" if words is not None else ""
    return (
        f"no turn tells it well enough: lay the airframe so that the unit's {SENSOR_AXES[axis]}{along} is level, turn "
        "it about that axis by 90° or more and rest; or spin it on a table about that axis"
    )
