"""What to ask for next, and when enough was asked."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from benchrig.declaration.airframe import Airframe
from benchrig.live.evidence import Evidence, Judged
from benchrig.outcome import Outcome
from benchrig.verdict.diagnosis import WIRING_OPEN
from benchrig.verdict.record import BenchRecord, Cell

MOST_MOTIONS: Final = 24
"""Of one session, rests aside: then it is said what is still open."""

MOST_OF_ONE: Final = 3
"""How often one motion is asked for in all: who takes one motion for another does so every time, and what is asked for
ten times would weigh like ten people."""

_MOST: Final = {"free": 2, "level": 3}

LASTING: Final = frozenset(
    {
        "samples at the end of a range",
        "gyro noise",
        "accelerometer behind the gyro",
        "turned from its mounting",
    }
)
"""Checks of the data that stay open however many motions follow: the recording must be made anew."""

_BIAS: Final = "gyro bias"
_RESTS_FOR_BIAS: Final = 2


@dataclass(frozen=True, slots=True)
class Ask:
    """A motion to ask for, and why, where it is not simply its turn."""

    motion: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Stop:
    """Nothing more is asked for, and why."""

    why: str


class Asking(Protocol):
    """Decides what comes next."""

    def next(
        self, evidence: Evidence, rounds: Sequence[str], judged: Judged | None, *, current: bool
    ) -> Ask | Stop | None:
        """Give what comes next; None where the judge must be heard first.

        Parameters
        ----------
        evidence : Evidence
        rounds : sequence of str
            The motions that were asked for, each once, however often it was repeated.
        judged : Judged or None
            The latest judgement.
        current : bool
            Whether it covers all of the evidence.
        """


@dataclass(frozen=True, slots=True)
class Fixed:
    """A list of motions, the level rest first, whatever the judge says meanwhile."""

    motions: tuple[str, ...]

    def next(
        self,
        evidence: Evidence,  # noqa: ARG002 - as Asking
        rounds: Sequence[str],
        judged: Judged | None,  # noqa: ARG002 - as Asking
        *,
        current: bool,  # noqa: ARG002 - as Asking
    ) -> Ask | Stop | None:
        """Give the next motion of the list."""
        wanted = self.motions if self.motions[:1] == ("level",) else ("level", *self.motions)
        if len(rounds) < len(wanted):
            return Ask(wanted[len(rounds)])
        return Stop(f"all {len(wanted)} motions of the list were asked for")


@dataclass(frozen=True, slots=True, eq=False)
class Guided:
    """The level rest, the motions that the verdict needs, then whatever is still open, until the verdict stands.

    Parameters
    ----------
    airframe : Airframe
    """

    airframe: Airframe

    def next(
        self,
        evidence: Evidence,
        rounds: Sequence[str],
        judged: Judged | None,
        *,
        current: bool,
    ) -> Ask | Stop | None:
        """Give what tells most."""
        if not evidence.of("level"):
            return Ask("level")
        if judged is not None and _is_open_check(judged.record, {_BIAS}):
            # without the gyro's bias no motion shows anything
            why = open_in_words(judged.record)
            return Stop(why) if len(evidence.of("level")) >= _RESTS_FOR_BIAS else Ask("level", why)
        made = len(evidence.entries) - len(evidence.of("level"))
        undone = [name for name in self.airframe.required_motions if name not in rounds]
        if undone and made < MOST_MOTIONS:
            best = None if judged is None else judged.record.next_motion
            return Ask(best if best in undone else undone[0])
        if not current:
            return None
        if judged is None:
            return Stop("too little was recorded to be judged")
        return _beyond(judged, evidence, made)


def _beyond(judged: Judged, evidence: Evidence, made: int) -> Ask | Stop:
    """Decide once every required motion has been made, or tried as often as is asked for."""
    record = judged.record
    if record.verdict is Outcome.PASS:
        return Stop("all that is required is shown")
    unnamed = any(finding.code == WIRING_OPEN for finding in record.findings)
    if record.verdict is Outcome.FAIL and not unnamed:
        return Stop("what was found stands: no more motions would make it pass")
    left = [] if _is_open_check(record, LASTING) else _open_motions(record, evidence)
    if made >= MOST_MOTIONS or not left:
        limit = f"after {made} motions " if made >= MOST_MOTIONS else ""
        return Stop(f"{limit}this stays open: {open_in_words(record)}")
    return Ask(left[0], f"still open: {_why(judged, left[0])}")


def _is_open_check(record: BenchRecord, names: Collection[str]) -> bool:
    return any(health.check in names and health.outcome is Outcome.NOT_SHOWN for health in record.health)


def _open_motions(record: BenchRecord, evidence: Evidence) -> list[str]:
    """List the motions that could still show something, the most telling first."""
    cells = [cell for cell in record.matrix if _is_open(cell)]
    of_sensors = [cell for cell in cells if cell.check in {"gyro", "accelerometer"}]
    names = [record.next_motion] if record.next_motion is not None and of_sensors else []
    names += _most_first(cell.motion for cell in of_sensors)
    if of_sensors:
        names.append("free")
    # what answered a motion cannot be told before it is known what the airframe did
    names += _most_first(cell.motion for cell in cells if cell not in of_sensors)
    return [name for name in dict.fromkeys(names) if len(evidence.of(name)) < _MOST.get(name, MOST_OF_ONE)]


def _most_first(names: Iterable[str]) -> list[str]:
    counts: dict[str, int] = {}
    for name in names:
        counts[name] = counts.get(name, 0) + 1
    return sorted(counts, key=lambda name: -counts[name])


def _why(judged: Judged, motion: str) -> str:
    """Say what a motion is asked for again for; not how it was read, before that is clear: it would lead the person."""
    cell = next((c for c in judged.record.matrix if c.motion == motion and _is_open(c)), None)
    if cell is None:
        return "which way the axes of the unit point"
    return f"{_named(cell.check)}, {cell.reason}" if judged.is_clear else f"{_named(cell.check)} in {motion}"


def _is_open(cell: Cell) -> bool:
    return cell.required and cell.outcome is Outcome.NOT_SHOWN


def _named(check: str) -> str:
    return check.removeprefix("actuator:")


def open_in_words(record: BenchRecord) -> str:
    """Say in one sentence what is not shown, and what to do."""
    finding = next((f for f in record.findings if f.severity == "not shown" or f.code == WIRING_OPEN), None)
    if finding is not None:
        return f"{finding.text} {finding.fix}"
    cell = next((c for c in record.matrix if _is_open(c)), None)
    if cell is not None:
        return f"{_named(cell.check)} in {cell.motion}: {cell.reason}"
    health = next((h for h in record.health if h.outcome is Outcome.NOT_SHOWN), None)
    return "nothing was judged" if health is None else f"{health.check}: {health.reason}"
