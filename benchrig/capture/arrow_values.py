"""Arrow columns as numpy arrays, straight from their buffers.

Arrow's own conversions load pandas (0.3 s) for anything with a missing value in it, which a reader need not pay.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from benchrig.geometry.directions import Vector

if TYPE_CHECKING:
    import pyarrow as pa

STORED_AS: Final[Mapping[str, str]] = {
    **{f"{sign}int{bits}": f"{sign}int{bits}" for sign in ("", "u") for bits in (8, 16, 32, 64)},
    "halffloat": "float16",
    "float": "float32",
    "double": "float64",
}
"""Arrow's name of each plain number and numpy's."""


def stored_as(kind: Any) -> str | None:  # noqa: ANN401 - Arrow's types are not annotated
    """Name the numpy type in which an Arrow type keeps its numbers, or None where it keeps none.

    Parameters
    ----------
    kind : pyarrow.DataType
    """
    import pyarrow as pa  # noqa: PLC0415 - 0.1 s that other commands need not pay

    if pa.types.is_timestamp(kind) or pa.types.is_duration(kind) or pa.types.is_time64(kind):
        return "int64"
    return "int32" if pa.types.is_time32(kind) else STORED_AS.get(str(kind))


def to_float64(column: pa.ChunkedArray) -> Vector:
    """Give a column of numbers, stamps or durations as float64, NaN where a value is missing.

    Returns
    -------
    ndarray, shape (len(column),)
        In the column's own unit.
    """
    stored = stored_as(column.type)
    parts = [_part(chunk, np.dtype(stored)) for chunk in column.chunks]
    return np.concatenate(parts) if parts else np.zeros(0)


def _part(chunk: pa.Array, stored: np.dtype[Any]) -> Vector:
    missing, values = chunk.buffers()
    start, end = chunk.offset, chunk.offset + len(chunk)
    if values is None or not len(chunk):
        return np.full(len(chunk), np.nan)
    numbers = np.frombuffer(values, dtype=stored, count=end)[start:].astype(np.float64)
    if missing is not None and chunk.null_count:
        is_there = np.unpackbits(np.frombuffer(missing, dtype=np.uint8), bitorder="little")[start:end]
        numbers[is_there == 0] = np.nan
    return numbers
