"""The record as a JUnit report, for the machines that run many benches. A doubt is never a pass."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from benchrig.outcome import Outcome
from benchrig.report.grid import heading, part_of
from benchrig.report.lettering import clean
from benchrig.report.quantity import number
from benchrig.report.wording import SENSOR_ALONE, difference, verdict_sentence
from benchrig.verdict.record import BenchRecord, Cell, Health


@dataclass(frozen=True, slots=True)
class _Case:
    group: str
    name: str
    outcome: Outcome
    required: bool
    message: str

    @property
    def kind(self) -> str:
        """Say what the machine is told: passed, failure or skipped."""
        if self.outcome is Outcome.PASS:
            return "passed"
        doubtful = self.outcome is Outcome.NOT_SHOWN and self.required
        return "failure" if self.outcome is Outcome.FAIL or doubtful else "skipped"


def report_junit(record: BenchRecord) -> str:
    """Write the record as JUnit XML.

    One suite a part (sensing, correction, health), one case a cell or check, and the part's own outcome as the case
    ``verdict``, so that a part without evidence is red and not empty. A required cell that is not shown is a failure
    of type ``not shown``; one that is not required, or not applicable, is skipped.

    Returns
    -------
    str
        With an XML declaration of UTF-8; letters that XML 1.0 cannot hold are spelled out as their code.

    References
    ----------
    XML 1.0, fifth edition, production 2 (Char), for what a document cannot hold (from memory).
    """
    suites = [
        ("sensing", [_verdict("sensing", record.sensing, record), *_cells(record, "sensing")]),
        ("correction", [_verdict("correction", record.correction, record), *_cells(record, "correction")]),
        ("health", [_health(check) for check in record.health]),
    ]
    moment = record.recording.recorded
    stamp = f" timestamp={_attribute(moment.isoformat(timespec='seconds'))}" if moment else ""
    name, total = _attribute(f"benchrig: {record.airframe.name}"), _counts(c for _, cases in suites for c in cases)
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', f"<testsuites name={name}{total}>"]
    for part, cases in suites:
        lines.append(f"  <testsuite name={_attribute(part)}{_counts(cases)}{stamp}>")
        lines += [line for case in cases for line in _lines(case)]
        lines.append("  </testsuite>")
    return "\n".join([*lines, "</testsuites>", ""])


def _verdict(part: str, outcome: Outcome, record: BenchRecord) -> _Case:
    alone = part == "correction" and not record.airframe.actuators
    message = SENSOR_ALONE if alone else verdict_sentence(record)
    return _Case(part, "verdict", outcome, required=True, message=message)


def _cells(record: BenchRecord, part: str) -> list[_Case]:
    return [
        _Case(
            f"{part}.{heading(cell.check)}",
            f"{cell.motion}, {heading(cell.check)}",
            cell.outcome,
            cell.required,
            _told(cell),
        )
        for cell in record.matrix
        if part_of(cell) == part
    ]


def _told(cell: Cell) -> str:
    seen = f"{difference(cell)}; " if cell.outcome is Outcome.FAIL and cell.observed and cell.expected else ""
    return f"{seen}{cell.reason}"


def _health(check: Health) -> _Case:
    limit = f"limit {number(check.limit, check.unit)}; " if check.limit is not None else ""
    message = f"{number(check.value, check.unit)}; {limit}{check.reason}"
    # the verdict does not rest on these lines: where the data spoil a cell, the cell itself is red
    return _Case("health", check.check, check.outcome, required=False, message=message)


def _lines(case: _Case) -> list[str]:
    head = f'    <testcase classname={_attribute(f"benchrig.{case.group}")} name={_attribute(case.name)} time="0"'
    if case.kind == "passed":
        return [f"{head}/>"]
    message = _attribute(case.message)
    if case.kind == "skipped":
        return [f"{head}>", f"      <skipped message={message}/>", "    </testcase>"]
    failure = f"      <failure type={_attribute(case.outcome.value)} message={message}>{_text(case.message)}</failure>"
    return [f"{head}>", failure, "    </testcase>"]


def _counts(cases: Iterable[_Case]) -> str:
    kinds = [case.kind for case in cases]
    failures, skipped = kinds.count("failure"), kinds.count("skipped")
    return f' tests="{len(kinds)}" failures="{failures}" errors="0" skipped="{skipped}" time="0"'


def _text(text: str) -> str:
    return escape(clean(text), quote=False)


def _attribute(text: str) -> str:
    return f'"{escape(clean(text))}"'
