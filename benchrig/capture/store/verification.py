"""What of a store is as it was written: batch by batch, before anything in it is believed.

A store is *interrupted* where it simply stops, which a killed program or a lost supply leaves: after a whole batch,
within one, or in zeros that the disk never replaced. Anything else that is not as it was written is *damaged*.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from benchrig.capture.store.ending import COPY, COPY_AGAIN, DAMAGED, Ending, hold_against
from benchrig.capture.store.mark import END_OF_STREAM, HEAD_MARK, MARK, Mark, check_value
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem
from benchrig.geometry.directions import Vector

CONTINUED: Final = b"\xff\xff\xff\xff"
PREFIX: Final = 8
"""Bytes before each message of an Arrow stream: the sign of a new one, and the size of what describes it."""
MOST_DESCRIBED: Final = 1 << 20
"""Bytes that describe a batch of 20,000 columns; a larger size is damage."""

End = Literal["closed", "unconfirmed", "interrupted", "damaged"]


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch that is as it was written: its mark, and where it, its rows and the batch after it begin."""

    mark: Mark
    at: int
    rows_at: int
    next_at: int


@dataclass(frozen=True, slots=True)
class Examined:
    """What a store holds.

    Attributes
    ----------
    head : bytes
        The message that names the columns.
    batches : tuple of Batch
        As they were written, in order.
    end : {"closed", "unconfirmed", "interrupted", "damaged"}
        Unconfirmed: ended properly, with no end file beside it.
    left : int
        Bytes after the last whole batch, its end not counted.
    problem : Problem or None
        Of a damaged one.
    """

    head: bytes
    batches: tuple[Batch, ...]
    end: End
    left: int
    problem: Problem | None


def examine(name: str, data: bytes, ending: Ending | None) -> Examined:
    """Find how much of a store is as it was written, and why no more.

    Parameters
    ----------
    name : str
        Of the store, for sentences.
    data : bytes
        The whole file.
    ending : Ending or None
        Of the end file beside it, where there is one.
    """
    view = memoryview(data)
    head, chain = _head(view)
    if chain is None:
        return Examined(head, (), "damaged", len(data), _no_head(name))
    batches = _batches(view, len(head), chain)
    rest = data[batches[-1].next_at if batches else len(head) :]
    closed = rest == END_OF_STREAM
    place = _place(name, data, batches)
    problem = None
    known = batches[-1].rows_at - batches[-1].at - PREFIX if batches else None
    if not closed and not _simply_stops(rest, known):
        problem = Problem(
            place, "what follows is not as it was written", cause=DAMAGED, act=COPY if batches else COPY_AGAIN
        )
    elif ending is not None:
        problem = hold_against(name, place, data, head, ending)
    end: End = "unconfirmed" if ending is None else "closed"
    if not closed:
        end = "interrupted"
    if problem is not None:
        end = "damaged"
    return Examined(head, batches, end, 0 if closed else len(rest), problem)


def values_of(data: bytes, batches: Sequence[Batch], columns: int) -> Vector:
    """Give the rows of batches.

    Returns
    -------
    ndarray, shape (columns, N)
    """
    values = np.empty((columns, batches[-1].mark.total if batches else 0))
    for batch in batches:
        count = batch.mark.rows
        rows = np.frombuffer(data, dtype="<f8", count=columns * count, offset=batch.rows_at)
        values[:, batch.mark.total - count : batch.mark.total] = rows.reshape(columns, count)
    return values


def last_time(data: bytes, batches: Sequence[Batch]) -> float | None:
    """Give the time of the last row, s, by the store's own clock; None where there is none."""
    if not batches or not batches[-1].mark.rows:
        return None
    last = batches[-1]
    offset = last.rows_at + 8 * (last.mark.rows - 1)
    return float(np.frombuffer(data, dtype="<f8", count=1, offset=offset)[0])


def _place(name: str, data: bytes, batches: Sequence[Batch]) -> str:
    time = last_time(data, batches)
    if time is None:
        return f"{escape(name)} after its head"
    return f"{escape(name)} after batch {len(batches)} (row {batches[-1].mark.total:,}, {time:.3f} s)"


def _size_at(view: memoryview, at: int) -> int | None:
    """Give the size of what describes the message at `at`, or None where no message begins there."""
    if bytes(view[at : at + 4]) != CONTINUED or len(view) < at + PREFIX:
        return None
    size = int.from_bytes(view[at + 4 : at + PREFIX], "little")
    return size if size and size % 8 == 0 else None


def _head(view: memoryview) -> tuple[bytes, int | None]:
    """Give the head and its check value; None where it is not as it was written."""
    head = view[: PREFIX + (_size_at(view, 0) or 0)]
    found = HEAD_MARK.search(head)
    return bytes(head), None if found is None else check_value(head, found)


def _no_head(name: str) -> Problem:
    finding = "its beginning, which names the columns, is not as it was written"
    cause = f"the recording was interrupted before its first row; or {DAMAGED}"
    return Problem(escape(name), finding, cause=cause, act=f"{COPY_AGAIN}, or record again")


def _batches(view: memoryview, at: int, chain: int) -> tuple[Batch, ...]:
    """Read the batches that follow each other unharmed."""
    found = []
    while (read := _batch(view, at, chain)) is not None:
        batch, chain = read
        found.append(batch)
        at = batch.next_at
    return tuple(found)


def _batch(view: memoryview, at: int, chain: int) -> tuple[Batch, int] | None:
    size = _size_at(view, at)
    if size is None:
        return None
    rows_at = at + PREFIX + size
    described = view[at:rows_at]
    found = MARK.search(described)
    if found is None:
        return None
    mark = _mark(found)
    next_at = rows_at + 8 * mark.rows * mark.columns
    if next_at > len(view):
        return None
    message = view[at:next_at]
    value = check_value(message, found, chain)
    return None if value is None else (Batch(mark, at, rows_at, next_at), value)


def _mark(found: re.Match[bytes]) -> Mark:
    return Mark(*(int(digits) for digits in found.groups()[:6]))


def _simply_stops(rest: bytes, known: int | None) -> bool:
    """Say whether what follows the last whole batch is the beginning of one more, and then nothing or zeros.

    Parameters
    ----------
    rest : bytes
    known : int or None
        How much describes a batch of this store, where there is one.
    """
    core = rest.rstrip(b"\0")
    begins = CONTINUED if known is None else CONTINUED + known.to_bytes(4, "little")
    if not core.startswith(begins[: len(core)]) or len(MARK.findall(core)) > 1:
        return False
    size = _size_at(memoryview(core), 0)
    if size is None:
        return len(core) < PREFIX
    described = core[: PREFIX + size]
    if len(described) < PREFIX + size:
        return size <= MOST_DESCRIBED
    found = MARK.search(described)
    if found is None:
        return False
    mark = _mark(found)
    return len(core) < PREFIX + size + 8 * mark.rows * mark.columns
