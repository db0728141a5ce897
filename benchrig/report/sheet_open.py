"""What is still open on a bench: results that are not there, made for another airframe file, not shown, or failed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from benchrig.declaration.airframe import Airframe
from benchrig.outcome import Finding, Outcome, worst
from benchrig.report.sheet_content import CHECK, Given, OpenPoint, Section, SignTable, kind_of
from benchrig.report.sheet_doubts import TROUBLE, points_of
from benchrig.report.stored_result import StoredResult

_ORDER: Final = ("fail", "not shown")


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


def outcome_of(airframe: Airframe, results: Given, points: Iterable[OpenPoint]) -> Outcome:
    """Join everything that is asked of the airframe: what is not there, or is open, is never a pass."""
    found = [Outcome(point.severity) for point in points]
    for kind in asked_of(airframe):
        fresh = results.fresh.get(kind, ())
        found.append(worst(result.outcome for result in fresh) if _is_judged(fresh) else _unjudged(fresh))
    more = [result.outcome for kind, fresh in results.fresh.items() for result in fresh if kind not in STEPS]
    return worst([*found, *more])


def _is_judged(fresh: Iterable[StoredResult]) -> bool:
    return any(result.outcome is not Outcome.NOT_APPLICABLE for result in fresh)


def _unjudged(fresh: tuple[StoredResult, ...]) -> Outcome:
    """Say what a kind comes to that has no judged result: measured with nothing to hold it against, or not there."""
    return Outcome.NOT_APPLICABLE if fresh else Outcome.NOT_SHOWN


def open_points(
    airframe: Airframe, results: Given, sections: Sequence[Section], signs: SignTable
) -> tuple[OpenPoint, ...]:
    """List what is open, failures first; whatever the sheet shows as failed or not shown is among it."""
    points = [
        *(point for kind in STEPS for point in _of_kind(results.fresh.get(kind, ()))),
        *(_stale(airframe, result) for result in results.stale),
        *_missing(airframe, results),
    ]
    points += _unspoken(points, sections, signs)
    return tuple(sorted(points, key=lambda point: _ORDER.index(point.severity)))


def advice_of(results: Given, points: Sequence[OpenPoint]) -> tuple[Finding, ...]:
    """List the advice of all results, each once, without what is open already."""
    open_ = {point.text for point in points}
    every = [f for kind in STEPS for result in results.fresh.get(kind, ()) for f in result.content.findings]
    return tuple(dict.fromkeys(f for f in every if f.severity == "advice" and f.text not in open_))


def _of_kind(fresh: tuple[StoredResult, ...]) -> Iterator[OpenPoint]:
    """List what the results of one kind leave open, with the file where there are several."""
    for result in fresh:
        for point in points_of(result):
            yield replace(point, text=f"{result.file.name}: {point.text}") if len(fresh) > 1 else point


def _unspoken(points: Sequence[OpenPoint], sections: Sequence[Section], signs: SignTable) -> Iterator[OpenPoint]:
    """Name what the sheet shows as failed or not shown where no point says so yet."""
    shown = [(row.name, row.outcome) for section in sections for row in section.rows]
    for row in signs.rows:
        shown += [(f"{row.motion}, {head}", place.outcome) for head, place in zip(signs.heads, row.places, strict=True)]
    for outcome in TROUBLE:
        named = [name for name, found in shown if found is outcome]
        if named and all(point.severity != outcome.value for point in points):
            text = f"On this sheet: {outcome.value}: {'; '.join(named)}."
            yield OpenPoint(
                "fail" if outcome is Outcome.FAIL else "not shown", text, "Look at the report of its result."
            )


def _missing(airframe: Airframe, results: Given) -> Iterator[OpenPoint]:
    """Name what was not given at all: what was made for another file is told as due."""
    there = {*results.fresh, *map(kind_of, results.stale)}
    absent = [kind for kind in asked_of(airframe) if kind not in there]
    measured = [STEPS[kind] for kind in absent if kind != CHECK]
    if CHECK in absent:
        act = "Record the moves, then run benchrig check."
        yield OpenPoint("not shown", "No check of the directions was given.", act)
    if measured:
        names, words = ", ".join(step.name for step in measured), [step.command.split()[-1] for step in measured]
        act = f"Run benchrig measure {', '.join(words)}, and give the results."
        yield OpenPoint("not shown", f"No measurement was given of {names}.", act)


def _stale(airframe: Airframe, result: StoredResult) -> OpenPoint:
    kind, other = kind_of(result), result.content.airframe_name
    same = other == airframe.name
    whose = "another state of the airframe file" if same else f"another airframe, {other}"
    text = f"{result.file.name} ({STEPS[kind].name}) was made for {whose}: re-test is due."
    again = f"Run {STEPS[kind].command} again{'' if same else ', for this airframe'}."
    if kind not in asked_of(airframe):
        again = "Leave it out: this airframe does not ask for it."
    return OpenPoint("not shown", text, again)
