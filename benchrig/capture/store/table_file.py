"""Writing columns of numbers as text or Parquet, so that they read back to the last bit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np

from benchrig.capture.store.disk import replacing
from benchrig.geometry.directions import Vector

FORMS: Final = (".csv", ".parquet")
AT_ONCE: Final = 1 << 16
"""Rows that are held as text at one time."""

SPREADSHEET_SIGNS: Final = "=+-@#"
"""What makes a spreadsheet take a name for a formula, or a reader for a comment."""

_SEPARATING: Final = ",;\"'"


def text_names(names: Sequence[str]) -> tuple[str, ...]:
    """Give names that a line of text can hold: nothing that separates, does not print or begins a formula.

    Examples
    --------
    >>> text_names(["gx", "=gx", "a,b", "a;b"])
    ('gx', '_=gx', 'a_b', 'a_b 2')
    """
    given: list[str] = []
    for name in names:
        plain = "".join("_" if c in _SEPARATING or not c.isprintable() else c for c in name).strip() or "column"
        plain = f"_{plain}" if plain[0] in SPREADSHEET_SIGNS else plain
        one, number = plain, 1
        while one in given:
            number += 1
            one = f"{plain} {number}"
        given.append(one)
    return tuple(given)


def write_columns(path: Path, columns: Mapping[str, Vector]) -> None:
    """Write columns in the form that the file's ending says.

    Parameters
    ----------
    path : Path
        Of one of `FORMS`.
    columns : mapping of str to ndarray, shape (N,)
        In order; in text, NaN becomes a blank.

    Raises
    ------
    StoreError
        If the system refuses.
    """
    if path.suffix == ".csv":
        _write_text(path, columns)
    else:
        _write_parquet(path, columns)


def _write_text(path: Path, columns: Mapping[str, Vector]) -> None:
    from pyarrow import csv  # noqa: PLC0415 - 0.1 s that other commands need not pay

    rows = len(next(iter(columns.values())))
    plain = csv.WriteOptions(include_header=False)
    with replacing(path) as stream:
        stream.write(",".join(columns).encode() + b"\n")
        for at in range(0, rows, AT_ONCE):
            csv.write_csv(_table(columns, at, at + AT_ONCE, blanks=True), stream, plain)


def _write_parquet(path: Path, columns: Mapping[str, Vector]) -> None:
    from pyarrow import parquet  # noqa: PLC0415 - as above

    with replacing(path) as stream:
        parquet.write_table(_table(columns, 0, None, blanks=False), stream)


def _table(columns: Mapping[str, Vector], start: int, stop: int | None, *, blanks: bool) -> Any:  # noqa: ANN401 - Arrow's types are not annotated
    import pyarrow as pa  # noqa: PLC0415 - as above

    arrays = []
    for values in columns.values():
        part = np.ascontiguousarray(values[start:stop], dtype=np.float64)
        there = np.packbits(~np.isnan(part), bitorder="little") if blanks else None
        buffers = [None if there is None else pa.py_buffer(there), pa.py_buffer(part)]
        arrays.append(pa.Array.from_buffers(pa.float64(), len(part), buffers))
    return pa.Table.from_arrays(arrays, names=list(columns))
