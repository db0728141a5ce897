"""One airframe's benches in the order of time, and how its figures moved since it was built as it is now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from benchrig.keeping.allowances import declared_tolerance
from benchrig.keeping.book_entry import BenchEntry, ChangeEntry, Entry
from benchrig.keeping.figures import Figure
from benchrig.keeping.moved import Moved, moved_figures
from benchrig.outcome import Outcome

OF_THE_BUILD: Final = ("sensor", "magnetometer", "rotor", "actuators", "calibration")
"""The declared tables that say how the airframe is built: where one differs, figures are not like for like."""


@dataclass(frozen=True, slots=True)
class Series:
    """One figure over all benches of an airframe.

    Attributes
    ----------
    points : tuple of (BenchEntry, Figure)
        In the order of time; benches that could not tell it are left out.
    first : Figure or None
        Of the first bench of the present build that passed: what the newest is held against.
    moved : Moved or None
        The newest bench against `first`; None where either is missing, or they are one bench.
    """

    name: str
    unit: str
    points: tuple[tuple[BenchEntry, Figure], ...]
    first: Figure | None
    moved: Moved | None


@dataclass(frozen=True, slots=True)
class History:
    """Everything that the book says of one airframe; the newest is last.

    Attributes
    ----------
    benches : tuple of BenchEntry
        One a result: a capture that was judged again stands there twice.
    changes : tuple of ChangeEntry
    """

    airframe: str
    benches: tuple[BenchEntry, ...]
    changes: tuple[ChangeEntry, ...]

    @property
    def last(self) -> BenchEntry | None:
        """The newest bench."""
        return self.benches[-1] if self.benches else None

    @property
    def last_pass(self) -> BenchEntry | None:
        """The newest bench that passed."""
        return next((bench for bench in reversed(self.benches) if bench.verdict is Outcome.PASS), None)

    @property
    def recordings(self) -> tuple[BenchEntry, ...]:
        """One bench a recording: the last time that it was judged."""
        latest = {bench.capture_sha256: bench.seal for bench in self.benches}
        return tuple(bench for bench in self.benches if latest[bench.capture_sha256] == bench.seal)

    @property
    def tied(self) -> BenchEntry | None:
        """A bench that did not pass and bears the very time of the last pass: which came last, nobody can say."""
        passed = self.last_pass
        if passed is None:
            return None
        others = [bench for bench in self.recordings if bench.verdict is not Outcome.PASS]
        return next((bench for bench in others if bench.when == passed.when), None)

    @property
    def misdated(self) -> BenchEntry | None:
        """A bench that did not pass and was first judged after the last pass, though its capture is dated before it.

        A logger's clock can be wrong by years: no date may hide what was found since.
        """
        passed = self.last_pass
        if passed is None:
            return None
        first: dict[str, datetime] = {}
        for bench in self.benches:
            known = first.get(bench.capture_sha256, bench.judged)
            first[bench.capture_sha256] = min(known, bench.judged)
        later = [
            bench
            for bench in self.recordings
            if bench.verdict is not Outcome.PASS
            and bench.when < passed.when
            and first[bench.capture_sha256] > first[passed.capture_sha256]
        ]
        return later[-1] if later else None

    @property
    def build(self) -> tuple[BenchEntry, ...]:
        """The recordings since the airframe was last changed, by word or by its declaration."""
        kept: list[BenchEntry] = []
        for bench in reversed(self.recordings):
            until = kept[0].when.timestamp() if kept else float("inf")
            if any(bench.when.timestamp() < change.when.timestamp() <= until for change in self.changes):
                break
            if kept and _is_built_otherwise(bench, kept[0]):
                break
            kept.insert(0, bench)
        return tuple(kept)

    @property
    def first_of_build(self) -> BenchEntry | None:
        """The first bench of the present build that passed."""
        return next((bench for bench in self.build if bench.verdict is Outcome.PASS), None)

    def moved(self) -> tuple[Moved, ...]:
        """Hold the newest bench of the present build against its first pass; empty where these are one."""
        build, first = self.build, self.first_of_build
        if first is None or build[-1].seal == first.seal:
            return ()
        return moved_figures(first.figures, build[-1].figures, tolerance_mm=declared_tolerance(build[-1].declaration))

    def series(self) -> tuple[Series, ...]:
        """Give every figure that any bench told, in the order of the newest."""
        recordings = self.recordings
        told = [{figure.name: figure for figure in bench.figures} for bench in recordings]
        names = dict.fromkeys(name for figures in reversed(told) for name in figures)
        moved = {one.first.name: one for one in self.moved()}
        first = self.first_of_build
        base = {} if first is None else {figure.name: figure for figure in first.figures}
        return tuple(
            Series(
                name=name,
                unit=next(figures[name].unit for figures in told if name in figures),
                points=tuple((b, f[name]) for b, f in zip(recordings, told, strict=True) if name in f),
                first=base.get(name),
                moved=moved.get(name),
            )
            for name in names
        )


def histories(entries: Iterable[Entry]) -> tuple[History, ...]:
    """Sort the entries of a book by airframe, in the order of the alphabet.

    Parameters
    ----------
    entries : iterable of Entry
        In the order of time.
    """
    benches: dict[str, list[BenchEntry]] = {}
    changes: dict[str, list[ChangeEntry]] = {}
    for entry in entries:
        if isinstance(entry, BenchEntry):
            benches.setdefault(entry.airframe, []).append(entry)
        else:
            changes.setdefault(entry.airframe, []).append(entry)
    return tuple(
        History(name, tuple(benches.get(name, ())), tuple(changes.get(name, ())))
        for name in sorted({*benches, *changes}, key=lambda name: (name.casefold(), name))
    )


def is_declared_otherwise(one: BenchEntry, other: BenchEntry) -> bool:
    """Say whether two benches were judged by two declarations; where a result is too old to say, by two files."""
    if one.declaration is None or other.declaration is None:
        return one.airframe_sha256 != other.airframe_sha256
    return one.declaration != other.declaration


def _is_built_otherwise(one: BenchEntry, other: BenchEntry) -> bool:
    if one.declaration is None or other.declaration is None:
        return one.airframe_sha256 != other.airframe_sha256
    return _build_in(one.declaration) != _build_in(other.declaration)


def _build_in(declaration: Mapping[str, Any]) -> Sequence[Any]:
    return [declaration.get(table) for table in OF_THE_BUILD]
