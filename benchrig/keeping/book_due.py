"""When an airframe has to go on the bench again, and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from benchrig.declaration.airframe import Airframe
from benchrig.declaration.airframe_file import read_airframe
from benchrig.declaration.content import declared_content
from benchrig.declaration.quotation import escape, quote
from benchrig.errors import AirframeFileError
from benchrig.keeping.book_entry import BenchEntry
from benchrig.keeping.book_history import History, is_declared_otherwise
from benchrig.keeping.declared_changes import DeclaredChange, declared_changes
from benchrig.keeping.moved import Moved, Weight
from benchrig.keeping.whereabouts import is_there
from benchrig.outcome import Outcome
from benchrig.outcome import sentence as whole
from benchrig.report.quantity import measured, number

_MUST_FOLLOW: Final = "Declaring a fault does not make it right: look at the airframe, and run a new bench"
_NOT_FOUND: Final = "Put the airframe's file back or beside the book, or run the bench again with its new one"

Code = Literal[
    "never passed",
    "last bench",
    "passed by declaration",
    "changed",
    "declared otherwise",
    "declaration not known",
    "moved",
]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a bench is due: one sentence without its full stop, and what else is good to know about it."""

    code: Code
    text: str
    more: str = ""


def due(history: History, folder: Path) -> tuple[Reason, ...]:
    """Give the reasons for which an airframe has to go on the bench again; empty where there is none.

    Parameters
    ----------
    history : History
    folder : Path
        Of the book: the airframe file is looked for from there, and read as it is now.
    """
    passed = history.last_pass
    reasons = [*_by_verdict(history)]
    if passed is None:
        return tuple(reasons)
    reasons.extend(
        Reason("changed", f"changed since the last pass: {change.what} ({change.when:%Y-%m-%d})")
        for change in history.changes
        if change.when.timestamp() > passed.when.timestamp()
    )
    reasons.extend(_by_another_declaration(history, passed))
    return (*reasons, *_by_declaration(history, passed, folder), *_by_trend(history))


def _by_verdict(history: History) -> Iterator[Reason]:
    last = history.last
    if history.last_pass is None:
        yield Reason("never passed", "no bench of it has passed", last.finding if last is not None else "")
    elif last is not None and last.verdict is not Outcome.PASS:
        yield Reason("last bench", f"the last bench came to {last.verdict.value}", last.finding)
    tied = history.tied
    if tied is not None and (last is None or last.verdict is Outcome.PASS):
        text = (
            f"a bench of the very time of the last pass came to {tied.verdict.value}, and which was last is not known"
        )
        yield Reason("last bench", text, f"Run the bench again, with the clock set. {tied.finding}")
    misdated = history.misdated
    if misdated is not None:
        text = (
            f"a bench judged after the last pass came to {misdated.verdict.value}, though its capture is dated before"
        )
        more = f"If the date {misdated.when:%Y-%m-%d} is right, run the bench again to be sure; if not, set the clock"
        yield Reason("last bench", text, f"{more}. {misdated.finding}")


def _by_another_declaration(history: History, passed: BenchEntry) -> Iterator[Reason]:
    """Tell of a pass that no bench gave: the recording did not pass until the airframe was declared otherwise."""
    before = [
        bench
        for bench in history.benches
        if bench.capture_sha256 == passed.capture_sha256
        and bench.verdict is not Outcome.PASS
        and is_declared_otherwise(bench, passed)
    ]
    if before:
        text = f"the last pass is of a recording that came to {before[-1].verdict.value} under another declaration"
        yield Reason("passed by declaration", text, f"{_MUST_FOLLOW}. Then it was found: {before[-1].finding}")


def _by_declaration(history: History, passed: BenchEntry, folder: Path) -> Iterator[Reason]:
    """Hold what the airframe file declares now against what passed."""
    newest = history.last or passed
    file = escape(Path(newest.airframe_file).name)
    try:
        airframe = _declared_now(newest, folder)
    except AirframeFileError as error:
        finding = f"{file} cannot be used, so nobody can say whether it was changed since the last pass"
        yield Reason("declaration not known", finding, str(error.problems[0]))
        return
    if airframe is None:
        finding = f"{file} is not found, so nobody can say whether it was changed since the last pass"
        yield Reason("declaration not known", finding, _NOT_FOUND)
    elif airframe.name != newest.airframe:
        finding = f"{file} declares {quote(airframe.name)} now, so nobody can say what {quote(newest.airframe)} is like"
        yield Reason("declaration not known", finding, _NOT_FOUND)
    elif airframe.source.sha256 != passed.airframe_sha256:
        yield from _otherwise(airframe, passed, file)


def _declared_now(bench: BenchEntry, folder: Path) -> Airframe | None:
    """Read the airframe's file as it is now; None where it is nowhere."""
    places = (folder / bench.airframe_file, folder / Path(bench.airframe_file).name)
    return next((read_airframe(path) for path in places if is_there(path)), None)


def _otherwise(airframe: Airframe, passed: BenchEntry, file: str) -> Iterator[Reason]:
    if passed.declaration is None:
        text = f"{file} was changed since the last pass; the result is too old to say in what"
        yield Reason("declared otherwise", text)
        return
    found = declared_changes(passed.declaration, declared_content(airframe))
    changes = [change for change in found if not (change.before is None and change.after is None)]
    if changes:
        yield Reason("declared otherwise", f"{file} declares otherwise than what passed: {_subjects(changes)}")


def _subjects(changes: Iterable[DeclaredChange]) -> str:
    """Name what is declared otherwise: tables and their keys, actuators by name."""
    keys: dict[str, list[str]] = {}
    for change in changes:
        is_actuator = change.table == "actuators" and len(change.key) > 1
        subject = f"actuator {change.key[1]}" if is_actuator else f"[{change.table}]"
        rest = change.key[2:3] if is_actuator else change.key[1:2]
        known = keys.setdefault(escape(subject), [])
        known.extend(escape(key) for key in rest if escape(key) not in known)
    return "; ".join(f"{subject} {', '.join(rest)}".rstrip() for subject, rest in keys.items())


def _by_trend(history: History) -> Iterator[Reason]:
    """Name what moved beyond its limits, all figures of one kind together."""
    first = history.first_of_build
    kinds: dict[str, list[Moved]] = {}
    for one in history.moved():
        if one.weight is Weight.MATTERS:
            kinds.setdefault(one.first.kind, []).append(one)
    for group in kinds.values():
        allowed = group[0].allowed
        if first is not None and allowed is not None:
            text = f"moved since the first pass of this build ({first.when:%Y-%m-%d}): {'; '.join(map(_moved, group))}"
            yield Reason("moved", text, f"{whole(allowed.why)} {allowed.act}.")


def _moved(one: Moved) -> str:
    ratio = one.allowed is not None and one.allowed.measure == "ratio"
    limit = f"a factor of {number(one.limit)}" if ratio else number(one.limit, one.first.unit)
    before = measured(one.first.value, one.first.uncertainty, one.first.unit)
    after = measured(one.second.value, one.second.uncertainty, one.second.unit)
    return f"{one.second.name} from {before} to {after}, more than {limit}"
