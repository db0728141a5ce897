"""The sentences of a report: one wording for the terminal and for the page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Matrix, Vector, axis_words, opposite, word_along
from benchrig.geometry.turns import AXIS_NAMES
from benchrig.outcome import Outcome
from benchrig.report.grid import differs, heading, is_by_eye
from benchrig.report.lettering import tight
from benchrig.report.quantity import measured, minus, number, odds
from benchrig.verdict.limits import SURE
from benchrig.verdict.record import BenchRecord, Cell, WiringFound

_MOST_NAMED: Final = 4
"""Wirings that are listed one by one; of more it is said how many there are."""

SENSOR_ALONE: Final = "No actuator is declared: this verdict is about the sensor alone."

_VERDICTS: Final = {
    ("sensor and actuators", Outcome.PASS): "The unit sits, senses and corrects as declared.",
    ("sensor", Outcome.PASS): "The unit sits and senses as declared.",
    ("sensor and actuators", Outcome.FAIL): "Something is not as declared. Mend it and run the bench again.",
    ("sensor", Outcome.FAIL): "The unit does not sit or sense as declared. Mend it and run the bench again.",
}


def verdict_sentence(record: BenchRecord) -> str:
    """Say in one sentence what the verdict means."""
    undecided = "The evidence does not decide. This is not a pass: run the bench again."
    return _VERDICTS.get((record.scope, record.verdict), undecided)


def parts(record: BenchRecord) -> list[tuple[str, Outcome, str]]:
    """List the parts of the verdict with their outcome and what each asks."""
    correction = "Does every servo or motor answer the corrective way?" if record.airframe.actuators else "Not asked."
    return [
        ("sensing", record.sensing, "Does every axis sit as declared, with the right sign and size?"),
        ("correction", record.correction, correction),
    ]


def axes_in_words(matrix: Matrix) -> str:
    """Say where a sensor's axes point.

    Examples
    --------
    >>> import numpy as np
    >>> axes_in_words(np.diag([-1.0, -1.0, 1.0]))
    'x aft, y left, z down'
    """
    words = axis_words(matrix)
    if words is not None:
        return ", ".join(f"{axis} {word}" for axis, word in words.items())
    rows = "; ".join(" ".join(minus(f"{part:.3f}") for part in row) for row in matrix.tolist())
    return f"turned freely, body from sensor [{rows}]"


def place_in_words(place: Vector) -> str:
    """Say where something sits, in mm from the centre of gravity.

    Parameters
    ----------
    place : ndarray, shape (3,), m
        Forward, right, down.

    Examples
    --------
    >>> import numpy as np
    >>> place_in_words(np.array([-0.18, 0.0, -0.025]))
    '180 mm aft, 25 mm up of the CG'
    """
    said = []
    for word, axis in (("forward", 0), ("right", 1), ("down", 2)):
        distance = float(place[axis]) * 1000
        if abs(distance) >= 0.05:  # noqa: PLR2004 - mm: closer than anybody measures on an airframe
            way = word if distance > 0 else opposite(word)
            said.append(f"{number(abs(distance), 'mm', 4)} {way}")
    return f"{', '.join(said)} of the CG" if said else "at the CG"


def wiring_sentence(sensor: str, wiring: WiringFound, declared: Matrix) -> str:
    """Say how one sensor was found to be wired, against what was declared."""
    if wiring.found is None:
        return f"The {sensor}'s axes cannot be told from these motions."
    words = axes_in_words(wiring.found)
    if wiring.outcome is Outcome.PASS:
        return f"The {sensor} is wired as declared: {words}."
    possible = _possible(wiring)
    if wiring.outcome is Outcome.FAIL and not is_named(wiring):
        said = axes_in_words(declared)
        return f"By these motions the {sensor} is not wired as declared ({said}); it could be {possible}."
    if wiring.outcome is Outcome.FAIL:
        mirrored = " (left-handed: an axis sign is wrong)" if is_mirrored(wiring.found) else ""
        return f"The {sensor} is wired {words}{mirrored}; declared is {axes_in_words(declared)}."
    if (wiring.probability or 0.0) <= 0.5:  # noqa: PLR2004 - no likelier than all others together
        return f"How the {sensor} is wired is open: it could be {possible}."
    others = _listed(wiring.also_possible)
    also = f"; it could also be {others}" if others else ""
    return f"The {sensor} is most likely wired {words}{also}."


def _possible(wiring: WiringFound) -> str:
    return _listed([*([] if wiring.found is None else [wiring.found]), *wiring.also_possible])


def _listed(wirings_: Sequence[Matrix]) -> str:
    """List wirings; of more than a few it is only said how many there are."""
    if len(wirings_) > _MOST_NAMED:
        return f"wired in any of {len(wirings_)} ways"
    return "; or ".join(map(axes_in_words, wirings_))


def is_named(wiring: WiringFound) -> bool:
    """Whether a wiring that was found is more than a guess among several."""
    return wiring.probability is None or wiring.probability >= SURE


def is_mirrored(matrix: Matrix) -> bool:
    """Whether a wiring is left-handed, which no mounting can be."""
    a, b, c = matrix.tolist()
    triple = (
        a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0])
    )
    return bool(triple < 0)


def wirings(record: BenchRecord) -> list[tuple[str, WiringFound, Matrix]]:
    """List each sensor with the wiring found and the one declared."""
    declared = record.airframe.sensor.body_from_sensor
    listed = [("gyro", record.gyro, declared), ("accelerometer", record.accelerometer, declared)]
    if record.magnetometer is not None and record.airframe.magnetometer is not None:
        listed.append(("magnetometer", record.magnetometer, record.airframe.magnetometer.body_from_sensor))
    return listed


def misalignment_sentence(record: BenchRecord) -> str | None:
    """Say by which small angles the unit is turned from its mounting, where that could be told."""
    small = record.misalignment
    if small is None:
        return None
    angles = [
        tight(f"{name} {measured(getattr(small, name), getattr(small, f'{name}_uncertainty'), 'deg')}")
        for name in AXIS_NAMES
    ]
    return f"Turned from its mounting by {', '.join(angles)}."


def lever_arm_sentence(record: BenchRecord) -> str | None:
    """Say where the sensor was measured to sit, where it was; or why that is in doubt."""
    arm = record.lever_arm
    told = [
        f"{_along(axis, value, spread)} (declared {_along(axis, float(arm.declared_mm[axis]), None)})"
        for axis, (value, spread) in enumerate(zip(arm.measured_mm, arm.uncertainty_mm, strict=True))
        if value is not None
    ]
    if told:
        judged = "on the declared side; finer than the tolerance it is not known" if arm.is_side_alone else arm.outcome
        return f"The unit's place, measured from the CG: {', '.join(told)}: {judged}."
    return f"The unit's place is not shown: {arm.reason}." if arm.outcome is Outcome.NOT_SHOWN else None


def _along(axis: int, value: float, spread: float | None) -> str:
    word = word_along(axis, -1 if value < 0 else 1)
    size = number(abs(value), "mm") if spread is None else measured(abs(value), spread, "mm")
    return tight(f"{size} {word}")


def certainty(record: BenchRecord) -> list[str]:
    """Say in words how sure the verdict is."""
    if record.verdict is Outcome.PASS and record.wrong_pass_bound is not None:
        return [f"A wrong pass is less likely than {odds(record.wrong_pass_bound)}."]
    if record.verdict is Outcome.PASS:
        return ["No bound is stated for a wrong pass."]
    said = [
        f"That the {sensor} is wired otherwise than found is less likely than {odds(1 - wiring.probability)}."
        for sensor, wiring, _ in wirings(record)
        if wiring.outcome is Outcome.FAIL and wiring.probability is not None and is_named(wiring)
    ]
    said += [
        f"How the {sensor} is wired is open, so no bound is given for it."
        for sensor, wiring, _ in wirings(record)
        if wiring.outcome is Outcome.FAIL and not is_named(wiring)
    ]
    if record.verdict is Outcome.NOT_SHOWN:
        open_ = sum(1 for cell in record.matrix if cell.required and cell.outcome is Outcome.NOT_SHOWN)
        cells = "1 required cell is" if open_ == 1 else f"{open_} required cells are"
        said.append(f"{cells} not shown, so no bound is given.")
    return said


def by_eye(record: BenchRecord) -> str | None:
    """Say how much weight the cells judged by eye carry; None if there are none."""
    seen = [cell for cell in record.matrix if is_by_eye(cell)]
    if not seen:
        return None
    one = len(seen) == 1
    count = "1 cell rests" if one else f"{len(seen)} cells rest"
    bounds = [c.wrong_pass_bound for c in seen if c.wrong_pass_bound is not None and c.outcome is Outcome.PASS]
    weight = f"; {'it' if one else 'each'} may be wrong as often as {odds(max(bounds))}" if bounds else ""
    return f"{count} on what one person saw, with no pulse recorded{weight}."


def next_motion(record: BenchRecord) -> str | None:
    """Say which motion would tell most; None where nothing is left to tell."""
    if record.next_motion is None:
        return None
    return f"The motion that would tell most: {record.next_motion}."


def symbol(text: str) -> str:
    """Write an axis symbol with a real minus; an actuator's own words stay as they are."""
    return minus(text)


def difference(cell: Cell) -> str:
    """Say what was seen for what was expected."""
    return f"{symbol(cell.observed or '')}, not {symbol(cell.expected or '')}"


def differences(record: BenchRecord) -> list[tuple[str, list[Cell]]]:
    """Collect, a check at a time, the cells that saw something else than they should have."""
    listed: dict[str, list[Cell]] = {}
    for cell in record.matrix:
        if differs(cell):
            listed.setdefault(heading(cell.check), []).append(cell)
    return list(listed.items())


def time_as_recorded(moment: datetime | None) -> str:
    """Write a moment in the zone it was recorded in.

    Examples
    --------
    >>> from datetime import UTC
    >>> time_as_recorded(datetime(2026, 11, 25, 10, 0, tzinfo=UTC))
    '2026-11-25 10:00:00 UTC'
    """
    if moment is None:
        return "time not recorded"
    offset = f"{moment:%z}"
    zone = f"UTC{minus(offset[:3])}:{offset[3:5]}" if offset else "(zone not recorded)"
    if moment.utcoffset() == timedelta(0):
        zone = "UTC"
    return f"{moment:%Y-%m-%d %H:%M:%S} {zone}"


def capture_sentence(record: BenchRecord) -> str:
    """Say how long and how fast the capture is."""
    time = record.recording.time
    if len(time) < 2:  # noqa: PLR2004 - one sample has no rate
        return f"{len(time)} samples"
    span = number(float(time[-1] - time[0]), "s")
    return f"{len(time)} samples, {span} at {number(record.recording.rate, 'Hz')}"


def airframe_sentence(airframe: Airframe, name: str) -> str:
    """Say what the airframe is, under the name given, and how many actuators it declares."""
    count = len(airframe.actuators)
    actuators = {0: "no actuator", 1: "1 actuator"}.get(count, f"{count} actuators")
    return f"{name}, {airframe.kind}, {actuators}"
