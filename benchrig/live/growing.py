"""The columns of a recording while it grows: what is stored, in memory, for the judge."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from benchrig.capture.table import Table
from benchrig.geometry.directions import Vector

_FIRST_ROWS: Final = 4096


class Growing:
    """Rows that are only ever added to; a table of those so far costs nothing, and never changes.

    Parameters
    ----------
    name : str
        Of the stream, for errors.
    names : sequence of str
        Of the columns.
    """

    def __init__(self, name: str, names: Sequence[str]) -> None:
        self._name, self._names = name, tuple(names)
        self._rows = np.empty((_FIRST_ROWS, len(self._names)), order="F")
        self._count = 0

    def __len__(self) -> int:
        return self._count

    def add(self, rows: Vector) -> None:
        """Add rows, shape (n, columns)."""
        needed = self._count + len(rows)
        if needed > len(self._rows):
            # tables already given keep the rows they were given
            larger = np.empty((max(needed, 2 * len(self._rows)), len(self._names)), order="F")
            larger[: self._count] = self._rows[: self._count]
            self._rows = larger
        self._rows[self._count : needed] = rows
        self._count = needed

    def table(self) -> Table:
        """Give the rows so far."""
        rows = self._rows[: self._count].view()
        rows.flags.writeable = False
        return Table(self._name, {name: rows[:, k] for k, name in enumerate(self._names)})
