"""An old bench judged again: by this version, under the same declaration or a corrected one, and what came of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isclose
from pathlib import Path
from typing import Any, Final

from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, ResultError
from benchrig.job import judge
from benchrig.keeping.declared_changes import DeclaredChange, declared_changes
from benchrig.keeping.judged_changes import ARITHMETIC, JudgedChange, changed_software, judged_changes
from benchrig.keeping.whereabouts import find_airframe, find_capture
from benchrig.outcome import Outcome
from benchrig.report.result import report_result
from benchrig.report.seal import SEAL
from benchrig.report.stored_check import StoredCheck
from benchrig.report.stored_result import StoredResult, check_in, read_result
from benchrig.verdict.record import BenchRecord

_ASIDE: Final = frozenset(
    {
        ("airframe", "file"),
        ("airframe", "sha256"),
        ("capture", "file"),
        ("capture", "stream"),
        ("software", ARITHMETIC),
        (SEAL,),
    }
)
"""No part of what was judged: where files lie, the rest of an airframe file beside what it declares, the arithmetic of
this machine, and the seal over all of them."""

LAST_DIGITS: Final = 1e-4
"""Relative: numbers that differ by less, with every judgement the same, differ by the machine's arithmetic."""


@dataclass(frozen=True, slots=True)
class Rejudgement:
    """A stored result, the record of judging its capture again, and what differs.

    Attributes
    ----------
    stored : StoredResult
    before, after : StoredCheck
    record : BenchRecord
    same_declaration : bool
        Whether the airframe file is, byte for byte, the one of the result.
    declared : tuple of DeclaredChange or None
        What is declared otherwise; None where the files differ and the result is too old to say in what.
    software : mapping of str to (str or None, str or None)
        Versions that differ, before and after.
    judged : tuple of JudgedChange
    values : mapping of str to (before, after)
        Everything in the result that differs, by its path; where files lie does not count.
    """

    stored: StoredResult
    before: StoredCheck
    after: StoredCheck
    record: BenchRecord
    same_declaration: bool
    declared: tuple[DeclaredChange, ...] | None
    software: Mapping[str, tuple[str | None, str | None]]
    judged: tuple[JudgedChange, ...]
    values: Mapping[str, tuple[Any, Any]]

    @property
    def nothing_changed(self) -> bool:
        """Whether everything that the result says came out again to the last digit."""
        return not self.values

    @property
    def only_last_digits(self) -> bool:
        """Whether the values that differ are numbers that differ by the machine's arithmetic alone."""
        return bool(self.values) and all(_close(*pair) for pair in self.values.values())

    @property
    def passes_by_declaration(self) -> bool:
        """Whether what did not pass now does, under another declaration: the airframe must follow it."""
        turned = self.before.verdict is not Outcome.PASS and self.after.verdict is Outcome.PASS
        return turned and bool(self.declared is None or self.declared)


def rejudge(result: Path, *, airframe: Path | None = None, capture: Path | None = None) -> Rejudgement:
    """Judge the capture of a stored result again.

    Parameters
    ----------
    result : Path
        What `check --json` or `record --json` wrote.
    airframe : Path, optional
        The corrected declaration; else the file that the result names, as it is now.
    capture : Path, optional
        The manifest, where it lies elsewhere than the result says.

    Returns
    -------
    Rejudgement

    Raises
    ------
    ResultError
        If the result cannot be used, or its capture is not there or no longer what was judged.
    AirframeFileError, CaptureError
        If one of them cannot be used.
    """
    stored = read_result(result)
    before = stored.content
    if not isinstance(before, StoredCheck):
        finding, act = f"is a measurement ({escape(before.kind)})", f"run benchrig measure {escape(before.kind)} again"
        raise ResultError(Problem(escape(result.name), finding, "the result of a check", "", act))
    declared = find_airframe(result, before.airframe, airframe)
    recording = find_capture(result, before, capture, declared)
    record = judge(declared, recording)
    data = report_result(record)
    after = check_in(data, escape(result.name))
    return Rejudgement(
        stored=stored,
        before=before,
        after=after,
        record=record,
        same_declaration=declared.source.sha256 == before.airframe.sha256,
        declared=_declared(before, after),
        software=changed_software(before.software, after.software),
        judged=judged_changes(before, after),
        values=dict(_differences((), stored.data, data)),
    )


def _declared(before: StoredCheck, after: StoredCheck) -> tuple[DeclaredChange, ...] | None:
    if before.airframe.sha256 == after.airframe.sha256:
        return ()
    if before.declaration is None or after.declaration is None:
        return None
    return declared_changes(before.declaration, after.declaration)


def _differences(path: tuple[str, ...], before: Any, after: Any) -> Iterator[tuple[str, tuple[Any, Any]]]:  # noqa: ANN401 - JSON values
    """List the values that differ; what only a later version writes is not looked at."""
    if path in _ASIDE:
        return
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        for name, value in before.items():
            yield from _differences((*path, name), value, after.get(name))
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for place, (one, two) in enumerate(zip(before, after, strict=True)):
            yield from _differences((*path, str(place)), one, two)
    elif before != after:
        yield ".".join(path), (before, after)


def _close(before: object, after: object) -> bool:
    if isinstance(before, bool) or isinstance(after, bool):
        return False
    if not isinstance(before, int | float) or not isinstance(after, int | float):
        return False
    return isclose(before, after, rel_tol=LAST_DIGITS)
