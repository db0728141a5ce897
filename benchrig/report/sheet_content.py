"""What a bench sheet holds, before it is text, page or print: rows, sign places, and what is still open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from benchrig.measure.measurement import Measurement
from benchrig.outcome import Finding, Outcome
from benchrig.report.marks import MARKS
from benchrig.report.stored_check import StoredCheck
from benchrig.report.stored_result import StoredResult

CHECK: Final = "check"
_RANK: Final = (Outcome.FAIL, Outcome.NOT_SHOWN, Outcome.NOT_APPLICABLE, Outcome.PASS)
"""The worse first; one that judged nothing comes before a pass."""


@dataclass(frozen=True, slots=True)
class Row:
    """One thing that was declared, measured, or both.

    Attributes
    ----------
    name, declared, measured : str
        Empty where there is nothing to say.
    outcome : Outcome or None
        None where no result speaks of it: a person looks and ticks a box on paper.
    """

    name: str
    declared: str
    measured: str
    outcome: Outcome | None


@dataclass(frozen=True, slots=True)
class Section:
    """Rows that belong together."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class SignPlace:
    """What one sensor or actuator must do in one motion, and whether it did.

    Attributes
    ----------
    words : str
        An own axis of the unit with its sign, or the actuator's own word; empty where nothing is asked.
    outcome : Outcome or None
        None where no result speaks of it.
    """

    words: str
    outcome: Outcome | None

    @property
    def sign(self) -> str:
        """The mark beside the words, with its word where it must not be overlooked; empty where nothing was judged."""
        if self.outcome is None or self.outcome is Outcome.NOT_APPLICABLE:
            return ""
        mark = MARKS[self.outcome]
        return f"{mark.sign} {mark.short}" if self.outcome is Outcome.FAIL else mark.sign


@dataclass(frozen=True, slots=True)
class SignRow:
    """One motion, the body rate that it means, and what everything must do in it."""

    motion: str
    rate: str
    places: tuple[SignPlace, ...]


@dataclass(frozen=True, slots=True)
class SignTable:
    """The sign places: motions down, sensors and actuators across."""

    heads: tuple[str, ...]
    rows: tuple[SignRow, ...]


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """Something that is still open, and what to do about it."""

    severity: Literal["fail", "not shown"]
    text: str
    fix: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that the sheet says, in the order in which a careful person works.

    Attributes
    ----------
    outcome : Outcome
        PASS only if everything that the bench asks of this airframe is there and passed, and nothing is open.
    digest : str
        SHA-256 of the airframe file.
    sources : tuple of (str, str)
        Each result given: its file, and what it is.
    """

    name: str
    kind: str
    file: str
    digest: str
    outcome: Outcome
    sentence: str
    cautions: tuple[str, ...]
    open_points: tuple[OpenPoint, ...]
    advice: tuple[Finding, ...]
    sections: tuple[Section, ...]
    signs: SignTable
    sources: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Given:
    """The results that were given, parted by whether they were made for the airframe file as it is.

    Attributes
    ----------
    fresh : mapping of str to tuple of StoredResult
        By kind: ``check``, or the kind of a measurement.
    stale : tuple of StoredResult
        Made for another state of the file, or for another file.
    """

    fresh: Mapping[str, tuple[StoredResult, ...]]
    stale: tuple[StoredResult, ...]

    @property
    def checks(self) -> tuple[StoredCheck, ...]:
        """The stored checks that are fresh."""
        found = (result.content for result in self.fresh.get(CHECK, ()))
        return tuple(content for content in found if isinstance(content, StoredCheck))

    @property
    def sources(self) -> tuple[str, ...]:
        """The files of the fresh checks, as they stand behind what a check says; empty where there is but one."""
        files = [f" ({result.file.name})" for result in self.fresh.get(CHECK, ())]
        return tuple(files) if len(files) > 1 else ("",) * len(files)

    def measurement(self, kind: str) -> Measurement | None:
        """Give the fresh measurement of a kind, the one that came to the worst of several."""
        result = self.worst(kind)
        return result.content if result is not None and isinstance(result.content, Measurement) else None

    def worst(self, kind: str) -> StoredResult | None:
        """Give the fresh result of a kind, the one that came to the worst of several; the first of those alike."""
        return min(self.fresh.get(kind, ()), key=lambda result: _RANK.index(result.outcome), default=None)


def kind_of(result: StoredResult) -> str:
    """Give the kind of a result: ``check``, or that of its measurement."""
    return CHECK if isinstance(result.content, StoredCheck) else result.content.kind


def given(results: tuple[StoredResult, ...], digest: str) -> Given:
    """Part results by the digest of the airframe file that they were made for."""
    fresh: dict[str, tuple[StoredResult, ...]] = {}
    for result in results:
        if result.content.airframe.sha256 == digest:
            kind = kind_of(result)
            fresh[kind] = (*fresh.get(kind, ()), result)
    return Given(fresh, tuple(result for result in results if result.content.airframe.sha256 != digest))


def blocks_of(table: SignTable, most: int) -> Iterator[SignTable]:
    """Part a table into tables of at most `most` columns, as even in number as they come."""
    count = -(-len(table.heads) // most)
    size = -(-len(table.heads) // count)
    for start in range(0, len(table.heads), size):
        rows = tuple(SignRow(row.motion, row.rate, row.places[start : start + size]) for row in table.rows)
        yield SignTable(table.heads[start : start + size], rows)
