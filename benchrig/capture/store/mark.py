"""What a store says of itself: names in its head, and the mark that stands there and in every batch.

A mark is text of one length, so that a reader finds it without trusting anything else in a damaged file. Its check
value is the CRC-32 (IEEE 802.3, as in `zlib`) of the whole message that it stands in, with eight zeros in its own
place, carried on from the check value of the message before.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

VERSION: Final = "1"
STORE_KEY: Final = "benchrig.store"
ABOUT_KEY: Final = "benchrig.about"
HEAD_KEY: Final = "benchrig.head"
BATCH_KEY: Final = "benchrig.batch"
TIME_COLUMN: Final = "bench_time_s"
ARRIVAL_COLUMN: Final = "bench_arrival_s"

END_OF_STREAM: Final = b"\xff\xff\xff\xff\0\0\0\0"
"""How an Arrow stream says that it ends (the published format, "IPC Streaming Format")."""

NO_CHECK: Final = b"00000000"
HEAD_TEXT: Final = f"benchrig head crc {NO_CHECK.decode()}"
HEAD_MARK: Final = re.compile(rb"benchrig head crc ([0-9a-f]{8})")
MARK: Final = re.compile(
    rb"benchrig batch (\d{8}) rows (\d{8}) of (\d{12}) columns (\d{4}) lost (\d{12}) refused (\d{12}) crc ([0-9a-f]{8})"
)


@dataclass(frozen=True, slots=True)
class Mark:
    """The mark of a batch.

    Attributes
    ----------
    number : int
        Of the batch, from 1.
    rows : int
        In this batch.
    total : int
        Rows up to its end.
    columns : int
    lost, refused : int
        Up to its end: rows that never came, and rows that came damaged.
    """

    number: int
    rows: int
    total: int
    columns: int
    lost: int
    refused: int

    @property
    def text(self) -> str:
        """The mark as it is written, the check value still zeros."""
        return (
            f"benchrig batch {self.number:08d} rows {self.rows:08d} of {self.total:012d} columns {self.columns:04d} "
            f"lost {self.lost:012d} refused {self.refused:012d} crc {NO_CHECK.decode()}"
        )


def checked(message: bytes, mark: re.Pattern[bytes], chain: int = 0) -> tuple[bytes, int]:
    """Put the check value into a message that was written with zeros in its place.

    Parameters
    ----------
    message : bytes
        The head, or one batch.
    mark : Pattern
        `HEAD_MARK` or `MARK`.
    chain : int
        The check value before it.

    Returns
    -------
    bytes
    int
        The check value.
    """
    found = mark.search(message)
    if found is None:
        without = "the message holds no mark"
        raise ValueError(without)
    value = zlib.crc32(message, chain)
    at = found.end() - len(NO_CHECK)
    return b"".join((message[:at], b"%08x" % value, message[at + len(NO_CHECK) :])), value


def check_value(message: memoryview, found: re.Match[bytes], chain: int = 0) -> int | None:
    """Work out the check value of a message; None where another one stands in it.

    Parameters
    ----------
    message : memoryview
    found : Match
        Its mark.
    chain : int
        The check value before it.
    """
    at = found.end() - len(NO_CHECK)
    value = zlib.crc32(message[found.end() :], zlib.crc32(NO_CHECK, zlib.crc32(message[:at], chain)))
    return value if value == int(bytes(message[at : found.end()]), 16) else None


def stored_names(columns: Sequence[str]) -> tuple[str, ...]:
    """Name all columns of a store, in its order: time, arrival, and the source's own.

    A source that replays a store has columns of these names itself, and a text stream may have one name twice: then
    the later one is numbered, so that each name stands for one column.

    Parameters
    ----------
    columns : sequence of str
        Of the source.

    Examples
    --------
    >>> stored_names(["gx", "bench_time_s", "gx"])
    ('bench_time_s', 'bench_arrival_s', 'gx', 'bench_time_s 2', 'gx 2')
    """
    names: list[str] = []
    taken = {*columns, TIME_COLUMN, ARRIVAL_COLUMN}
    for column in (TIME_COLUMN, ARRIVAL_COLUMN, *columns):
        name, number = column, 1
        while name in names or (number > 1 and name in taken):
            number += 1
            name = f"{column} {number}"
        names.append(name)
    return tuple(names)
