"""What two stored checks judge differently: the verdict, cells, wirings, actuators, data and findings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal, TypeVar

from benchrig.outcome import Outcome
from benchrig.report.grid import differs, heading
from benchrig.report.quantity import minus
from benchrig.report.stored_check import StoredActuator, StoredCheck, StoredWiring
from benchrig.verdict.record import Cell, Health

About = Literal["verdict", "cell", "wiring", "actuator", "data", "finding"]
Judged = TypeVar("Judged", Cell, StoredWiring, StoredActuator, Health)
ARITHMETIC: Final = "replay_difference"
"""Among the software of a result: by how much the compiled filter and its library differed."""
Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Side:
    """What a judgement came to, and what else was said of it; no outcome where it has none of its own."""

    outcome: Outcome | None
    told: str = ""


@dataclass(frozen=True, slots=True)
class JudgedChange:
    """One judgement that came out otherwise.

    Attributes
    ----------
    about : {"verdict", "cell", "wiring", "actuator", "data", "finding"}
    subject : str
        Of what: ``sensing``, ``gyro``, an actuator's name, a check of the data, a finding's code.
    before, after : Side or None
        None where it is not there.
    motion : str
        Of a cell; empty else.
    counted : bool
        Whether a verdict rests on it, at either time.
    """

    about: About
    subject: str
    before: Side | None
    after: Side | None
    motion: str = ""
    counted: bool = True


def judged_changes(before: StoredCheck, after: StoredCheck) -> tuple[JudgedChange, ...]:
    """List what came out otherwise, the verdict first.

    Numbers that moved while the judgement stayed are no change of a judgement.

    Returns
    -------
    tuple of JudgedChange
        Empty where every judgement is the same.
    """
    return (
        *_verdicts(before, after),
        *_wirings(before.wirings, after.wirings),
        *_cells(before.matrix, after.matrix),
        *_actuators(before.actuators, after.actuators),
        *_data(before.health, after.health),
        *_findings(before, after),
    )


def changed_software(before: Mapping[str, str], after: Mapping[str, str]) -> dict[str, tuple[str | None, str | None]]:
    """Give the versions that differ, before and after; the arithmetic of this machine is no version."""
    names = [name for name in dict.fromkeys((*before, *after)) if name != ARITHMETIC]
    return {name: (before.get(name), after.get(name)) for name in names if before.get(name) != after.get(name)}


def _verdicts(before: StoredCheck, after: StoredCheck) -> Iterator[JudgedChange]:
    for name in ("verdict", "sensing", "correction"):
        was, is_ = Side(getattr(before, name)), Side(getattr(after, name))
        if was != is_:
            yield JudgedChange("verdict", name, was, is_)


def _wirings(before: Mapping[str, StoredWiring], after: Mapping[str, StoredWiring]) -> Iterator[JudgedChange]:
    for sensor, one, two in _paired(before, after):
        was, is_ = (None if wiring is None else Side(wiring.outcome, wiring.found) for wiring in (one, two))
        if was != is_:
            yield JudgedChange("wiring", sensor, was, is_)


def _cells(before: Iterable[Cell], after: Iterable[Cell]) -> Iterator[JudgedChange]:
    for (motion, check, _), one, two in _paired(_numbered(before), _numbered(after)):
        was, is_ = (None if cell is None else Side(cell.outcome, _saw(cell)) for cell in (one, two))
        if was != is_:
            counted = any(cell is not None and cell.counts for cell in (one, two))
            yield JudgedChange("cell", heading(check), was, is_, motion, counted)


def _numbered(cells: Iterable[Cell]) -> dict[tuple[str, str, int], Cell]:
    """Name each cell by motion, check and, where a motion was repeated, by which time it was."""
    found: dict[tuple[str, str, int], Cell] = {}
    times: Counter[tuple[str, str]] = Counter()
    for cell in cells:
        key = (cell.motion, cell.check)
        found[*key, times[key]] = cell
        times[key] += 1
    return found


def _saw(cell: Cell) -> str:
    """Say what a cell saw, what it should have seen where that differs, and what it rests on."""
    told = [] if cell.required else ["not required"]
    if cell.observed is not None:
        wanted = f", not {minus(cell.expected or '')}" if differs(cell) else ""
        told.insert(0, f"{minus(cell.observed)}{wanted}{' by eye' if cell.evidence == 'seen' else ''}")
    return ", ".join(told)


def _actuators(before: Iterable[StoredActuator], after: Iterable[StoredActuator]) -> Iterator[JudgedChange]:
    for name, one, two in _paired({a.name: a for a in before}, {a.name: a for a in after}):
        was, is_ = (None if actuator is None else Side(actuator.outcome, _did(actuator)) for actuator in (one, two))
        if was != is_:
            yield JudgedChange("actuator", name, was, is_)


def _did(actuator: StoredActuator) -> str:
    other = f" with {actuator.swapped_with}" if actuator.swapped_with else ""
    trouble = f", {actuator.trouble}" if actuator.trouble else ""
    return f"{actuator.finding}{other}{trouble}"


def _data(before: Iterable[Health], after: Iterable[Health]) -> Iterator[JudgedChange]:
    for check, one, two in _paired({h.check: h for h in before}, {h.check: h for h in after}):
        was, is_ = (None if health is None else Side(health.outcome, health.reason) for health in (one, two))
        if (was and was.outcome) is not (is_ and is_.outcome):
            yield JudgedChange("data", check, was, is_)


def _findings(before: StoredCheck, after: StoredCheck) -> Iterator[JudgedChange]:
    was = Counter((finding.code, finding.severity) for finding in before.findings)
    is_ = Counter((finding.code, finding.severity) for finding in after.findings)
    for code, severity in dict.fromkeys((*was, *is_)):
        sides = [_counted(severity, count[code, severity]) for count in (was, is_)]
        if sides[0] != sides[1]:
            yield JudgedChange("finding", code, sides[0], sides[1], counted=severity != "advice")


def _counted(severity: str, count: int) -> Side | None:
    times = f", {count} times" if count > 1 else ""
    return Side(None, f"{severity}{times}") if count else None


def _paired(
    before: Mapping[Key, Judged], after: Mapping[Key, Judged]
) -> Iterator[tuple[Key, Judged | None, Judged | None]]:
    """Pair what has the same name; what only one has, with None."""
    for key in dict.fromkeys((*before, *after)):
        yield key, before.get(key), after.get(key)
