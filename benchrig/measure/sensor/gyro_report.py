"""What rests, turns and spins say of the gyro, in quantities, findings and lines for the airframe file."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.geometry.directions import SENSOR_AXES
from benchrig.measure.figure import Curve, Figure
from benchrig.measure.measurement import Entry
from benchrig.measure.sensor.channels import spoilt
from benchrig.measure.sensor.gyro_fit import GyroFit
from benchrig.measure.sensor.gyro_quantities import (
    WRONG_SIZE,
    biases,
    by_stated_speed,
    is_speed_alone,
    is_surely_wrong,
    is_told,
    scale_spread,
    scales,
    why_not,
)
from benchrig.measure.sensor.part import Part, deserved, listed
from benchrig.measure.sensor.pose_names import contradicts_axes
from benchrig.measure.sensor.study import UnitStudy
from benchrig.measure.sensor.table_turns import STATED
from benchrig.outcome import Finding, Outcome, sentence
from benchrig.signals.rests import LARGEST_BIAS

SURE: Final = 0.005
"""Standard deviation up to which a factor goes into the airframe file."""

_NEAR: Final = 0.06
_CAUSES: Final = (
    (180 / np.pi, "the numbers are deg/s, the manifest says rad/s"),
    (np.pi / 180, "the numbers are rad/s, the manifest says deg/s"),
    (2.0, "a range is set twice as sensitive as declared"),
    (0.5, "a range is set half as sensitive as declared"),
    (4.0, "a range is set four times as sensitive as declared"),
    (0.25, "a range is set a quarter as sensitive as declared"),
)


def gyro_part(study: UnitStudy) -> Part:
    """Tell the bias at rest and the scale of each axis, with uncertainties or the reasons why not."""
    return Part(
        quantities=(*(q for s in study.sessions for q in biases(study, s)), *scales(study)),
        findings=(*_rest_findings(study), *_scale_findings(study)),
        figures=_figures(study),
        entries=_entries(study),
        unknown=_unknown(study),
        method=_method(study),
    )


def _rest_findings(study: UnitStudy) -> Iterator[Finding]:
    for session in study.sessions:
        if session.stillness.bias is None and session.stillness.steady_rate > LARGEST_BIAS / 2:
            rate = np.degrees(session.stillness.steady_rate)
            text = f"The gyro reads up to {rate:.0f} °/s on one axis while nothing moves ({session.name})."
            fix = "Let the unit warm up and find its zero at rest; check the gyro's unit; record again, or replace it."
            yield Finding("gyro-bias-large", "not shown", text, fix)
    lost = [s for s in study.sessions if s.stillness.bias is None]
    restless = [s.name for s in lost if s.stillness.steady_rate <= LARGEST_BIAS / 2]
    if restless:
        text = f"The airframe never lies still on the bench in {listed(restless)}, so nothing can be calibrated there."
        yield Finding("never-still", "not shown", text, "Begin and end with 3 s at rest on the bench, motors off.")


def _scale_findings(study: UnitStudy) -> Iterator[Finding]:
    fit = study.gyro
    if fit is None:
        return
    if is_speed_alone(study):
        why = why_not(study)
        fix = "Count the table's turns against a watch; or tilt it by 1° to 3°, so that gravity counts them."
        yield Finding("table-speed-differs", "not shown", sentence(why), fix)
        return
    if not fit.fits:
        why = why_not(study)
        fix = (
            "Run benchrig check first: an axis sign, a swap or a dead channel shows there, of the gyro or of the "
            "accelerometer; hold still between turns."
        )
        yield Finding("gyro-turns-disagree", "not shown", sentence(why), fix)
        return
    if contradicts_axes(study):
        return  # named with the poses
    gain = 1 / fit.scale
    told = np.array([is_told(fit, axis) for axis in range(3)])
    off = np.array([is_surely_wrong(study, fit, axis) for axis in range(3)])
    if off.any():
        common = float(np.exp(np.log(gain[told]).mean()))
        alike = bool(off.sum() == told.sum() and np.ptp(np.log(gain[told])) < _NEAR)
        cause = next((f": {cause}" for size, cause in _CAUSES if alike and abs(common / size - 1) < _NEAR), "")
        sizes = ", ".join(f"{gain[k]:.3g} on {name}" for k, name in enumerate(SENSOR_AXES) if off[k])
        times = f"{f'{common:.3g}' if alike else sizes} times what it turns by{cause}"
        text = (
            f"The gyro reads {times}; over {WRONG_SIZE:.0%} is no matter of calibration, and no line is given for it."
        )
        fix = "Correct its unit, range or count in the manifest or in the unit; if neither is wrong, look at the clock."
        yield Finding("gyro-size", "fail", text, fix)
    wrong = [q for q in scales(study) if q.outcome is Outcome.FAIL]
    if wrong:
        said = "; ".join(f"{q.name} {q.value:.1f} %, declared {q.declared:.1f} %" for q in wrong)
        fix = "Put the new line into the airframe file and into whatever flies the airframe; or look for what changed."
        yield Finding("gyro-scale-differs", "fail", f"The declared gyro scale does not hold: {said}.", fix)


def _entries(study: UnitStudy) -> tuple[Entry, ...]:
    fit, known = study.gyro, study.airframe.calibration
    if fit is None or why_not(study):
        return ()
    spread = [float(fit.scale[k]) * scale_spread(study, fit, k) for k in range(3)]
    broken = spoilt(study, "gyro")
    sure = [k for k in range(3) if spread[k] <= SURE and SENSOR_AXES[k] not in broken]
    # one axis with a wrong range, or all of them: that is not for a calibration to hide
    if not sure or any(is_surely_wrong(study, fit, k) for k in range(3)):
        return ()
    factors = (
        {}
        if known is None or known.gyro_scale is None
        else dict(zip(SENSOR_AXES, known.gyro_scale.tolist(), strict=True))
    )
    factors |= {SENSOR_AXES[k]: deserved(float(fit.scale[k]), float(spread[k])) for k in sure}
    told = listed([f"{SENSOR_AXES[k]} ± {100 * spread[k]:.2f} %" for k in sure])
    comment = f"from {_sources(fit)}; {told}"
    return (
        Entry(
            ("calibration",), "gyro_scale", {name: factors[name] for name in SENSOR_AXES if name in factors}, comment
        ),
    )


def _sources(fit: GyroFit) -> str:
    parts = [f"{fit.carries} turn{'s' if fit.carries > 1 else ''} between still poses"] if fit.carries else []
    parts += [f"{fit.spins} spin{'s' if fit.spins > 1 else ''} on a table"] if fit.spins else []
    return listed(parts)


def _demand(fit: GyroFit) -> str:
    asked = ["carry gravity from pose to pose"] if fit.carries else []
    asked += ["turn with the table"] if fit.spins else []
    return f"it must {', and '.join(asked)}"


def _unknown(study: UnitStudy) -> tuple[str, ...]:
    said = [
        f"{remark.place}: {remark.reason}; {remark.fix}."
        for s in study.sessions
        for remark in s.remarks
        if remark.refused
    ]
    fit = study.gyro
    if fit is not None and any(by_stated_speed(study, axis) for axis in range(3)) and not fit.carries:
        said.append(
            "Whether the table's stated speed is right, on which the gyro's scale rests alone; tilt the table by 1° to "
            "3°, so that gravity counts its turns."
        )
    if fit is not None and fit.carries:
        said.append(
            "An error of the clock apart from one of the gyro: where time is stamped 1 % too fast, the gyro seems to "
            "read 1 % too much."
        )
    return tuple(said)


def _method(study: UnitStudy) -> tuple[str, ...]:
    fit = study.gyro
    if fit is None:
        return ()
    told = [
        f"The gyro's scale is from {_sources(fit)}: {_demand(fit)}.",
        "The gyro's cross-talk and the accelerometer's errors are fitted beside it, and widen its uncertainty.",
    ]
    spins = [spin for s in study.sessions for spin in s.spins]
    if any(spin.by == "stated" for spin in spins):
        told.append(
            f"A stated table speed counts with {100 * STATED:.2f} %: ±0.5 % (IEC 60098:2020, clause 5.6, as quoted for "
            "recording), taken as rectangular."
        )
    if any(spin.by == "counted" for spin in spins):
        told.append("Turns of a table that is not quite level are counted by gravity, which comes round once a turn.")
    return tuple(told)


def _figures(study: UnitStudy) -> tuple[Figure, ...]:
    fit = study.gyro
    if fit is None or not fit.carries:
        return ()
    as_read, calibrated = np.degrees(fit.as_read), np.degrees(fit.misses)
    number = np.arange(1.0, fit.carries + 1)
    verb = "follows" if fit.fits else "does not follow"
    description = (
        f"Angle between gravity as the accelerometer reads it after each of {fit.carries} turns and as the gyro "
        f"carries it there: as read up to {as_read.max():.1f}°, after calibration up to {calibrated.max():.1f}°."
    )
    curves = (Curve("as read", number, as_read, "cross"), Curve("calibrated", number, calibrated, "dots"))
    title = f"After calibration the gyro {verb} gravity from pose to pose."
    return (Figure(title, description, "turn, in order of time", "gyro misses gravity by, deg", curves),)
