"""What the bench book keeps of a bench, and of a change that somebody made to an airframe."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final, TypeAlias

from benchrig.keeping.figures import Figure, figures_of
from benchrig.outcome import Outcome, gravest_first
from benchrig.report.seal import SEAL, sealed
from benchrig.report.stored_check import StoredCheck

CHANGE_SCHEMA: Final = "benchrig-change/1"
LONGEST_WHAT: Final = 200
SEAL_DIGITS: Final = 8
"""Of a seal, in the name of the file that keeps an entry."""


@dataclass(frozen=True, slots=True)
class BenchEntry:
    """One judged bench.

    Attributes
    ----------
    seal : str
        Of its result.
    recorded : datetime or None
        As the capture says.
    judged : datetime
        When its result was written.
    verdict, sensing, correction : Outcome
    airframe_file, result_file : str
        From the book's folder, where they lie on one disk.
    capture_file : str
        As the result names it.
    declaration : mapping or None
        All that was declared (`declaration.content`); None where the result is too old to say.
    finding : str
        The gravest, in words; empty where there is none.
    """

    seal: str
    airframe: str
    recorded: datetime | None
    judged: datetime
    verdict: Outcome
    sensing: Outcome
    correction: Outcome
    operator: str | None
    airframe_file: str
    airframe_sha256: str
    capture_file: str
    capture_sha256: str
    result_file: str
    version: str
    declaration: Mapping[str, Any] | None
    figures: tuple[Figure, ...]
    finding: str

    @property
    def when(self) -> datetime:
        """When it was recorded; when it was judged, where the capture does not say, or dates itself later than that."""
        return self.judged if self.recorded is None else min(self.recorded, self.judged)


@dataclass(frozen=True, slots=True)
class ChangeEntry:
    """Something that was changed on an airframe and that its declaration need not show: a unit replaced, a repair."""

    seal: str
    airframe: str
    when: datetime
    what: str


Entry: TypeAlias = BenchEntry | ChangeEntry


def bench_entry(seal: str, check: StoredCheck, judged: datetime, *, airframe: str, result: str) -> BenchEntry:
    """Give the entry of a stored check.

    Parameters
    ----------
    seal : str
    check : StoredCheck
    judged : datetime
    airframe, result : str
        The two files, from the book's folder.
    """
    gravest = gravest_first(check.findings)[:1]
    return BenchEntry(
        seal=seal,
        airframe=check.airframe_name,
        recorded=_moment(check.recorded),
        judged=judged,
        verdict=check.verdict,
        sensing=check.sensing,
        correction=check.correction,
        operator=check.operator,
        airframe_file=airframe,
        airframe_sha256=check.airframe.sha256,
        capture_file=check.capture.file.as_posix(),
        capture_sha256=check.capture.sha256,
        result_file=result,
        version=check.software.get("benchrig", ""),
        declaration=check.declaration,
        figures=tuple(figure for figure in figures_of(check) if figure.value is not None),
        finding=gravest[0].text if gravest else "",
    )


def change_entry(airframe: str, when: datetime, what: str) -> tuple[ChangeEntry, dict[str, Any]]:
    """Make the entry of a change, and the sealed content of the file that keeps it."""
    said = {"schema": CHANGE_SCHEMA, "airframe": airframe, "when": when.isoformat(), "what": what}
    content = sealed(said)
    return ChangeEntry(content[SEAL], airframe, when, what), content


def content_of(entry: Entry) -> dict[str, Any]:
    """Give an entry as JSON holds it."""
    return {key: value.isoformat() if isinstance(value, datetime) else value for key, value in asdict(entry).items()}


def bench_from(content: Mapping[str, Any]) -> BenchEntry:
    """Give back a bench from its JSON.

    Raises
    ------
    KeyError, TypeError, ValueError
        If it is none.
    """
    read = dict(content)
    for part in ("verdict", "sensing", "correction"):
        read[part] = Outcome(read[part])
    read["figures"] = tuple(Figure(**figure) for figure in read["figures"])
    read["recorded"], read["judged"] = _moment(read["recorded"]), datetime.fromisoformat(read["judged"])
    return BenchEntry(**read)


def change_from(content: Mapping[str, Any]) -> ChangeEntry:
    """Give back a change from its JSON.

    Raises
    ------
    KeyError, TypeError, ValueError
        If it is none.
    """
    return ChangeEntry(**{**content, "when": datetime.fromisoformat(content["when"])})


def file_name_of(entry: Entry) -> str:
    """Name the file that keeps an entry: by its moment, its airframe and the beginning of its seal.

    Examples
    --------
    >>> file_name_of(ChangeEntry("5eed" * 16, "Dunlin 450", datetime(2026, 11, 25, 10, 0, tzinfo=UTC), "new unit"))
    '20261125-100000-dunlin-450-5eed5eed-change.json'
    """
    moment = entry.when.astimezone(UTC)
    plain = "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in entry.airframe.lower())
    name = "-".join(part for part in plain.split("-") if part)[:40] or "airframe"
    tail = "-change" if isinstance(entry, ChangeEntry) else ""
    return f"{moment:%Y%m%d-%H%M%S}-{name}-{entry.seal[:SEAL_DIGITS]}{tail}.json"


def from_folder(folder: Path, path: Path) -> str:
    """Name a file from the book's folder, or by its whole path where it lies on another disk."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:
        return path.resolve().as_posix()


def _moment(text: str | None) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text or "")
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)
