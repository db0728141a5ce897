"""Findings about the servos and motors: each on its own, and what all have in common."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from benchrig.outcome import Finding, Outcome
from benchrig.verdict.actuation import LOOKS_DIFFER, NO_SERVO, Pattern
from benchrig.verdict.correction import TWO_CLOCKS
from benchrig.verdict.done import CONTESTED
from benchrig.verdict.record import ActuatorJudgement


def actuator_findings(
    actuators: Sequence[ActuatorJudgement], pattern: Pattern, *, sensing_failed: bool
) -> Iterator[Finding]:
    """Name what is wrong with the actuators; under a wrong sensor, only that they obey it."""
    if sensing_failed:
        yield from _after_sensor([a.name for a in actuators if a.outcome is not Outcome.PASS])
        return
    failing = [a for a in actuators if a.outcome is Outcome.FAIL]
    common = list(_common_findings(pattern, swapped=any(a.finding == "swapped" for a in failing))) if failing else []
    yield from common
    # two servos swapped and one axis reversed can look alike: both are named; what else is common to all is said once
    single = [a for a in failing if not common or a.trouble or a.finding in {"still", "swapped"}]
    single = [a for a in single if a.trouble != "collective"]
    yield from (_single_finding(a, is_rotor=a.name in pattern.rotors) for a in single if not _is_second(a, single))
    yield from _collective_findings([a for a in actuators if a.trouble == "collective"], pattern)
    unfit: dict[str, list[str]] = {}
    for actuator in actuators:
        if actuator.outcome is Outcome.NOT_SHOWN and actuator.trouble != "collective":
            unfit.setdefault(actuator.reason, []).append(actuator.name)
    for reason, names in unfit.items():
        text = f"{', '.join(names)}: {reason}."
        if reason == TWO_CLOCKS:
            fix = "Correct offset_s of [pulses] in the manifest, its sign first; or record both sources again."
            yield Finding("pulses-clock-off", "not shown", text, fix)
            continue
        fix = "Do the motions that are missing, record the pulses, or note what each actuator did as `seen`."
        if reason == CONTESTED:
            text = f"{', '.join(names)}: which motions were really made is open, so what they answered is too."
            fix = "Do those motions again first."
        yield Finding("actuator-not-shown", "not shown", text, fix)


def _after_sensor(names: Sequence[str]) -> Iterator[Finding]:
    """Say once that the actuators cannot be told apart from the sensor's fault, which they obey."""
    if names:
        text = f"{', '.join(names)}: the unit drives them by its sensor's wrong axes, so their own sense is not shown."
        yield Finding("actuators-after-sensor", "not shown", text, "Mend the sensor first, then run the bench again.")


def _common_findings(pattern: Pattern, *, swapped: bool) -> Iterator[Finding]:
    """Name what all actuators have in common, which no single one is at fault for."""
    if pattern.plate_reversed:
        text = "every servo of the plate is reversed: it corrects the wrong way, and goes down at collective up."
        fix = "Reverse the direction of every plate servo in the unit; or correct `longer_pulse`, if the plate itself "
        yield Finding("plate-reversed", "fail", text, fix + "was seen to go up.")
    if pattern.plate_turned is not None:
        yield _plate_finding(pattern.plate_turned, pattern.plate_lifts)
    for axis in () if pattern.plate_reversed else pattern.axes_reversed:
        fix = f"Reverse the unit's correction about {axis}; the single servos are not at fault."
        if swapped:
            fix = f"Reverse the unit's correction about {axis}, or exchange the plugs named below, which would look "
            fix += "alike. Do one of the two, not both, and run the bench again."
        text = f"every actuator that acts about {axis} answers it the wrong way."
        yield Finding("axis-reversed", "fail", text, fix)


def _collective_findings(troubled: Sequence[ActuatorJudgement], pattern: Pattern) -> Iterator[Finding]:
    """Name the actuators that correct the right way and still go the wrong way with the stick, or in one look alone."""
    unlike = [a for a in troubled if LOOKS_DIFFER in a.reason]
    if unlike:
        text = f"{', '.join(a.name for a in unlike)}: {unlike[0].reason}."
        fix = "In one of them the stick went down, or was no collective: do both again, the stick the way that lifts."
        yield Finding("collective-not-shown", "not shown", text, fix)
    lowering = [a for a in troubled if a not in unlike]
    if not lowering:
        return
    names = ", ".join(a.name for a in lowering)
    failed = any(a.outcome is Outcome.FAIL for a in lowering)
    text = f"{names}: at collective up the pulse goes the way that takes lift away."
    fix = "Reverse the collective channel in the transmitter or the unit."
    if pattern.rising:
        fix = (
            f"Reverse the direction of {names} for collective in the unit's mixing. Leave the collective channel as it "
        )
        fix += f"is: it moves {', '.join(pattern.rising)} the right way."
    if not failed:
        again = "Do it again" if pattern.rising else "Do it again, the stick the way that lifts"
        fix = f"{again}. If it stays so: {fix[0].lower()}{fix[1:]}"
    yield Finding("collective-reversed", "fail" if failed else "not shown", text, fix)


def _plate_finding(turned: float, lifts: int) -> Finding:
    side = "clockwise" if turned > 0 else "counter-clockwise"
    text = f"the plate is mixed for a layout turned {side} by about {abs(turned):.0f}°, seen from above."
    fix = "Correct the azimuths in the airframe file, or the unit's plate layout or lead angle."
    is_half = abs(turned) > 165  # noqa: PLR2004 - deg; with its electrical twins
    if is_half:
        fix += (
            " The unit's corrections about roll and pitch both reversed are the same to the servos, and undoing that "
        )
        fix += "mends it as well. Do one of these, not both."
    if lifts > 0:
        fix += " The servos' own directions are right: the plate rises at collective up."
    elif not lifts and is_half:
        fix += " All plate servos reversed would look the same: raise the collective, and see whether the plate rises;"
        fix += " or record it as the motion `collective up`, which tells the two apart."
    return Finding("plate-layout-differs", "fail", text, fix)


def _is_second(actuator: ActuatorJudgement, failing: Sequence[ActuatorJudgement]) -> bool:
    """Tell whether an exchange of plugs is already named: made twice, it would be undone."""
    names = [a.name for a in failing if a.finding == "swapped" and not a.trouble and a.swapped_with == actuator.name]
    mutual = actuator.finding == "swapped" and not actuator.trouble and actuator.swapped_with in names
    order = [a.name for a in failing]
    return mutual and order.index(str(actuator.swapped_with)) < order.index(actuator.name)


def _single_finding(actuator: ActuatorJudgement, *, is_rotor: bool) -> Finding:
    name = actuator.name
    if actuator.trouble == "travel":
        fix = f"Widen the travel limits of {name} in the unit, and check its centre."
        return Finding("actuator-travel", "fail", f"{name}: {actuator.reason}.", fix)
    if actuator.trouble == "range" and NO_SERVO in actuator.reason:
        fix = "Leave the servo unplugged: it would be driven into its stop, stall and burn. Look at the column's unit "
        fix += "and at the counter that reads the pulses; if the number is true, correct the unit's output first."
        return Finding("pulse-length-wrong", "fail", f"{name}: {actuator.reason}.", fix)
    if actuator.trouble == "range":
        fix = f"Set {name}'s output to the servo's own pulse length, or correct its centre_us; nothing is scaled."
        return Finding("pulse-kind-differs", "fail", f"{name}: {actuator.reason}.", fix)
    if actuator.trouble == "part":
        fix = "Make the unit's rate and angle corrections of one sense; the servo itself is not at fault."
        return Finding("actuator-part-reversed", "fail", f"{name}: {actuator.reason}.", fix)
    if actuator.trouble == "late":
        fix = "Check the output rate, the filters and the link between unit and servo: a late answer feeds the swing."
        return Finding("actuator-late", "fail", f"{name}: {actuator.reason}.", fix)
    turned_round = f"Reverse {name}'s direction in the unit, or its linkage."
    if is_rotor:
        turned_round = (
            f"Correct the sign of {name}'s output in the unit's mixing. Do not reverse the motor's rotation: "
        )
        turned_round += "it would then thrust down, or twist the airframe the wrong way."
    text, fix = {
        "reversed": (f"{name} answers the wrong way", turned_round),
        "still": (f"{name} does not answer", f"Check {name}'s plug, power and output; no correction comes from it."),
        "swapped": (
            f"{name} moves as {actuator.swapped_with} should",
            f"Exchange the plugs of {name} and {actuator.swapped_with}.",
        ),
        "wrong axis": (
            f"{name} answers about another axis than its place asks for",
            f"Check which output drives {name}, and its declared place.",
        ),
    }.get(actuator.finding, (f"{name}: {actuator.reason}", f"Check {name}."))
    code = {"wrong axis": "actuator-wrong-axis", "swapped": "actuators-swapped"}.get(
        actuator.finding, f"actuator-{actuator.finding.replace(' ', '-')}"
    )
    if actuator.probability is not None and actuator.probability < 0.99:  # noqa: PLR2004 - surer than that needs no word
        text += f" (about {actuator.probability:.0%} sure, among the ways it can be wrong)"
    return Finding(code, "fail", f"{text}.", fix)
