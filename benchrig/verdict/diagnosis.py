"""From judgements to causes and remedies, in the builder's words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, axis_words
from benchrig.geometry.turns import TURNS
from benchrig.outcome import Finding, Outcome, gravest_first
from benchrig.verdict.actuation import Pattern
from benchrig.verdict.actuator_findings import actuator_findings
from benchrig.verdict.bench import Bench
from benchrig.verdict.done import Done, what_was_done
from benchrig.verdict.faults_of_data import data_findings
from benchrig.verdict.record import ActuatorJudgement, Cell, WiringFound

_AXES: Final = "xyz"
_SURE: Final = 0.99  # a wiring less likely than this is not named as the cause


def diagnose(  # noqa: PLR0917 - the judgements of one bench, in the order of the record
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
    sensed = [
        *data_findings(bench),
        *_wiring_findings(bench, gyro, accelerometer),
        *_operator_findings(bench),
        *_unit_findings(cells),
    ]
    found = [
        *sensed,
        *(() if any(f.severity != "advice" for f in sensed) else _open_findings(cells)),
        *actuator_findings(actuators, pattern, sensing_failed=Outcome.FAIL in {gyro.outcome, accelerometer.outcome}),
    ]
    return gravest_first(found)


def _wiring_findings(bench: Bench, gyro: WiringFound, accelerometer: WiringFound) -> Iterator[Finding]:
    declared = bench.airframe.sensor.body_from_sensor
    gyro_off = gyro.outcome is Outcome.FAIL and gyro.found is not None
    accelerometer_off = accelerometer.outcome is Outcome.FAIL and accelerometer.found is not None
    unsure = [w for w in (gyro, accelerometer) if w.outcome is Outcome.FAIL and (w.probability or 0.0) < _SURE]
    if unsure:
        yield _unsure(gyro, accelerometer)
        return
    if gyro_off and accelerometer_off and np.array_equal(_known(gyro.found), _known(accelerometer.found)):
        yield _both_wrong(_known(gyro.found), declared)
        return
    if gyro_off:
        yield _one_wrong("gyro", _known(gyro.found), declared)
    if accelerometer_off and np.array_equal(_known(accelerometer.found), -declared):
        yield _reads_the_other(bench)
    elif accelerometer_off:
        yield _one_wrong("accelerometer", _known(accelerometer.found), declared)


def _unsure(gyro: WiringFound, accelerometer: WiringFound) -> Finding:
    """Say that the declaration is excluded while what holds in its place is not yet known."""
    both = gyro.outcome is Outcome.FAIL and accelerometer.outcome is Outcome.FAIL
    which = (
        "gyro and accelerometer are"
        if both
        else f"the {'gyro' if gyro.outcome is Outcome.FAIL else 'accelerometer'} is"
    )
    text = f"{which} surely not wired as declared, but how they are wired these motions do not tell."
    return Finding(
        "wiring-open", "fail", text, "Record all six motions, with a level rest first: then it can be named."
    )


def _known(found: Matrix | None) -> Matrix:
    """Give a wiring that its outcome says is there."""
    return np.zeros((3, 3)) if found is None else found


def _both_wrong(found: Matrix, declared: Matrix) -> Finding:
    if np.linalg.det(found) < 0:
        relative = declared.T @ found
        return Finding(
            "left-handed-sensor",
            "fail",
            f"gyro and accelerometer form a left-handed set: {_channel_words(relative)}.",
            "No mounting can mend this. Find where the stream or the unit turns a sign or swaps two channels, and undo "
            "it for both sensors alike.",
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
            " The same evidence would come from an operator who took the tail for the nose in every tilt: mark the "
            "nose, and do the motions again before you change anything."
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
        f'Write accelerometer_reads = "{other}" if the maker\'s manual agrees; '
        "else find where all three signs are turned.",
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
    if bench.matching.misfit:
        fix = "Do each motion of the routine once: out, held for half a second, and back; or give [[motion]] times."
        yield Finding("routine-does-not-fit", "not shown", f"{bench.matching.misfit}.", fix)
        return
    unfit: dict[str, list[str]] = {}
    for name in dict.fromkeys((*bench.airframe.required_motions, *(m.name for m in bench.motions))):
        if name not in TURNS:
            continue
        done = what_was_done(bench, name)
        if done.other and bench.stillness.bias is not None:
            yield _other_motion(done)
        elif not done.good:
            unfit.setdefault(done.reason, []).append(name)
    for reason, names in unfit.items():
        yield Finding("motion-missing", "not shown", f"{', '.join(names)}: {reason}.", _again(names))


def _other_motion(done: Done) -> Finding:
    fix = f"Do {done.name} again, with the nose marked."
    if done.good:
        text = f"one of the prompts {done.name} was another motion."
        return Finding("operator-other-motion", "advice", text, fix)
    return Finding("operator-other-motion", "not shown", f"{done.reason}.", fix)


def _again(names: Sequence[str]) -> str:
    which = names[0] if len(names) == 1 else "these motions"
    return f"Record {which} again: 30° to 45°, held still for half a second before and after."


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


def _open_findings(cells: Sequence[Cell]) -> Iterator[Finding]:
    """Say why the sensors are not shown where no other finding does."""
    undecided: dict[str, list[Cell]] = {}
    for cell in cells:
        if cell.required and cell.outcome is Outcome.NOT_SHOWN:
            undecided.setdefault(cell.check, []).append(cell)
    # the estimates follow the sensors: they are named only where the sensors themselves are decided
    first = [check for check in undecided if check in {"gyro", "accelerometer"}] or list(undecided)
    for check in first:
        motions = ", ".join(c.motion for c in undecided[check])
        fix = "Do these motions again, each about one axis, with the nose marked, and a free wave at the end."
        if check == "unit attitude":
            fix = "Check that its columns are recorded all the time, and their unit; or leave them out of the manifest."
        yield Finding("sensing-not-shown", "not shown", f"{check}, {motions}: {undecided[check][0].reason}.", fix)
