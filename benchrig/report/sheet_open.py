"""What is still open on a bench: results that are not there, made for another airframe file, not shown, or failed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, Literal

from benchrig.declaration.airframe import Airframe
from benchrig.measure.measurement import Measurement, Quantity
from benchrig.outcome import Finding, Outcome, worst
from benchrig.report.measurement_wording import declared_of, value_of
from benchrig.report.sheet_content import CHECK, Given, OpenPoint, kind_of
from benchrig.report.stored_result import StoredCheck, StoredResult

_ORDER: Final = ("fail", "not shown")
_TROUBLE: Final = {Outcome.FAIL, Outcome.NOT_SHOWN}


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that the bench asks of an airframe."""

    name: str
    command: str


STEPS: Final = {
    "cg": Step("the centre of gravity", "benchrig measure cg"),
    "lever": Step("the place of the unit", "benchrig measure lever"),
    "sensor": Step("the unit's own errors", "benchrig measure sensor"),
    "magnetometer": Step("the compass", "benchrig measure magnetometer"),
    "actuators": Step("the actuators", "benchrig measure actuators"),
    "link": Step("a lost link", "benchrig measure link"),
    "rotor": Step("the rotor", "benchrig measure rotor"),
    CHECK: Step("the directions", "benchrig check"),
}
"""In the order in which a careful person works."""


def asked_of(airframe: Airframe) -> tuple[str, ...]:
    """Give the kinds of results that this airframe has to show."""
    skipped = set()
    if airframe.magnetometer is None:
        skipped.add("magnetometer")
    if not airframe.actuators:
        skipped |= {"actuators", "link"}
    if airframe.rotor is None or airframe.rotor.motor_rate is None:
        skipped.add("rotor")
    return tuple(kind for kind in STEPS if kind not in skipped)


def outcome_of(airframe: Airframe, results: Given) -> Outcome:
    """Join everything that is asked of the airframe: what is not there, or was made for another file, is not shown."""
    found = []
    for kind in asked_of(airframe):
        fresh = results.fresh.get(kind, ())
        found.append(worst(result.outcome for result in fresh) if _is_judged(fresh) else _unjudged(fresh))
    more = [result.outcome for kind, fresh in results.fresh.items() for result in fresh if kind not in STEPS]
    untold = any(_untold(result) for fresh in results.fresh.values() for result in fresh)
    doubts = [Outcome.NOT_SHOWN] if results.stale or untold else []
    return worst([*found, *more, *doubts])


def _is_judged(fresh: Iterable[StoredResult]) -> bool:
    return any(result.outcome is not Outcome.NOT_APPLICABLE for result in fresh)


def _unjudged(fresh: tuple[StoredResult, ...]) -> Outcome:
    """Say what a kind comes to that has no judged result: measured with nothing to hold it against, or not there."""
    return Outcome.NOT_APPLICABLE if fresh else Outcome.NOT_SHOWN


def open_points(airframe: Airframe, results: Given) -> tuple[OpenPoint, ...]:
    """List what is open, failures first."""
    points = [
        *(point for kind in STEPS for result in results.fresh.get(kind, ()) for point in _of_result(result)),
        *(_stale(airframe, result) for result in results.stale),
        *_missing(airframe, results),
    ]
    return tuple(sorted(points, key=lambda point: _ORDER.index(point.severity)))


def _missing(airframe: Airframe, results: Given) -> Iterator[OpenPoint]:
    absent = [STEPS[kind] for kind in asked_of(airframe) if kind not in results.fresh]
    measured = [step for step in absent if step is not STEPS[CHECK]]
    if STEPS[CHECK] in absent:
        act = "Record the moves, then run benchrig check."
        yield OpenPoint("not shown", "No check of the directions was given.", act)
    if measured:
        names, words = ", ".join(step.name for step in measured), [step.command.split()[-1] for step in measured]
        act = f"Run benchrig measure {', '.join(words)}, and give the results."
        yield OpenPoint("not shown", f"No measurement was given of {names}.", act)


def _stale(airframe: Airframe, result: StoredResult) -> OpenPoint:
    step = STEPS[kind_of(result)]
    other = result.content.airframe_name
    whose = "another state of the airframe file" if other == airframe.name else f"another airframe, {other}"
    text = f"{result.file.name} ({step.name}) was made for {whose}: re-test is due."
    return OpenPoint("not shown", text, f"Run {step.command} again.")


def _of_result(result: StoredResult) -> Iterator[OpenPoint]:
    content = result.content
    told: set[str] = set()
    for finding in content.findings:
        if finding.severity != "advice":
            told.add(finding.severity)
            yield _from_finding(finding)
    if isinstance(content, StoredCheck):
        yield from _of_check(content, told)
    else:
        yield from _of_measurement(content, told)


def _from_finding(finding: Finding) -> OpenPoint:
    severity: Literal["fail", "not shown"] = "fail" if finding.severity == "fail" else "not shown"
    return OpenPoint(severity, finding.text, finding.fix)


def _of_check(check: StoredCheck, told: set[str]) -> Iterator[OpenPoint]:
    """Tell what no finding told, so that no cell is passed over."""
    for outcome in _TROUBLE & {check.verdict, check.sensing, check.correction}:
        cells = [f"{cell.motion}, {cell.check}" for cell in check.matrix if cell.outcome is outcome and cell.counts]
        if outcome.value not in told:
            which = f": {'; '.join(cells[:4])}{'; …' if len(cells) > 4 else ''}" if cells else ""  # noqa: PLR2004 - a few
            act = f"Make this motion next: {check.next_motion}." if check.next_motion else "Look at the check's report."
            yield OpenPoint(_severity(outcome), f"The directions: {outcome.value}{which}.", act)


def _of_measurement(measurement: Measurement, told: set[str]) -> Iterator[OpenPoint]:
    for outcome in (Outcome.FAIL, Outcome.NOT_SHOWN):
        judged = [q for q in measurement.quantities if q.outcome is outcome]
        if judged and outcome.value not in told:
            listed = "; ".join(map(_held_against, judged))
            act = "Mend it, or correct the airframe file; then measure again." if outcome is Outcome.FAIL else _AGAIN
            yield OpenPoint(_severity(outcome), f"{measurement.title}: {listed}.", act)
    missing = [q for q in measurement.quantities if _is_untold(q)]
    if missing:
        listed = ", ".join(q.name for q in missing)
        reason = next((q.reason for q in missing if q.reason), "").rstrip(".")
        why = f" ({reason})" if reason else ""
        yield OpenPoint("not shown", f"{measurement.title}: declared, but not measured: {listed}{why}.", _AGAIN)
    if measurement.outcome is Outcome.NOT_SHOWN and not told and not missing and not _judged(measurement):
        yield OpenPoint("not shown", f"{measurement.title}: nothing could be measured.", _AGAIN)


_AGAIN: Final = "Measure it again, as its page in the documentation says."


def _judged(measurement: Measurement) -> bool:
    return any(quantity.outcome in _TROUBLE for quantity in measurement.quantities)


def _severity(outcome: Outcome) -> Literal["fail", "not shown"]:
    return "fail" if outcome is Outcome.FAIL else "not shown"


def _held_against(quantity: Quantity) -> str:
    declared = declared_of(quantity)
    return f"{quantity.name} {value_of(quantity)}{f', declared {declared}' if declared else ''}"


def _is_untold(quantity: Quantity) -> bool:
    """Whether something was declared that could not be measured, and nothing else says so."""
    return quantity.outcome is Outcome.NOT_APPLICABLE and quantity.declared is not None and quantity.value is None


def _untold(result: StoredResult) -> bool:
    content = result.content
    return isinstance(content, Measurement) and any(map(_is_untold, content.quantities))
