"""Reading a store: only what is as it was written, with all that is to be said about it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from benchrig.capture.store.ending import COPY, Ending, ending_path, read_ending
from benchrig.capture.store.mark import ABOUT_KEY, MARK, STORE_KEY
from benchrig.capture.store.verification import End, Examined, examine, last_time, values_of
from benchrig.capture.table import Table, require_columns
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector

LOOKED_AT: Final = 1 << 20
"""Bytes at the beginning of a file in which a store says that it is one, in its head and in every batch."""

TOLD: Final[Mapping[str, str]] = {"program": "recorded by {}", "source": "from {}", "clock": "time by {}"}
"""What of a store's own account goes into the history of whoever reads it."""

LONGEST_WORDS: Final = 200


@dataclass(frozen=True, slots=True, eq=False)
class Store:
    """What could be read of a store.

    Attributes
    ----------
    names : tuple of str
    values : ndarray, shape (len(names), N)
        A row a column, in the source's own units.
    about : mapping
        Its own account: program, source, clock, started ...
    notes : tuple of str
        What a reader must know, in words.
    end : {"closed", "unconfirmed", "interrupted", "damaged"}
    problem : Problem or None
        Where it is damaged; what is before the damage was read.
    """

    names: tuple[str, ...]
    values: Vector
    about: Mapping[str, Any]
    notes: tuple[str, ...]
    end: End
    problem: Problem | None


def is_store(path: Path, data: bytes) -> bool:
    """Say whether an Arrow stream is a store; a damaged one may have lost one sign of it, but not all three."""
    if STORE_KEY.encode() in data[:LOOKED_AT] or MARK.search(data, 0, LOOKED_AT) is not None:
        return True
    return ending_path(path).is_file()


def read_store(path: Path, data: bytes, wanted: Sequence[str]) -> Table:
    """Read the wanted columns of a store that is as it was written.

    Parameters
    ----------
    path : Path
        Its end file lies beside it.
    data : bytes
        The file's content.
    wanted : sequence of str

    Raises
    ------
    CaptureError
        If it is damaged, naming where, or a wanted column is missing.
    """
    store = open_store(path, data)
    if store.problem is not None:
        raise CaptureError(store.problem)
    require_columns(path.name, store.names, wanted)
    columns = {name: store.values[store.names.index(name)] for name in wanted}
    return Table(path.name, columns, None, store.notes)


def open_store(path: Path, data: bytes) -> Store:
    """Read all that is as it was written, and say where it is not.

    Raises
    ------
    CaptureError
        If nothing can be read at all, or its end file is none.
    """
    ending = _ending_beside(path)
    found = examine(path.name, data, ending)
    if found.problem is not None and not found.batches:
        raise CaptureError(found.problem)
    names, about = _head(path.name, found)
    values = values_of(data, found.batches, len(names))
    notes = _notes(path.name, data, found, about, ending)
    return Store(names, values, about, notes, found.end, found.problem)


def _ending_beside(path: Path) -> Ending | None:
    end = ending_path(path)
    try:
        return read_ending(end.name, end.read_bytes())
    except FileNotFoundError:
        return None
    except OSError as error:
        finding = f"cannot be read: {error.strerror or type(error).__name__}"
        raise CaptureError(Problem(escape(end.name), finding, act="check its permissions and its disk")) from None


def _head(name: str, found: Examined) -> tuple[tuple[str, ...], Mapping[str, Any]]:
    """Give the names of the columns, and the store's own account."""
    import pyarrow as pa  # noqa: PLC0415 - 0.1 s that other commands need not pay

    try:
        schema = pa.ipc.read_schema(pa.py_buffer(found.head))
        names = tuple(map(str, schema.names))
        about = json.loads((schema.metadata or {}).get(ABOUT_KEY.encode(), b"{}"))
    except (pa.ArrowException, OSError, ValueError, EOFError):
        cause = "another program wrote its head"
        raise CaptureError(Problem(escape(name), "its head does not name the columns", cause=cause, act=COPY)) from None
    if found.batches and found.batches[0].mark.columns != len(names):
        finding = f"names {len(names)} columns, and its batches hold {found.batches[0].mark.columns}"
        raise CaptureError(Problem(escape(name), finding, cause="another program wrote its head", act=COPY))
    return names, about if isinstance(about, dict) else {}


def _notes(name: str, data: bytes, found: Examined, about: Mapping[str, Any], ending: Ending | None) -> tuple[str, ...]:
    notes = []
    account = [words.format(_said(about[key])) for key, words in TOLD.items() if isinstance(about.get(key), str)]
    if ending is not None and ending.ended:
        account.append(f"it ended so: {_said(ending.ended)}")
    if account:
        notes.append("; ".join(account))
    notes.extend(_losses(found))
    if found.end == "interrupted":
        notes.append(f"the recording was interrupted: {_where_it_stops(data, found)}")
    if found.end == "unconfirmed":
        beside = escape(ending_path(Path(name)).name)
        notes.append(f"the recording was ended properly, but {beside}, which would confirm that, is not beside it")
    return tuple(notes)


def _said(words: str) -> str:
    return escape(words, LONGEST_WORDS)


def _losses(found: Examined) -> list[str]:
    if not found.batches:
        return []
    mark = found.batches[-1].mark
    losses = []
    if mark.lost:
        losses.append(f"{mark.lost:,} rows that the unit counted never came")
    if mark.refused:
        losses.append(f"{mark.refused:,} rows came damaged and were left out")
    return losses


def _where_it_stops(data: bytes, found: Examined) -> str:
    time = last_time(data, found.batches)
    where = "no row was stored" if time is None else f"it stops at {time:.3f} s, after batch {len(found.batches)}"
    many = "byte" if found.left == 1 else "bytes"
    return f"{where}; {found.left:,} {many} after it are not readable" if found.left else f"{where}, without an end"
