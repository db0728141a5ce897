"""The columns a stream held, as numbers, with a way back to the row each number stood in."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from benchrig.declaration.quotation import escape, nearest
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector

SHOWN_NAMES = 24


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """The wanted columns of one stream.

    Attributes
    ----------
    name : str
        The stream's file name, for errors.
    columns : mapping of str to ndarray, shape (R,)
        As they stood in the file, in the file's own units; NaN where a field was blank.
    line_of : callable or None
        Gives the line of the file, from 1, that row `i` stands on; None for a file without lines.
    notes : tuple of str
        What was left out or converted, in words.
    own_units : mapping of str to str
        The unit a column carries in its type, where it is a stamp or a duration ("us").
    rows : ndarray, shape (R,), int, or None
        Where rows were left out after reading: the number each row had in the file, from 0.
    """

    name: str
    columns: Mapping[str, Vector]
    line_of: Callable[[int], int] | None = None
    notes: tuple[str, ...] = ()
    own_units: Mapping[str, str] = field(default_factory=dict)
    rows: np.ndarray | None = None

    def __len__(self) -> int:
        return len(next(iter(self.columns.values()))) if self.columns else 0

    def place(self, row: int, column: str = "") -> str:
        """Name the place of a row, and of one of its columns, in the file: ``run.csv:1042 column gx``.

        Parameters
        ----------
        row : int
            From 0, among the rows of this table.
        column : str
        """
        at = row if self.rows is None else int(self.rows[row])
        where = f"{self.name} row {at + 1}" if self.line_of is None else f"{self.name}:{self.line_of(at)}"
        return f"{where} column {escape(column)}" if column else where

    def group(self, names: Sequence[str]) -> Vector:
        """Set some columns side by side.

        Returns
        -------
        ndarray, shape (R, len(names))
        """
        return np.column_stack([self.columns[name] for name in names])

    def only(self, keep: np.ndarray, note: str) -> Table:
        """Leave out the rows where `keep` is false, and note it."""
        rows = np.flatnonzero(keep) if self.rows is None else self.rows[keep]
        columns = {name: values[keep] for name, values in self.columns.items()}
        return replace(self, columns=columns, rows=rows, notes=(*self.notes, note))


def listed(names: Sequence[str]) -> str:
    """List the names of columns, the first few dozen of them."""
    some = ", ".join(escape(name) or '""' for name in names[:SHOWN_NAMES])
    return some if len(names) <= SHOWN_NAMES else f"{some} and {len(names) - SHOWN_NAMES} more"


def require_columns(place: str, there: Sequence[str], wanted: Sequence[str]) -> None:
    """Check that every wanted column is there, and there once.

    Parameters
    ----------
    place : str
        Where the names of the columns stand.
    there, wanted : sequence of str

    Raises
    ------
    CaptureError
        With one problem for each column that is missing or stands there twice.
    """
    problems = []
    for name in wanted:
        count = list(there).count(name)
        if count == 1:
            continue
        if count:
            problems.append(
                Problem(
                    place,
                    f'{count} columns are named "{escape(name)}"',
                    "one, since the manifest reads it",
                    "two loggers' columns were joined side by side",
                    "give each column a name of its own",
                )
            )
            continue
        close = nearest(name, there)
        problems.append(
            Problem(
                place,
                f'there is no column "{escape(name)}", which the manifest names',
                f"it among the columns: {listed(there)}" if there else "a row of column names",
                f'"{escape(close)}" is meant' if close else "",
                "correct the names under [columns] in the manifest, or the stream it points to",
            )
        )
    if problems:
        raise CaptureError(*problems)
