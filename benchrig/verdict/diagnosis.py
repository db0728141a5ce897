"""From judgements to causes and remedies, in the builder's words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, axis_words
from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.outcome import Finding, Outcome, gravest_first
from benchrig.verdict.actuation import Pattern
from benchrig.verdict.actuator_findings import actuator_findings
from benchrig.verdict.bench import Bench
from benchrig.verdict.done import contested, what_was_done
from benchrig.verdict.faults_of_data import data_findings, perhaps_turned_findings
from benchrig.verdict.limits import SURE, WRONG
from benchrig.verdict.operator_findings import again, motions_of, operator_findings
from benchrig.verdict.record import ActuatorJudgement, Cell, WiringFound
from benchrig.verdict.wirings import weigh_prompts

WIRING_OPEN: Final = "wiring-open"
MOUNTING_DIFFERS: Final = "mounting-differs"
UNFIT: Final = (
    "these motions do not fit the declaration: either the unit sits otherwise than declared, or a motion was not the "
    "one asked for"
)
_AXES: Final = "xyz"
_SETTING: Final = (
    "Its own mounting setting differs from how it sits, or its attitude columns are named or signed wrongly."
)


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
        *operator_findings(bench, cells),
        *_unit_findings(bench, cells, gyro),
    ]
    found = [
        *sensed,
        *perhaps_turned_findings(bench),
        *(() if any(f.severity != "advice" for f in sensed) else _open_findings(cells)),
        *actuator_findings(actuators, pattern, sensing_failed=Outcome.FAIL in {gyro.outcome, accelerometer.outcome}),
    ]
    return gravest_first(found)


def _wiring_findings(bench: Bench, gyro: WiringFound, accelerometer: WiringFound) -> Iterator[Finding]:
    declared = bench.airframe.sensor.body_from_sensor
    gyro_off = gyro.outcome is Outcome.FAIL and gyro.found is not None
    accelerometer_off = accelerometer.outcome is Outcome.FAIL and accelerometer.found is not None
    unsure = [w for w in (gyro, accelerometer) if w.outcome is Outcome.FAIL and (w.probability or 0.0) < SURE]
    if unsure:
        yield _unsure(bench, gyro, accelerometer)
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


def _unsure(bench: Bench, gyro: WiringFound, accelerometer: WiringFound) -> Finding:
    """Say that the declaration is excluded while what holds in its place is not yet known."""
    failed = [name for name, w in (("gyro", gyro), ("accelerometer", accelerometer)) if w.outcome is Outcome.FAIL]
    if _excluded_without_operator(bench, failed):
        verb, subject = ("are", "they are") if len(failed) > 1 else ("is", "it is")
        text = (
            f"the {' and the '.join(failed)} {verb} surely not wired as declared, however the motions were made; how "
        )
        text += f"{subject} wired these motions do not tell."
    else:
        text = f"{UNFIT}."
    if missing := [name for name in bench.airframe.required_motions if not what_was_done(bench, name).usable]:
        fix = "Record all six motions" if set(missing) <= set(REQUIRED_TURNS) else f"Record {', '.join(missing)}"
        return Finding(WIRING_OPEN, "fail", text, f"{fix}, with a level rest first: then it can be named.")
    names = motions_of(contested(bench)) or REQUIRED_TURNS
    return Finding(WIRING_OPEN, "fail", text, f"{again(names)}: then it can be named.")


def _excluded_without_operator(bench: Bench, sensors: Sequence[str]) -> bool:
    """Tell whether gravity and the two sensors alone exclude the declared wiring, whatever motions were made."""
    left = bench.wirings.log_probability - weigh_prompts(bench.motions, bench.wirings.body_from_sensor)[:, None]
    shares = np.exp(left - left.max())
    declared = {"gyro": shares[0].sum(), "accelerometer": shares[:, 0].sum()}
    return all(declared[sensor] < WRONG * shares.sum() for sensor in sensors)


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
        return Finding(MOUNTING_DIFFERS, "fail", text, "Turn the unit, or declare the rotation that holds.")
    wrong = [axis for axis in _AXES if words[axis] != said[axis]]
    parts = "; ".join(f"its {axis} arrow points {words[axis]}, the file says {said[axis]}" for axis in wrong)
    new = ", ".join(f'{axis} = "{words[axis]}"' for axis in _AXES)
    fix = f"Turn the unit so that its arrows point as declared, or write axes = {{ {new} }} in the airframe file."
    if _turned_half(found, declared):
        fix += (
            " The same evidence would come from an operator who took the tail for the nose in every tilt: mark the "
            "nose, and do the motions again before you change anything."
        )
    return Finding(MOUNTING_DIFFERS, "fail", f"the unit sits otherwise than declared: {parts}.", fix)


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


def _unit_findings(bench: Bench, cells: Sequence[Cell], gyro: WiringFound) -> Iterator[Finding]:
    wrong = [c for c in cells if c.check == "unit attitude" and c.outcome is Outcome.FAIL]
    if not wrong:
        return
    motions = ", ".join(c.motion for c in wrong)
    text, fix = f"the unit's own attitude goes the wrong way in: {motions}.", _SETTING
    if gyro.found is not None and _turned_half(gyro.found, bench.airframe.sensor.body_from_sensor):
        text = f"the unit's own attitude and the axes found contradict each other in: {motions}."
        fix = "If the tail was taken for the nose, nothing is wrong with it: mark the nose, and do the motions again "
        fix += f"before you change anything. If it was not: {_SETTING[0].lower()}{_SETTING[1:]}"
    yield Finding("unit-attitude-differs", "fail", text, fix)


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
