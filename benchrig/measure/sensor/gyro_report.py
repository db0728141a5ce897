"""What rests, turns and spins say of the gyro, in quantities, findings and lines for the airframe file."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.geometry.directions import SENSOR_AXES
from benchrig.measure.figure import Curve, Figure
from benchrig.measure.guard_band import held_against, within
from benchrig.measure.measurement import Entry, Quantity
from benchrig.measure.sensor.gyro_fit import TOLD, WORST_FIT, GyroFit
from benchrig.measure.sensor.part import Part, deserved, listed
from benchrig.measure.sensor.study import Session, UnitStudy
from benchrig.measure.sensor.table_turns import STATED
from benchrig.outcome import Finding, Outcome, sentence
from benchrig.signals.rests import LARGEST_BIAS

TOLERANCE: Final = 1.0
"""%: by which a declared scale may differ from what is measured; common practice, no published source."""

WRONG_SIZE: Final = 0.10
"""By which a scale is off where a range or a unit is wrong; data sheets of consumer units allow ±3 %
(PS-MPU-6000A-00 rev. 3.4, p. 12)."""

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
        quantities=(*(q for s in study.sessions for q in _biases(study, s)), *_scales(study)),
        findings=(*_rest_findings(study), *_scale_findings(study)),
        figures=_figures(study),
        entries=_entries(study),
        unknown=_unknown(study),
        method=_method(study),
    )


def _biases(study: UnitStudy, session: Session) -> Iterator[Quantity]:
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


def _scales(study: UnitStudy) -> Iterator[Quantity]:
    fit, why, known = study.gyro, _why_not(study), study.airframe.calibration
    for axis, name in enumerate(SENSOR_AXES):
        called = f"gyro scale error, {name}"
        before = None if known is None or known.gyro_scale is None else 100 * (1 / float(known.gyro_scale[axis]) - 1)
        before = before or None  # 1 is what stands for an axis that was left out
        reason = why or ("" if fit is None or _is_told(fit, axis) else _lacking(study, axis))
        if fit is None or reason:
            outcome = Outcome.NOT_APPLICABLE if before is None else Outcome.NOT_SHOWN
            yield Quantity(called, None, None, "%", reason, before, outcome)
            continue
        gain, relative = 1 / float(fit.scale[axis]), float(fit.uncertainty[axis] / fit.scale[axis])
        value, spread = 100 * (gain - 1), 100 * gain * relative
        if before is None:
            yield Quantity(called, value, spread, "%")
        else:
            outcome = held_against(value, spread, before, TOLERANCE)
            yield Quantity(called, value, spread, "%", "", before, outcome, within(TOLERANCE, "%"))


def _is_told(fit: GyroFit, axis: int) -> bool:
    return bool(fit.uncertainty[axis] <= TOLD * fit.scale[axis])


def _why_not(study: UnitStudy) -> str:
    fit = study.gyro
    if fit is None and all(s.stillness.bias is None for s in study.sessions):
        return "the airframe never lay still on the bench, so the gyro's zero is not known"
    if fit is None:
        return "no turn by 15° or more between two still poses, and no spin of known speed, was found"
    if fit.misfit > WORST_FIT:
        return (
            f"gyro and gravity tell different stories: they miss one another by {np.degrees(fit.misfit):.0f}° rms, and "
            f"{np.degrees(WORST_FIT):.0f}° is the limit"
        )
    if _speed_alone(study):
        ratio = 1 / float(fit.scale[_spun(fit)])
        return (
            f"the gyro reads {ratio:.2f} times the stated speed of the table, which nothing else bears out: the speed "
            "or the gyro's size is wrong"
        )
    if not fit.fits:
        return "gyro and gravity tell one story only if the gyro's axes lay askew by more than those of a sound unit"
    return ""


def _spun(fit: GyroFit) -> int:
    """Give the axis that the spins tell most of."""
    return int(np.argmin(fit.uncertainty / fit.scale))


def _speed_alone(study: UnitStudy) -> bool:
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
    if _speed_alone(study):
        why = _why_not(study)
        fix = "Count the table's turns against a watch; or tilt it by 1° to 3°, so that gravity counts them."
        yield Finding("table-speed-differs", "not shown", sentence(why), fix)
        return
    if not fit.fits:
        why = _why_not(study)
        fix = "Run benchrig check first: an axis sign, a swap or a dead channel shows there; hold still between turns."
        yield Finding("gyro-turns-disagree", "not shown", sentence(why), fix)
        return
    gain, spread = 1 / fit.scale, fit.uncertainty / fit.scale
    told = np.array([_is_told(fit, axis) for axis in range(3)])
    off = told & (np.abs(np.log(gain)) - 2 * spread > np.log1p(WRONG_SIZE))
    if off.any():
        common = float(np.exp(np.log(gain[told]).mean()))
        alike = bool(off.sum() == told.sum() and np.ptp(np.log(gain[told])) < _NEAR)
        cause = next((f": {cause}" for size, cause in _CAUSES if alike and abs(common / size - 1) < _NEAR), "")
        sizes = ", ".join(f"{gain[k]:.3g} on {name}" for k, name in enumerate(SENSOR_AXES) if off[k])
        text = f"The gyro reads {f'{common:.3g}' if alike else sizes} times what it turns by{cause}."
        fix = "Correct its unit, range or count in the manifest or in the unit; if neither is wrong, look at the clock."
        yield Finding("gyro-size", "fail", text, fix)
    wrong = [q for q in _scales(study) if q.outcome is Outcome.FAIL]
    if wrong:
        said = "; ".join(f"{q.name} {q.value:.1f} %, declared {q.declared:.1f} %" for q in wrong)
        fix = "Put the new line into the airframe file and into whatever flies the airframe; or look for what changed."
        yield Finding("gyro-scale-differs", "fail", f"The declared gyro scale does not hold: {said}.", fix)


def _entries(study: UnitStudy) -> tuple[Entry, ...]:
    fit, known = study.gyro, study.airframe.calibration
    if fit is None or _why_not(study):
        return ()
    spread = fit.uncertainty
    sure = [k for k in range(3) if spread[k] <= SURE and abs(np.log(fit.scale[k])) <= np.log1p(WRONG_SIZE)]
    # one axis with a wrong range, or all of them: that is not for a calibration to hide
    if not sure or any(_is_told(fit, k) and abs(np.log(fit.scale[k])) > np.log1p(WRONG_SIZE) for k in range(3)):
        return ()
    factors = (
        {}
        if known is None or known.gyro_scale is None
        else dict(zip(SENSOR_AXES, known.gyro_scale.tolist(), strict=True))
    )
    factors |= {SENSOR_AXES[k]: deserved(float(fit.scale[k]), float(spread[k])) for k in sure}
    told = listed([f"{SENSOR_AXES[k]} ±{100 * spread[k]:.2f} %" for k in sure])
    comment = f"from {_sources(fit)}; {told}"
    return (
        Entry(
            ("calibration",), "gyro_scale", {name: factors[name] for name in SENSOR_AXES if name in factors}, comment
        ),
    )


def _sources(fit: GyroFit) -> str:
    parts = [f"{fit.carries} turns between still poses"] if fit.carries else []
    parts += [f"{fit.spins} spin{'s' if fit.spins > 1 else ''} on a table"] if fit.spins else []
    return listed(parts)


def _unknown(study: UnitStudy) -> tuple[str, ...]:
    said = [
        f"{remark.place}: {remark.reason}; {remark.fix}."
        for s in study.sessions
        for remark in s.remarks
        if remark.refused
    ]
    if study.gyro is not None and study.gyro.carries:
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
        f"The gyro's scale is from {_sources(fit)}: it must carry gravity from pose to pose, and turn with the table.",
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
