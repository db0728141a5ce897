"""The columns of a recording while it grows: what is stored, in memory, for the judge."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from benchrig.capture.table import Table
from benchrig.geometry.directions import Vector

CHUNK: Final = 8192
"""Rows that are laid by together: to move all of them into a larger place would hold up whoever waits for a word."""


class Growing:
    """Rows that are only ever added to, at the same cost however many there are.

    Parameters
    ----------
    name : str
        Of the stream, for errors.
    names : sequence of str
        Of the columns.
    """

    def __init__(self, name: str, names: Sequence[str]) -> None:
        self._name, self._names = name, tuple(names)
        self._chunks: list[Vector] = []
        self._count = 0

    def __len__(self) -> int:
        return self._count

    def add(self, rows: Vector) -> None:
        """Add rows, shape (n, columns)."""
        while len(rows):
            filled = self._count % CHUNK
            if not filled:
                self._chunks.append(np.empty((CHUNK, len(self._names))))
            fitting = rows[: CHUNK - filled]
            self._chunks[-1][filled : filled + len(fitting)] = fitting
            self._count += len(fitting)
            rows = rows[len(fitting) :]

    def so_far(self) -> Callable[[], Table]:
        """Give what makes a table of the rows so far; it may be called in another thread, while more are added."""
        chunks, count = tuple(self._chunks), self._count

        def table() -> Table:
            columns = {}
            for k, name in enumerate(self._names):
                column = np.concatenate([np.empty(0), *(chunk[:, k] for chunk in chunks)])[:count]
                column.flags.writeable = False
                columns[name] = column
            return Table(self._name, columns)

        return table
