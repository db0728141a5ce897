"""Entering into the bench book: the file that keeps a bench first, then its line in the index."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from benchrig.capture.store.disk import refused, write_atomically
from benchrig.declaration.quotation import escape, quote
from benchrig.errors import Problem, ResultError, UsageError
from benchrig.keeping.book_entry import (
    CHANGE_SCHEMA,
    LONGEST_WHAT,
    SEAL_DIGITS,
    BenchEntry,
    ChangeEntry,
    Entry,
    bench_entry,
    change_entry,
    change_from,
    file_name_of,
    from_folder,
)
from benchrig.keeping.book_file import RESULTS, enter, has_book, read_book
from benchrig.keeping.whereabouts import is_there
from benchrig.report import result as of_check
from benchrig.report.result import result_json
from benchrig.report.seal import SEAL, seal_of
from benchrig.report.stored_check import StoredCheck
from benchrig.report.stored_result import StoredResult, bench_in, check_in, read_result
from benchrig.verdict.record import BenchRecord

MOST_BYTES: Final = 50_000_000
"""Of a file that may be a result: a larger one is something else."""

_HEAD: Final = 4096  # bytes


@dataclass(frozen=True, slots=True)
class Added:
    """What came of adding files.

    Attributes
    ----------
    new : tuple of Entry
    known : int
        That the book held already.
    refused : tuple of Problem
        Results that cannot be used.
    other : int
        JSON files in the folders that are something else, measurements for example.
    """

    new: tuple[Entry, ...]
    known: int
    refused: tuple[Problem, ...]
    other: int


def refuse_unfit(folder: Path) -> None:
    """Refuse a folder that is not there, or whose book cannot be used, before any work is done.

    Raises
    ------
    UsageError, StoreError
    """
    if not folder.is_dir():
        finding, act = "is not there, or is no folder", "make the folder first, or correct its name"
        raise UsageError(Problem(f"--book {escape(str(folder), 200)}", finding, "the folder of a bench book", act=act))
    if has_book(folder):
        read_book(folder)


def enter_record(folder: Path, record: BenchRecord, result: Path | None = None) -> BenchEntry:
    """Enter a bench that was just judged.

    Parameters
    ----------
    folder : Path
        Of the book.
    record : BenchRecord
    result : Path, optional
        Where its result was written, if it was: the airframe file is looked for from there too. The book keeps a copy,
        since the next report may be written under the same name.

    Returns
    -------
    BenchEntry

    Raises
    ------
    StoreError
        If the book or its folder refuses; a result that was kept already can be added later.
    """
    refuse_unfit(folder)
    text = result_json(record)
    data = json.loads(text)
    check = check_in(data, "the result")
    judged = datetime.now(UTC)
    seal = str(data[SEAL])
    entry = _bench(folder, StoredResult(result or folder / RESULTS, check, seal, data), judged, check)
    if result is None or not _is_kept(folder, result):
        entry = _kept(folder, entry, text.encode(), judged)
    enter(folder, [*_kept_before(folder), entry])
    return entry


def enter_change(folder: Path, airframe: str, what: str, when: datetime) -> ChangeEntry:
    """Enter something that was changed on an airframe: from then on a bench is due, and trends begin anew.

    Raises
    ------
    UsageError
        If there is nothing said.
    StoreError
        As `enter_record` does.
    """
    said = " ".join(what.split())
    if not said or len(said) > LONGEST_WHAT or not said.isprintable():
        finding = f"{quote(what)} as what was changed"
        act = 'say it in a few words: "gyro unit replaced", "tail servo repaired"'
        raise UsageError(Problem("benchrig book changed", finding, f"1 to {LONGEST_WHAT} printable letters", "", act))
    refuse_unfit(folder)
    entry, content = change_entry(airframe, when, said)
    _write(folder, file_name_of(entry), (json.dumps(content, indent=2, ensure_ascii=False) + "\n").encode(), when)
    enter(folder, [*_kept_before(folder), entry])
    return entry


def add_files(folder: Path, paths: Iterable[Path]) -> Added:
    """Enter results, and all results in folders.

    A result is copied into `RESULTS`, unless it lies there: whatever becomes of the file that was added, the book can
    be made anew.

    Parameters
    ----------
    folder : Path
        Of the book.
    paths : iterable of Path
        Files are taken as results; folders are searched, and what is no result in them is left out.

    Raises
    ------
    UsageError
        If one is not there.
    StoreError
        If the book or its folder refuses.
    """
    refuse_unfit(folder)
    found = _found(folder, paths)
    before = _kept_before(folder)
    unlike = {entry.seal: entry for entry in (*before, *found.new)}
    new = enter(folder, unlike.values()) if unlike else ()
    return replace(found, new=new, known=max(len({entry.seal for entry in found.new}) - len(new), 0))


def _kept_before(folder: Path) -> tuple[Entry, ...]:
    """Give what the files of an earlier book hold, where its index is gone: a new one must not forget them."""
    kept = folder / RESULTS
    return () if has_book(folder) or not kept.is_dir() else _found(folder, [kept]).new


def _found(folder: Path, paths: Iterable[Path]) -> Added:
    """Read all entries that there are in files and folders."""
    entries: list[Entry] = []
    problems: list[Problem] = []
    other = 0
    for path, is_named in _files(paths):
        try:
            entry = _entry_in(folder, path, is_named=is_named)
        except ResultError as error:
            problems.extend(error.problems)
            continue
        if entry is None:
            other += 1
        else:
            entries.append(entry)
    return Added(tuple(entries), 0, tuple(problems), other)


def _files(paths: Iterable[Path]) -> Iterator[tuple[Path, bool]]:
    """Give every file to look at, once, and whether it was named itself."""
    seen: set[Path] = set()
    for path in paths:
        if not path.exists():
            act = "name a file that `benchrig check --json` wrote, or a folder of such files"
            raise UsageError(Problem(escape(str(path), 200), "is not there", act=act))
        found = [path] if path.is_file() else sorted(p for p in path.rglob("*.json") if p.is_file())
        for file in found:
            if file.resolve() not in seen:
                seen.add(file.resolve())
                yield file, file == path


def _entry_in(folder: Path, path: Path, *, is_named: bool) -> Entry | None:
    """Read an entry from a file; None for a file found in a folder that says it is something else."""
    said = _said(path)
    if said.get("schema") == CHANGE_SCHEMA:
        return _change(folder, path, said)
    if not is_named and said.get("schema") != of_check.SCHEMA:
        return None
    stored = read_result(path)
    check = bench_in(stored)
    judged = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    entry = _bench(folder, stored, judged, check)
    return entry if _is_kept(folder, path) else _kept(folder, entry, path.read_bytes(), judged)


def _said(path: Path) -> Mapping[str, Any]:
    """Read what a file says, as far as it is JSON; of a result that was cut or spoilt, that it is one.

    Raises
    ------
    ResultError
        If it cannot be read: it may be a bench that failed.
    """
    if path.stat().st_size > MOST_BYTES:
        return {}
    try:
        data = path.read_bytes()
    except OSError as error:
        finding = f"cannot be read: {(error.strerror or type(error).__name__).lower()}"
        raise ResultError(Problem(escape(path.name), finding, act="change its permissions, or take it away")) from None
    try:
        said = json.loads(data)
    except (ValueError, RecursionError):
        return {"schema": of_check.SCHEMA} if of_check.SCHEMA.encode() in data[:_HEAD] else {}
    return said if isinstance(said, dict) else {}


def _change(folder: Path, path: Path, said: Mapping[str, Any]) -> ChangeEntry:
    if said.get(SEAL) != seal_of(said):
        cause, act = "it was edited by hand, or damaged", "enter the change anew with `benchrig book changed`"
        raise ResultError(Problem(escape(path.name), "was changed after it was written", cause=cause, act=act))
    try:
        entry = change_from({key: said[key] for key in (SEAL, "airframe", "when", "what")})
    except (KeyError, TypeError, ValueError):
        finding = "is no change that the book can keep"
        raise ResultError(Problem(escape(path.name), finding, act="enter it with `benchrig book changed`")) from None
    if not _is_kept(folder, path):
        _write(folder, file_name_of(entry), path.read_bytes(), entry.when)
    return entry


def _bench(folder: Path, stored: StoredResult, judged: datetime, check: StoredCheck) -> BenchEntry:
    beside = stored.file.parent
    places = (check.airframe.file, beside / check.airframe.file, beside / check.airframe.file.name)
    found = next((p for p in (*places, folder / check.airframe.file.name) if is_there(p)), None)
    airframe = check.airframe.file.as_posix() if found is None else from_folder(folder, found)
    return bench_entry(stored.seal, check, judged, airframe=airframe, result=from_folder(folder, stored.file))


def _is_kept(folder: Path, path: Path) -> bool:
    return path.resolve().is_relative_to((folder / RESULTS).resolve())


def _kept(folder: Path, entry: BenchEntry, content: bytes, judged: datetime) -> BenchEntry:
    """Keep a copy of a result beside the book, unless there is one, and say in the entry where it is."""
    alike = (folder / RESULTS).glob(
        f"*-{entry.seal[:SEAL_DIGITS]}.json"
    )  # a file's date, and its name, may have changed
    path = next((path for path in alike if path.read_bytes() == content), None)
    path = path or _write(folder, file_name_of(entry), content, judged)
    return replace(entry, result_file=from_folder(folder, path))


def _write(folder: Path, name: str, content: bytes, when: datetime) -> Path:
    """Write a file into the book's folder of results, with the date of what it keeps."""
    path = folder / RESULTS / name
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise refused(path.parent, "cannot be made", error) from None
    write_atomically(path, content)
    with suppress(OSError):
        os.utime(path, (when.timestamp(), when.timestamp()))
    return path
