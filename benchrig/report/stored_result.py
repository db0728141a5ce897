"""Stored results read back: what `check` and `measure` wrote as JSON, or a clear word why it cannot be used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from benchrig.declaration.quotation import escape, kind_of, listed, quote
from benchrig.declaration.toml_content import decode, read_content
from benchrig.errors import Problem, ResultError
from benchrig.measure.measurement import Measurement, Quantity
from benchrig.outcome import Outcome, worst
from benchrig.report import measurement_result, result
from benchrig.report.seal import SEAL, seal_of
from benchrig.report.stored_check import StoredCheck, check_of, evidence_of, findings_of, software_of
from benchrig.report.stored_json import MAKE_ANEW, loaded, table_of
from benchrig.report.stored_tables import CheckTable, MeasurementTable

WHAT: Final = "result"


@dataclass(frozen=True, slots=True)
class StoredResult:
    """A result file and what it holds; a measurement comes back without its figures and its airframe lines.

    Attributes
    ----------
    seal : str
        SHA-256 of what it says, however the file is laid out.
    data : mapping
        All that stands in the file, as it stands there.
    """

    file: Path
    content: StoredCheck | Measurement
    seal: str
    data: Mapping[str, Any] = field(default_factory=dict, repr=False)

    @property
    def outcome(self) -> Outcome:
        """What the result came to."""
        return self.content.verdict if isinstance(self.content, StoredCheck) else self.content.outcome


def read_result(path: Path) -> StoredResult:
    """Read a result that `check --json` or `measure --json` wrote.

    Parameters
    ----------
    path : Path

    Raises
    ------
    ResultError
        If there is no such file, it is not JSON, of another schema, without the seal that belongs to it, a value is
        missing or of the wrong kind, or what it claims does not follow from what it holds.
    """
    name = escape(path.name)
    data = loaded(decode(read_content(path, ResultError, WHAT), path, ResultError, WHAT), name)
    schema = data.get("schema") if isinstance(data, dict) else None
    if schema not in (result.SCHEMA, measurement_result.SCHEMA):
        raise ResultError(_foreign(data, schema, name))
    seal = _seal(data, name)
    if schema == result.SCHEMA:
        return StoredResult(path, check_in(data, name), seal, data)
    table = table_of(data, MeasurementTable, name)
    measurement = _measurement(table)
    _refuse_wrong_claim(Outcome(table.outcome), measurement.outcome, name)
    return StoredResult(path, measurement, seal, data)


def check_in(data: Mapping[str, Any], name: str) -> StoredCheck:
    """Give what the content of a result says of a check.

    Parameters
    ----------
    data : mapping
        As `report_result` gives it, or a file holds it.
    name : str
        For errors.

    Raises
    ------
    ResultError
        If a value is missing or of the wrong kind, or the verdict does not follow from the rest.
    """
    check = check_of(table_of(data, CheckTable, name))
    _refuse_wrong_claim(check.verdict, _verdict_of(check), name)
    return check


def bench_in(stored: StoredResult) -> StoredCheck:
    """Give what a result says of a bench.

    Raises
    ------
    ResultError
        If it is that of a measurement.
    """
    if isinstance(stored.content, StoredCheck):
        return stored.content
    finding, act = f"is a measurement ({escape(stored.content.kind)})", "name what check --json or record --json wrote"
    raise ResultError(Problem(escape(stored.file.name), finding, "the result of a check", "", act))


def read_results(paths: Iterable[Path]) -> tuple[StoredResult, ...]:
    """Read results, each of which must be given once.

    Raises
    ------
    ResultError
        As `read_result` does; or if two files hold the same result.
    """
    found: dict[str, StoredResult] = {}
    for path in paths:
        stored = read_result(path)
        if stored.seal in found:
            finding = f"holds the same result as {quote(found[stored.seal].file.name)}"
            raise ResultError(Problem(escape(path.name), finding, "each result once", act="leave one of them out"))
        found[stored.seal] = stored
    return tuple(found.values())


def _seal(data: Mapping[str, Any], name: str) -> str:
    """Give the seal of a result that was not changed after it was written."""
    if SEAL not in data:
        finding, cause = "has no seal", "it was written by another version of benchrig"
        raise ResultError(Problem(name, finding, cause=cause, act=MAKE_ANEW))
    seal = seal_of(data)
    if data[SEAL] != seal:
        cause = "it was edited by hand, or damaged"
        raise ResultError(Problem(name, "was changed after it was written", cause=cause, act=MAKE_ANEW))
    return seal


def _foreign(data: object, schema: object, name: str) -> Problem:
    wanted = f"an object with schema {listed([result.SCHEMA, measurement_result.SCHEMA])}"
    if schema is None:
        finding = "has no schema" if isinstance(data, dict) else f"is {kind_of(data)}"
        cause, act = "another file was named", "name a file that check --json or measure --json wrote"
        return Problem(name, finding, wanted, cause, act)
    return Problem(name, f"schema = {quote(schema)}", wanted, "it was made by another version of benchrig", MAKE_ANEW)


def _refuse_wrong_claim(claimed: Outcome, follows: Outcome, name: str) -> None:
    """Refuse a result whose outcome is not that of its parts: what nobody measured must not pass."""
    if claimed is not follows:
        finding = f"it says {quote(claimed.value)}, but what it holds comes to {quote(follows.value)}"
        raise ResultError(Problem(name, finding, cause="the file was changed by hand", act=MAKE_ANEW))


def _verdict_of(check: StoredCheck) -> Outcome:
    """Give the verdict that follows from the parts, and from the cells where these say worse."""
    counted = [cell.outcome for cell in check.matrix if cell.counts]
    parts = [check.sensing, check.correction]
    if worst(parts) is Outcome.PASS and worst(counted) is not Outcome.PASS:
        return worst(counted)
    return worst(parts)


def _measurement(table: MeasurementTable) -> Measurement:
    return Measurement(
        kind=table.kind,
        title=table.title,
        airframe_name=table.airframe.name,
        airframe=evidence_of(table.airframe),
        evidence=tuple(map(evidence_of, table.evidence)),
        quantities=tuple(Quantity(**{**dict(q), "outcome": Outcome(q.outcome)}) for q in table.quantities),
        findings=findings_of(table.findings),
        figures=(),
        entries=(),
        unknown=tuple(table.unknown),
        method=tuple(table.method),
        cautions=tuple(table.cautions),
        software=software_of(table.software),
    )
