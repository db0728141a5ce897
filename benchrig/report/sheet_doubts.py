"""What one result leaves open: its findings, and every judgement in it that failed or is not shown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.measure.measurement import Measurement, Quantity
from benchrig.outcome import Finding, Outcome
from benchrig.report.grid import ACTUATOR
from benchrig.report.measurement_wording import declared_of, value_of
from benchrig.report.sheet_content import OpenPoint
from benchrig.report.stored_check import StoredCheck
from benchrig.report.stored_result import StoredResult
from benchrig.verdict.record import Cell

TROUBLE: Final = (Outcome.FAIL, Outcome.NOT_SHOWN)
_AGAIN: Final = "Measure it again, as its page in the documentation says."
_COMPASS: Final = "compass"
_MOST: Final = 4
"""Cells of a check that are named; a count stands for the others."""


def points_of(result: StoredResult) -> Iterator[OpenPoint]:
    """List what a result leaves open, so that nothing that it does not pass is passed over."""
    content = result.content
    for finding in content.findings:
        if finding.severity != "advice":
            yield OpenPoint(_severity(Outcome(finding.severity)), finding.text, finding.fix)
    if isinstance(content, StoredCheck):
        yield from _of_check(content)
    else:
        yield from _of_measurement(content)


def is_untold(quantity: Quantity) -> bool:
    """Whether something was declared that could not be measured, and nothing else says so."""
    return quantity.outcome is Outcome.NOT_APPLICABLE and quantity.declared is not None and quantity.value is None


def _severity(outcome: Outcome) -> Literal["fail", "not shown"]:
    return "fail" if outcome is Outcome.FAIL else "not shown"


def _told(findings: Sequence[Finding], outcome: Outcome) -> list[str]:
    return [finding.text for finding in findings if finding.severity == outcome.value]


def _of_check(check: StoredCheck) -> Iterator[OpenPoint]:
    for outcome in TROUBLE:
        told = _told(check.findings, outcome)
        yield from _of_compass(check, outcome, told)
        cells = [f"{c.motion}, {c.check}" for c in check.matrix if c.outcome is outcome and _is_asked(c) and not told]
        named = [*cells[:_MOST], *([f"{len(cells) - _MOST} more cells"] if len(cells) > _MOST else [])]
        named += [f"axes of the {name}" for name, wiring in check.wirings.items()
                  if wiring.outcome is outcome and name != "magnetometer" and not told]  # fmt: skip
        named += [one.name for one in check.actuators
                  if one.outcome is outcome and not any(one.name in text for text in told)]  # fmt: skip
        unnamed = outcome in {check.verdict, check.sensing, check.correction} and not told
        if named or unnamed:
            act = f"Make this motion next: {check.next_motion}." if check.next_motion else "Look at the check's report."
            which = f": {'; '.join(named)}" if named else ""
            yield OpenPoint(_severity(outcome), f"The directions: {outcome.value}{which}.", act)


def _is_asked(cell: Cell) -> bool:
    """Whether a cell stands among the signs of the sheet, or the check's verdict rests on it."""
    return cell.counts or (cell.motion in REQUIRED_TURNS and cell.check.startswith(("gyro", "accelerometer", ACTUATOR)))


def _of_compass(check: StoredCheck, outcome: Outcome, told: Sequence[str]) -> Iterator[OpenPoint]:
    """Tell of a compass that is no part of the verdict, so that no finding of it need stand as more than advice."""
    wiring = check.wirings.get("magnetometer")
    if wiring is None or wiring.outcome is not outcome or any(_COMPASS in text for text in told):
        return
    advised = next((f for f in check.findings if f.severity == "advice" and f.code.startswith(_COMPASS)), None)
    text = f"The directions: {outcome.value}: axes of the compass."
    act = "Look at the check's report."
    yield OpenPoint(_severity(outcome), advised.text if advised else text, advised.fix if advised else act)


def _of_measurement(measurement: Measurement) -> Iterator[OpenPoint]:
    title, judged = measurement.title, False
    for outcome in TROUBLE:
        quantities = [q for q in measurement.quantities if q.outcome is outcome]
        judged = judged or bool(quantities)
        if quantities and not _told(measurement.findings, outcome):
            listed = "; ".join(map(_held_against, quantities))
            act = "Mend it, or correct the airframe file; then measure again." if outcome is Outcome.FAIL else _AGAIN
            yield OpenPoint(_severity(outcome), f"{title}: {listed}.", act)
    missing = [q for q in measurement.quantities if is_untold(q)]
    if missing:
        reasons = list(dict.fromkeys(q.reason.rstrip(".") for q in missing if q.reason))
        why = f" ({'; '.join(reasons)})" if reasons else ""
        listed = "; ".join(q.name for q in missing)
        yield OpenPoint("not shown", f"{title}: declared, but not measured: {listed}{why}.", _AGAIN)
    told = any(finding.severity != "advice" for finding in measurement.findings)
    if measurement.outcome is Outcome.NOT_SHOWN and not (told or missing or judged):
        yield OpenPoint("not shown", f"{title}: nothing could be measured.", _AGAIN)


def _held_against(quantity: Quantity) -> str:
    declared = declared_of(quantity)
    return f"{quantity.name} {value_of(quantity)}{f', declared {declared}' if declared else ''}"
