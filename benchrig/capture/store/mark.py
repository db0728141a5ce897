"""What a store says of itself: names in its head, and the mark that stands in every batch.

The mark is text of one length, so that a reader finds it without trusting anything else in a damaged file. Its check
value is the CRC-32 (IEEE 802.3, as in `zlib`) of the batch's whole message, with eight zeros in its own place, carried
on from the check value of the batch before and, at the first batch, from that of the head.
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
BATCH_KEY: Final = "benchrig.batch"
TIME_COLUMN: Final = "bench_time_s"
ARRIVAL_COLUMN: Final = "bench_arrival_s"

END_OF_STREAM: Final = b"\xff\xff\xff\xff\0\0\0\0"
"""How an Arrow stream says that it ends (the published format, "IPC Streaming Format")."""

NO_CHECK: Final = b"00000000"
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


def checked(message: bytes, chain: int) -> tuple[bytes, int]:
    """Put the check value into a message that was written with zeros in its place.

    Parameters
    ----------
    message : bytes
        Of one batch.
    chain : int
        The check value before it.

    Returns
    -------
    bytes
    int
        The check value.
    """
    found = MARK.search(message)
    if found is None:
        message_without = "the message of a batch holds no mark"
        raise ValueError(message_without)
    value = zlib.crc32(message, chain)
    at = found.start(7)
    return b"".join((message[:at], b"%08x" % value, message[at + len(NO_CHECK) :])), value


def check_value(message: memoryview, at: int, chain: int) -> int:
    """Work out the check value of a message whose own stands at `at`.

    Parameters
    ----------
    message : memoryview
    at : int
        Where the eight digits of its check value begin.
    chain : int
        The check value before it.
    """
    value = zlib.crc32(NO_CHECK, zlib.crc32(message[:at], chain))
    return zlib.crc32(message[at + len(NO_CHECK) :], value)


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
