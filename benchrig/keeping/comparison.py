"""Two benches of one airframe held against each other: what moved, and whether it matters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from benchrig.declaration.quotation import escape, quote
from benchrig.errors import Problem, ResultError
from benchrig.keeping.allowances import declared_tolerance
from benchrig.keeping.declared_changes import DeclaredChange, declared_changes
from benchrig.keeping.figures import Kind, figures_of
from benchrig.keeping.judged_changes import JudgedChange, Side, changed_software, judged_changes
from benchrig.keeping.moved import EXACT, Moved, Weight, moved_figures
from benchrig.outcome import Outcome
from benchrig.report.stored_check import StoredCheck
from benchrig.report.stored_result import StoredResult, bench_in, read_results

_CALIBRATED: Final[tuple[Kind, ...]] = ("gyro bias", "gyro scale", "gyro noise", "accelerometer size", "lean")
_BY_MOUNTING: Final[tuple[Kind, ...]] = ("lean", "heading")


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two benches and what differs from the first to the second.

    Attributes
    ----------
    first, second : StoredResult
    moved : tuple of Moved
        Every figure.
    judged : tuple of (JudgedChange, Weight)
        Every judgement that came out otherwise.
    declared : tuple of DeclaredChange or None
        None where the airframe files differ and a result is too old to say in what.
    software : mapping of str to (str or None, str or None)
        Versions that differ.
    is_backwards : bool
        Whether the second was recorded before the first.
    """

    first: StoredResult
    second: StoredResult
    moved: tuple[Moved, ...]
    judged: tuple[tuple[JudgedChange, Weight], ...]
    declared: tuple[DeclaredChange, ...] | None
    software: Mapping[str, tuple[str | None, str | None]]
    is_backwards: bool

    @property
    def outcome(self) -> Outcome:
        """FAIL if anything that moved matters or the second bench failed; NOT_SHOWN where something is open.

        No comparison excuses a bench that did not pass by itself.
        """
        if self.has(Weight.MATTERS) or self.second.outcome is Outcome.FAIL:
            return Outcome.FAIL
        if self.has(Weight.OPEN) or self.second.outcome is not Outcome.PASS:
            return Outcome.NOT_SHOWN
        return Outcome.PASS

    def has(self, weight: Weight) -> bool:
        """Whether any figure or judgement changed with this weight."""
        return any(moved.weight is weight for moved in self.moved) or any(w is weight for _, w in self.judged)


def compare(first: Path, second: Path) -> Comparison:
    """Compare two stored results of `check` or `record`.

    Raises
    ------
    ResultError
        If one cannot be used or is a measurement, both are the same or judge the same recording, which may have been
        exported or played again, or they are of two airframes.
    """
    one, two = read_results([first, second])
    before, after = bench_in(one), bench_in(two)
    _refuse_others(one, two)
    declared = _declared(before, after)
    tolerance = declared_tolerance(after.declaration)
    return Comparison(
        first=one,
        second=two,
        moved=moved_figures(
            figures_of(before), figures_of(after), tolerance_mm=tolerance, barred=_barred(before, after, declared)
        ),
        judged=tuple((change, _weight(change)) for change in judged_changes(before, after)),
        declared=declared,
        software=changed_software(before.software, after.software),
        is_backwards=_is_backwards(before.recorded, after.recorded),
    )


def _refuse_others(one: StoredResult, two: StoredResult) -> None:
    before, after = bench_in(one), bench_in(two)
    place = escape(two.file.name)
    if before.airframe_name != after.airframe_name:
        finding = f"is of the airframe {quote(after.airframe_name)}"
        expected = f"one of {quote(before.airframe_name)}, as {escape(one.file.name)} is"
        cause, act = "another result was named", "name two benches of one airframe"
        raise ResultError(Problem(place, finding, expected, cause, act))
    if before.capture.sha256 == after.capture.sha256:
        finding = f"judges the same recording as {escape(one.file.name)}"
        act = "name two benches; benchrig rejudge shows what another declaration or version makes of one"
        raise ResultError(Problem(place, finding, "a recording of its own", "", act))
    if _is_one_recording(before, after):
        finding = f"tells every figure and every cell to the last digit as {escape(one.file.name)} does"
        cause = "one recording that was exported, copied or played again: no two benches agree so far"
        raise ResultError(Problem(place, finding, "a recording of its own", cause, "name two benches"))


def _is_one_recording(before: StoredCheck, after: StoredCheck) -> bool:
    """Say whether everything measured is the same to the last digit, which two recordings never give."""
    told = figures_of(before)
    is_told = any(figure.value is not None and figure.kind not in EXACT for figure in told)
    return is_told and before.matrix == after.matrix and told == figures_of(after)


def _declared(before: StoredCheck, after: StoredCheck) -> tuple[DeclaredChange, ...] | None:
    if before.declaration is not None and after.declaration is not None:
        return declared_changes(before.declaration, after.declaration)
    return () if before.airframe.sha256 == after.airframe.sha256 else None


def _barred(before: StoredCheck, after: StoredCheck, declared: Iterable[DeclaredChange] | None) -> Mapping[Kind, str]:
    """Name the kinds of figures that are not like for like under two declarations."""
    barred: dict[Kind, str] = {}
    if any(change.table == "calibration" for change in declared or ()):
        barred |= dict.fromkeys(_CALIBRATED, "the unit's calibration is declared otherwise")
    turned = any(change.key[:2] == ("sensor", "axes") for change in declared or ())
    if turned or before.declared_axes != after.declared_axes:
        barred |= dict.fromkeys(_BY_MOUNTING, "the mounting is declared otherwise")
    return barred


def _is_backwards(first: str | None, second: str | None) -> bool:
    try:
        return datetime.fromisoformat(first or "") > datetime.fromisoformat(second or "")
    except (ValueError, TypeError):  # a time that nobody wrote, or one with a zone beside one without
        return False


def _weight(change: JudgedChange) -> Weight:
    """Say what a judgement that came out otherwise means."""
    if change.about == "finding":
        return _of_finding(change.after)
    outcome = None if change.after is None else change.after.outcome
    if outcome is Outcome.FAIL:
        return Weight.MATTERS
    if outcome is Outcome.PASS:
        return Weight.INSIDE
    return Weight.OPEN if change.counted else Weight.CONTEXT


def _of_finding(after: Side | None) -> Weight:
    if after is None:
        return Weight.INSIDE
    weights = {"fail": Weight.MATTERS, "not shown": Weight.OPEN}
    return weights.get(after.told.partition(",")[0], Weight.CONTEXT)
