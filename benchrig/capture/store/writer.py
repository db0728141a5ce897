"""Writes a store while it is recorded: an Arrow stream that is readable at every moment, and its end file."""

from __future__ import annotations

import hashlib
import time as clocks
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np

from benchrig.capture.store.disk import GrowingFile
from benchrig.capture.store.disk import refused as refused_by_system
from benchrig.capture.store.ending import LONGEST_WORDS, Ending, ending_path, write_ending
from benchrig.capture.store.mark import END_OF_STREAM, MARK, Mark, checked, stored_names
from benchrig.capture.store.messages import Messages, head_of
from benchrig.capture.store.taken import refuse_to_replace
from benchrig.geometry.directions import Vector

BATCH_S: Final = 0.05
"""s; rows wait at most so long in memory, where a killed program would lose them."""


class StoreWriter:
    """A store being written: `create` makes it, `append` adds rows again and again, `close` ends it.

    Rows that the system refused to store are kept and tried again with the next ones, so that a disk that was full for
    a moment loses nothing.

    Attributes
    ----------
    path : Path
    names : tuple of str
        Of all columns in the file: time, arrival, and the source's, in its order.
    rows, stored : int
        Rows handed over, and rows in the file.
    lost, refused : int
        Rows that never came and rows that came damaged, so far.
    """

    def __init__(
        self, file: GrowingFile, names: tuple[str, ...], head: bytes, crc: int, clock: Callable[[], float]
    ) -> None:
        self.path, self.names = file.path, names
        self.rows = self.stored = self.batches = self.lost = self.refused = 0
        self._file, self._clock, self._messages = file, clock, Messages(names)
        self._waiting: list[Vector] = []
        self._written_at = clock()
        self._chain, self._head = crc, hashlib.sha256(head)
        self._sha256 = self._head.copy()

    @classmethod
    def create(
        cls,
        path: Path,
        columns: Sequence[str],
        about: Mapping[str, Any],
        *,
        force: bool = False,
        clock: Callable[[], float] = clocks.monotonic,
    ) -> StoreWriter:
        """Make a new store.

        Parameters
        ----------
        path : Path
            ``NAME.arrow``.
        columns : sequence of str
            Of the source, in the order of its values.
        about : mapping
            What is worth keeping about the recording, as JSON takes it: source, clock, started, program ...
        force : bool
            Whether an earlier recording of this name may be replaced.
        clock : callable
            Gives s; when the rows that wait are due.

        Raises
        ------
        UsageError
            If a file is in the way.
        StoreError
            If the system refuses.
        """
        end = ending_path(path)
        refuse_to_replace(end, force=force)
        names = stored_names(columns)
        head, crc = head_of(names, about)
        refuse_to_replace(path, force=force)
        _remove(end)
        file = GrowingFile(path, force=force)
        try:
            file.add(head)
        except BaseException:
            file.close()
            raise
        return cls(file, names, head, crc, clock)

    def append(self, time: Vector, arrival: Vector, values: Vector, *, lost: int = 0, refused: int = 0) -> None:
        """Take rows, and write what has waited for 50 ms; call it without rows too, so that none waits longer.

        Parameters
        ----------
        time, arrival : ndarray, shape (n,), s
        values : ndarray, shape (n, C)
            In the order of the source's columns; NaN where a field was blank.
        lost, refused : int
            Since the call before.

        Raises
        ------
        StoreError
            If the system refuses; the rows are kept and tried again with the next.
        """
        if len(time):
            self._waiting.append(np.column_stack([time, arrival, values]).astype(np.float64, copy=False))
            self.rows += len(time)
        self.lost, self.refused = self.lost + lost, self.refused + refused
        if self._clock() - self._written_at >= BATCH_S:
            self._write()

    def sync(self) -> None:
        """Write what waits, and come back when all of it is on the disk: before a manifest tells of it.

        Raises
        ------
        StoreError
            If the system refuses.
        """
        self._write()
        self._file.sync()

    def close(self, ended: str = "the operator stopped it") -> Path:
        """Write what waits, the end of the stream, and the end file; give the end file's path.

        Parameters
        ----------
        ended : str
            Why it ended, in words.

        Raises
        ------
        StoreError
            If the system refuses; what was written before is readable, as an interrupted recording.
        """
        try:
            self._write()
            self._file.add(END_OF_STREAM)
            self._sha256.update(END_OF_STREAM)
            self._file.sync()
        finally:
            self._file.close()
        return write_ending(self.path, self._ending(ended))

    def abandon(self) -> None:
        """Let go of the file as it is, unended: what a killed program would have left. May be called twice."""
        self._file.close()

    def _ending(self, ended: str) -> Ending:
        return Ending(
            head=self._head.hexdigest(),
            batches=self.batches,
            rows=self.stored,
            size=self._file.size,
            sha256=self._sha256.hexdigest(),
            lost=self.lost,
            refused=self.refused,
            ended=ended[:LONGEST_WORDS],
        )

    def _write(self) -> None:
        self._written_at = self._clock()
        if not self._waiting:
            return
        rows = np.concatenate(self._waiting)
        self._waiting = [rows]
        number, total = self.batches + 1, self.stored + len(rows)
        mark = Mark(number, len(rows), total, len(self.names), self.lost, self.refused)
        message, value = checked(self._messages.of(rows, mark), MARK, self._chain)
        self._file.add(message)
        self._waiting = []
        self._sha256.update(message)
        self._chain, self.batches, self.stored = value, number, total


def _remove(end: Path) -> None:
    """Take an earlier recording's end file away, before it could be taken for this one's."""
    try:
        end.unlink(missing_ok=True)
    except OSError as error:
        raise refused_by_system(end, "cannot be removed", error) from None
