"""From judgements to causes and remedies, in the builder's words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, axis_words
from benchrig.verdict.actuation import Pattern
from benchrig.verdict.bench import Bench
from benchrig.verdict.faults_of_data import data_findings
from benchrig.verdict.record import ActuatorJudgement, Cell, Finding, Outcome, WiringFound
from benchrig.verdict.sensing import what_was_done

_AXES: Final = "xyz"


def diagnose(
    bench: Bench,
    cells: Sequence[Cell],
    gyro: WiringFound,
    accelerometer: WiringFound,
    actuators: Sequence[ActuatorJudgement],
    pattern: Pattern,
) -> tuple[Finding, ...]:
    """Name every cause that the evidence supports, the gravest first.

    Returns
    -------
    tuple of Finding
    """
    found = [
        *data_findings(bench),
        *_wiring_findings(bench, gyro, accelerometer),
        *_operator_findings(bench),
        *_unit_findings(cells),
        *_actuator_findings(actuators, pattern, sensing_failed=Outcome.FAIL in {gyro.outcome, accelerometer.outcome}),
    ]
    order = {"fail": 0, "not shown": 1, "advice": 2}
    return tuple(sorted(found, key=lambda f: order[f.severity]))


def _wiring_findings(bench: Bench, gyro: WiringFound, accelerometer: WiringFound) -> Iterator[Finding]:
    declared = bench.airframe.sensor.body_from_sensor
    gyro_off = gyro.outcome is Outcome.FAIL and gyro.found is not None
    accelerometer_off = accelerometer.outcome is Outcome.FAIL and accelerometer.found is not None
    if gyro_off and accelerometer_off and gyro.found is not None and np.array_equal(gyro.found, accelerometer.found):
        yield _both_wrong(bench, gyro.found, declared)
        return
    if gyro_off and gyro.found is not None:
        yield _one_wrong("gyro", gyro.found, declared)
    if accelerometer_off and accelerometer.found is not None:
        if np.array_equal(accelerometer.found, -declared):
            yield _reads_the_other(bench)
        else:
            yield _one_wrong("accelerometer", accelerometer.found, declared)


def _both_wrong(bench: Bench, found: Matrix, declared: Matrix) -> Finding:
    if np.linalg.det(found) < 0:
        relative = declared.T @ found
        return Finding(
            "left-handed-sensor",
            "fail",
            f"gyro and accelerometer form a left-handed set: {_channel_words(relative)}.",
            "No mounting can mend this. Find where the stream or the unit turns a sign or swaps two channels, and undo it "
            "for both sensors alike.",
        )
    words, said = axis_words(found), axis_words(declared)
    if words is None or said is None:
        text = "the unit is turned against its declared rotation by a multiple of 90°."
        return Finding("mounting-differs", "fail", text, "Turn the unit, or declare the rotation that holds.")
    wrong = [axis for axis in _AXES if words[axis] != said[axis]]
    parts = "; ".join(f"its {axis} arrow points {words[axis]}, the file says {said[axis]}" for axis in wrong)
    new = ", ".join(f'{axis} = "{words[axis]}"' for axis in _AXES)
    fix = f"Turn the unit so that its arrows point as declared, or write axes = {{ {new} }} in the airframe file."
    if _turned_half(found, declared):
        fix += (
            " The same evidence would come from an operator who took the tail for the nose in every tilt: mark the nose, "
            "and do the motions again before you change anything."
        )
    return Finding("mounting-differs", "fail", f"the unit sits otherwise than declared: {parts}.", fix)


def _turned_half(found: Matrix, declared: Matrix) -> bool:
    return bool(np.array_equal(found @ declared.T, np.diag([-1.0, -1.0, 1.0])))


def _one_wrong(sensor: str, found: Matrix, declared: Matrix) -> Finding:
    relative = declared.T @ found
    code = f"{sensor}-{'axis-sign' if _is_signs(relative) else 'axes-swapped' if _is_swap(relative) else 'axes-differ'}"
    other = "accelerometer" if sensor == "gyro" else "gyro"
    fix = f"Mend it where the stream is made (driver, cable order or column map), for the {sensor} alone: "
    fix += f"the {other} is not part of this fault. Do not turn the unit."
    return Finding(code, "fail", f"the {sensor} differs from the declaration: {_channel_words(relative)}.", fix)


def _reads_the_other(bench: Bench) -> Finding:
    reads = bench.airframe.sensor.reads
    other = "gravity" if reads == "specific force" else "specific force"
    sign = "-g" if other == "gravity" else "+g"
    return Finding(
        "accelerometer-reads-the-other",
        "fail",
        f"the accelerometer reads {other}: an axis that points up reads {sign} at rest; the file says {reads}.",
        f'Write accelerometer_reads = "{other}" if the maker\'s manual agrees; else find where all three signs are turned.',
    )


def _is_signs(relative: Matrix) -> bool:
    return bool(np.array_equal(np.abs(relative), np.eye(3)))


def _is_swap(relative: Matrix) -> bool:
    return bool(np.trace(np.abs(relative)) == 1 and (relative >= 0).all())


def _channel_words(relative: Matrix) -> str:
    """Say what each channel really measures; `relative` is sensor-as-declared from sensor-as-read."""
    parts = []
    for k, name in enumerate(_AXES):
        row = int(np.argmax(np.abs(relative[:, k])))
        sign = "" if relative[row, k] > 0 else "minus "
        if row != k or sign:
            parts.append(f"channel {name} measures {sign}{_AXES[row]}")
    return ", ".join(parts) or "nothing differs"


def _operator_findings(bench: Bench) -> Iterator[Finding]:
    for name in dict.fromkeys(m.name for m in bench.motions):
        done = what_was_done(bench, name)
        if done.other and bench.stillness.bias is not None:
            reason = done.reason or what_was_done_instead(bench, name)
            severity = "advice" if done.good else "not shown"
            yield Finding("operator-other-motion", severity, f"{reason}.", f"Do {name} again, with the nose marked.")
        elif not done.good and done.reason:
            yield Finding("motion-missing", "not shown", f"{name}: {done.reason}.", _again(name))
    if bench.matching.misfit:
        yield Finding(
            "routine-does-not-fit",
            "not shown",
            f"{bench.matching.misfit}.",
            "Do each motion of the routine once, outward, held for half a second, and back; or give [[motion]] times.",
        )
    missing = [r for r in bench.airframe.required_motions if not any(m.name == r for m in bench.motions)]
    for name in missing:
        yield Finding("motion-missing", "not shown", f"{name} was not asked for in this capture.", _again(name))


def what_was_done_instead(bench: Bench, name: str) -> str:
    """Say that one of several prompts of a name was another motion."""
    return f"one of the prompts {name} was another motion"


def _again(name: str) -> str:
    return f"Record {name} again: 30° to 45°, held still for half a second before and after."


def _unit_findings(cells: Sequence[Cell]) -> Iterator[Finding]:
    wrong = [c for c in cells if c.check == "unit attitude" and c.outcome is Outcome.FAIL]
    if wrong:
        motions = ", ".join(c.motion for c in wrong)
        yield Finding(
            "unit-attitude-differs",
            "fail",
            f"the unit's own attitude goes the wrong way in: {motions}.",
            "Its own mounting setting differs from how it sits, or its attitude columns are named or signed wrongly.",
        )


def _actuator_findings(
    actuators: Sequence[ActuatorJudgement], pattern: Pattern, *, sensing_failed: bool
) -> Iterator[Finding]:
    failing = [a for a in actuators if a.outcome is Outcome.FAIL]
    if sensing_failed:
        yield from _after_sensor([a.name for a in actuators if a.outcome is not Outcome.PASS])
        return
    if failing and pattern.plate_turned is not None:
        yield _plate_finding(pattern.plate_turned)
    if failing:
        for axis in pattern.axes_reversed:
            yield Finding(
                "axis-reversed",
                "fail",
                f"every actuator answers {axis} the wrong way.",
                f"Reverse the unit's correction about {axis}; the single servos are not at fault.",
            )
    explained = bool(pattern.axes_reversed) or pattern.plate_turned is not None
    for actuator in failing:
        if actuator.finding != "wrong axis" or not explained:
            yield _single_finding(actuator)
    for actuator in actuators:
        if actuator.outcome is Outcome.NOT_SHOWN:
            text = f"{actuator.name}: {actuator.reason}."
            yield Finding("actuator-not-shown", "not shown", text, "Record its pulses, or note what it did as `seen`.")


def _after_sensor(names: Sequence[str]) -> Iterator[Finding]:
    """Say once that the actuators cannot be told apart from the sensor's fault, which they obey."""
    if names:
        text = f"{', '.join(names)}: the unit drives them by its sensor's wrong axes, so their own sense is not shown."
        yield Finding("actuators-after-sensor", "not shown", text, "Mend the sensor first, then run the bench again.")


def _plate_finding(turned: float) -> Finding:
    side = "clockwise" if turned > 0 else "counter-clockwise"
    text = f"the plate is mixed for a layout turned {side} by about {abs(turned):.0f}°, seen from above."
    fix = "Correct the azimuths in the airframe file, or the unit's plate layout or lead angle."
    if abs(turned) > 165:  # noqa: PLR2004 - deg; the electrical twin of a turn by 180°
        fix += " All plate servos reversed would look the same: raise the collective, and see whether the plate rises."
    return Finding("plate-layout-differs", "fail", text, fix)


def _single_finding(actuator: ActuatorJudgement) -> Finding:
    name = actuator.name
    text, fix = {
        "reversed": (f"{name} answers the wrong way.", f"Reverse {name}'s direction in the unit, or its linkage."),
        "still": (f"{name} does not answer.", f"Check {name}'s plug, power and output; no correction comes from it."),
        "swapped": (
            f"{name} moves as {actuator.swapped_with} should.",
            f"Exchange the plugs of {name} and {actuator.swapped_with}.",
        ),
        "wrong axis": (
            f"{name} answers about another axis than its place asks for.",
            f"Check which output drives {name}, and its declared place.",
        ),
    }.get(actuator.finding, (f"{name}: {actuator.reason}.", f"Check {name}."))
    code = {"wrong axis": "actuator-wrong-axis", "swapped": "actuators-swapped"}.get(
        actuator.finding, f"actuator-{actuator.finding.replace(' ', '-')}"
    )
    return Finding(code, "fail", text, fix)
