"""The bench book's file: a small SQLite database that refuses to be read wrongly, and can always be made anew.

Everything in it stands in the files beside it too, one a bench (`RESULTS`): it is their index, and never the only copy.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from benchrig.declaration.quotation import escape
from benchrig.errors import BenchrigError, Problem, StoreError, UsageError
from benchrig.keeping.book_entry import (
    BenchEntry,
    ChangeEntry,
    Entry,
    bench_from,
    change_from,
    content_of,
    file_name_of,
)

BOOK: Final = "bench-book.sqlite"
RESULTS: Final = "bench-results"
"""The folder beside the book that holds a copy of every result and every change."""

VERSION: Final = 1
APPLICATION: Final = 0x62726731
"""SQLite's own mark for whose database a file is."""

PATIENCE: Final = 10.0
"""s that one program waits for another one to finish its entry."""

_TABLE: Final = (
    "CREATE TABLE entry (seal TEXT PRIMARY KEY NOT NULL, kind TEXT NOT NULL, content TEXT NOT NULL, mark TEXT NOT NULL)"
)
_COUNT: Final = "CREATE TABLE total (entries INTEGER NOT NULL)"
_KINDS: Final = {BenchEntry: "bench", ChangeEntry: "change"}


def read_book(folder: Path) -> tuple[Entry, ...]:
    """Read all entries of a book, in the order of time.

    Raises
    ------
    UsageError
        If there is no book in the folder.
    StoreError
        If it cannot be read, is damaged or is another program's.
    """
    path = folder / BOOK
    if not has_book(folder):
        act = f"enter results with `benchrig book add`, or name the folder of a book with --book ({BOOK} lies in it)"
        if (folder / RESULTS).is_dir():
            act = _anew()
        raise UsageError(Problem(escape(str(folder), 200), "holds no bench book", act=act))
    with _opened(path) as connection:
        entries = _entries(connection, path)
    return tuple(sorted(entries, key=_order))


def has_book(folder: Path) -> bool:
    """Whether a book was begun in a folder; a file without a byte is what a full disk leaves of one."""
    path = folder / BOOK
    return path.exists() and not (path.is_file() and path.stat().st_size == 0)


def not_entered(folder: Path, entries: Iterable[Entry]) -> int:
    """Count the files that the book keeps and does not know: what a full disk or a copied folder leaves."""
    known = {
        Path(entry.result_file).name if isinstance(entry, BenchEntry) else file_name_of(entry) for entry in entries
    }
    return sum(path.name not in known for path in (folder / RESULTS).glob("*.json"))


def enter(folder: Path, entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Enter into a book what it does not hold yet; all of it, or nothing where anything goes wrong.

    Parameters
    ----------
    folder : Path
        The book is made there if there is none.
    entries : iterable of BenchEntry or ChangeEntry

    Returns
    -------
    tuple of Entry
        The new ones.

    Raises
    ------
    StoreError
        As `read_book` does; or if the book cannot be written.
    """
    path = folder / BOOK
    new: list[Entry] = []
    with _opened(path, write=True) as connection:
        there = {entry.seal for entry in _entries(connection, path)}
        for entry in entries:
            if entry.seal in there:
                continue
            there.add(entry.seal)
            new.append(entry)
            kind, content = _KINDS[type(entry)], json.dumps(content_of(entry), ensure_ascii=False, sort_keys=True)
            row = (entry.seal, kind, content, _mark(entry.seal, kind, content))
            connection.execute("INSERT INTO entry VALUES (?, ?, ?, ?)", row)
        connection.execute("UPDATE total SET entries = ?", (len(there),))
        connection.commit()
    return tuple(new)


def _mark(seal: str, kind: str, content: str) -> str:
    return hashlib.sha256(f"{seal}\n{kind}\n{content}".encode()).hexdigest()


def _order(entry: Entry) -> tuple[float, float, str]:
    judged = entry.judged if isinstance(entry, BenchEntry) else entry.when
    return entry.when.timestamp(), judged.timestamp(), entry.seal


@contextmanager
def _opened(path: Path, *, write: bool = False) -> Iterator[sqlite3.Connection]:
    """Open a book, and turn whatever SQLite finds into a sentence.

    A rollback journal, and no write-ahead log: that needs memory, which two computers on a network folder do not share.
    """
    mode = "rwc" if write else "ro"
    if path.exists() and not path.is_file():  # SQLite waits for a pipe without end
        finding, act = "is a folder, a device or a pipe", f"move it away; {_anew()}"
        raise StoreError(Problem(escape(str(path), 200), finding, "a book that benchrig made", act=act))
    try:
        uri = f"{path.resolve().as_uri()}?mode={mode}"
        with closing(sqlite3.connect(uri, uri=True, timeout=PATIENCE, isolation_level=None)) as connection:
            connection.execute("PRAGMA trusted_schema = OFF")
            connection.execute("PRAGMA cell_size_check = ON")
            if write:
                connection.execute("PRAGMA journal_mode = DELETE")
                connection.execute("PRAGMA synchronous = FULL")
            connection.execute("BEGIN IMMEDIATE" if write else "BEGIN")
            _require_ours(connection, path, may_begin=write)
            yield connection
    except BenchrigError:
        raise
    except (sqlite3.Error, UnicodeError, OverflowError) as error:
        raise StoreError(_trouble(path, error)) from None


def _require_ours(connection: sqlite3.Connection, path: Path, *, may_begin: bool) -> None:
    """Refuse what is not a book, or one of a later version; begin one in an empty file."""
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if may_begin and not tables and not application and not version:
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute(_TABLE)
        connection.execute(_COUNT)
        connection.execute("INSERT INTO total VALUES (0)")
        return
    if application != APPLICATION:
        finding, act = (
            "is a database, and no bench book",
            f"move it away, or name another folder with --book. {_anew()}",
        )
        raise StoreError(Problem(escape(str(path), 200), finding, "a book that benchrig made", "", act))
    if version != VERSION:
        finding, cause = f"is a bench book of version {version}", "it was made by a later version of benchrig"
        raise StoreError(Problem(escape(str(path), 200), finding, f"version {VERSION}", cause, "use that version"))
    told = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if told != "ok":
        raise StoreError(_damaged(path, escape(str(told).splitlines()[0], 100)))


def _entries(connection: sqlite3.Connection, path: Path) -> list[Entry]:
    entries: list[Entry] = []
    for seal, kind, content, mark in connection.execute("SELECT seal, kind, content, mark FROM entry"):
        if mark != _mark(str(seal), str(kind), str(content)):
            raise StoreError(_damaged(path, f"entry {len(entries) + 1} is not as it was written"))
        try:
            read = json.loads(content)
            entries.append(bench_from(read) if kind == "bench" else change_from(read))
        except (KeyError, TypeError, ValueError, AttributeError):
            raise StoreError(_damaged(path, f"entry {len(entries) + 1} cannot be read")) from None
    totals = connection.execute("SELECT entries FROM total").fetchall()
    if totals != [(len(entries),)]:
        raise StoreError(_damaged(path, "entries are missing"))
    return entries


def _anew() -> str:
    return f"`benchrig book add {RESULTS}` makes the book anew: each bench lies there as a file of its own"


def _damaged(path: Path, what: str) -> Problem:
    cause = "it was cut in copying, a disk fails, or another program wrote on it"
    return Problem(escape(str(path), 200), f"is damaged: {what}", "", cause, f"move it away; {_anew()}")


def _trouble(path: Path, error: Exception) -> Problem:
    """Say in words what SQLite says in its own."""
    place, told = escape(str(path), 200), str(error)
    if isinstance(error, sqlite3.OperationalError) and ("locked" in told or "busy" in told):
        finding = f"is in use by another program for more than {PATIENCE:g} s"
        return Problem(place, finding, "", "another bench is being entered, or a program hangs", "try again")
    if "unable to open" in told or "readonly" in told:
        act = "change the permissions of the file and its folder, or name another folder with --book"
        return Problem(
            place, f"cannot be {'written' if 'readonly' in told else 'opened'}: {escape(told, 100)}", act=act
        )
    if "full" in told or "disk I/O" in told:
        return Problem(
            place, f"cannot be written: {escape(told, 100)}", act="make room on the disk, then enter it again"
        )
    if "not a database" in told:
        return Problem(
            place, "is no database", "a book that benchrig made", "the file was damaged", f"move it away; {_anew()}"
        )
    return _damaged(path, escape(told, 100))
