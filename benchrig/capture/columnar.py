"""Parquet files and Arrow files and streams (Feather): columns that carry their types."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from benchrig.capture.arrow_values import stored_as, to_float64
from benchrig.capture.table import Table, require_columns
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector

if TYPE_CHECKING:
    import pyarrow as pa

PARQUET_MARK: Final = b"PAR1"
ARROW_FILE_MARK: Final = b"ARROW1"
ARROW_STREAM_MARK: Final = b"\xff\xff\xff\xff"


def read_parquet(name: str, data: bytes, wanted: Sequence[str]) -> Table:
    """Read the wanted columns of a Parquet file.

    Raises
    ------
    CaptureError
        If the file is damaged, a wanted column is missing or holds no numbers.
    """
    import pyarrow as pa  # noqa: PLC0415 - 0.1 s that other commands need not pay
    from pyarrow import parquet  # noqa: PLC0415 - the same

    with _refusing_damage(name, "Parquet"):
        file = parquet.ParquetFile(pa.BufferReader(data))
        require_columns(name, file.schema_arrow.names, wanted)
        return _table(name, file.read(columns=list(wanted)), wanted, ())


def read_arrow(name: str, data: bytes, wanted: Sequence[str]) -> Table:
    """Read the wanted columns of an Arrow file (Feather) or an Arrow stream, to its last whole batch.

    Raises
    ------
    CaptureError
        If the file is damaged, a wanted column is missing or holds no numbers.
    """
    import pyarrow as pa  # noqa: PLC0415 - 0.1 s that other commands need not pay

    notes: tuple[str, ...] = ()
    with _refusing_damage(name, "Feather"):
        if data.startswith(ARROW_FILE_MARK):
            table = pa.ipc.open_file(pa.BufferReader(data)).read_all()
        else:
            table, notes = _whole_batches(name, data)
        require_columns(name, table.schema.names, wanted)
        return _table(name, table.select(list(wanted)), wanted, notes)


def _whole_batches(name: str, data: bytes) -> tuple[pa.Table, tuple[str, ...]]:
    """Read an Arrow stream up to the place where its writer was interrupted, if it was."""
    import pyarrow as pa  # noqa: PLC0415 - as above

    source = pa.BufferReader(data)
    reader = pa.ipc.open_stream(source)
    batches: list[pa.RecordBatch] = []
    notes: tuple[str, ...] = ()
    try:
        for batch in reader:
            batches.append(batch)  # noqa: PERF402 - what came before the break must stay
    except (pa.ArrowException, OSError):
        notes = (f"{name} breaks off within a batch: read to the last whole one, {len(batches)}",)
    left = len(data) - source.tell()
    if left > 0 and not notes:
        notes = (f"{left} bytes after the end of {name} left out",)
    return pa.Table.from_batches(batches, schema=reader.schema), notes


@contextmanager
def _refusing_damage(name: str, form: str) -> Iterator[None]:
    """Turn what Arrow raises for a damaged file, which has several kinds, into one error."""
    import pyarrow as pa  # noqa: PLC0415 - as above

    try:
        yield
    except (pa.ArrowException, OSError, UnicodeError) as error:
        reason = str(error).partition("\n")[0] or type(error).__name__
        raise CaptureError(
            Problem(
                escape(name),
                f"cannot be read as {form}: {escape(reason)}",
                "a whole file",
                "the logger was interrupted before it closed the file, or the file was cut in copying",
                "copy it again from the logger, or record again",
            )
        ) from None


def _table(name: str, table: pa.Table, wanted: Sequence[str], notes: tuple[str, ...]) -> Table:
    table.validate()  # a damaged file can claim more rows than it holds
    columns: dict[str, Vector] = {}
    own_units: dict[str, str] = {}
    for column in wanted:
        values, unit = _numbers(name, column, table[column])
        columns[column] = values
        if unit:
            own_units[column] = unit
    return Table(name, columns, None, notes, own_units)


def _numbers(name: str, column: str, values: pa.ChunkedArray) -> tuple[Vector, str]:
    """Give a column as float64 and, for a stamp or a duration, the unit its type carries."""
    import pyarrow as pa  # noqa: PLC0415 - as above

    kind: Any = values.type
    if pa.types.is_null(kind):
        return np.full(len(values), np.nan), ""
    if pa.types.is_decimal(kind):
        values, kind = values.cast(pa.float64()), pa.float64()
    if stored_as(kind) is None:
        raise CaptureError(
            Problem(
                f"{name} column {escape(column)}",
                f"holds {escape(str(kind))}",
                "numbers",
                "the numbers were stored as text" if "string" in str(kind) else "another column is meant",
                "convert the column to numbers, or correct the names in the manifest",
            )
        )
    return to_float64(values), getattr(kind, "unit", "")
