"""An unknown stream: all its columns of numbers, whatever they are called, and what else stands in the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np

from benchrig.capture.arrow_values import stored_as
from benchrig.capture.columnar import read_arrow, read_parquet
from benchrig.capture.stream import KINDS, MARKS, READABLE, read_bytes
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector
from benchrig.measure.describe.unknown_text import read_columns_of_text

ENDINGS: Final[Mapping[str, str]] = {"text": ".csv", "Parquet": ".parquet", "Feather": ".feather"}
"""The ending by which `check` knows each kind of file."""


@dataclass(frozen=True, slots=True, eq=False)
class Unknown:
    """Every column of numbers of a stream.

    Attributes
    ----------
    path : Path
    kind : {"text", "Parquet", "Feather"}
        By the content.
    names : tuple of str, length C
        As they stand in the file, or made up where it has none.
    values : ndarray, shape (R, C)
        In the file's own units; NaN where a field is blank.
    has_names : bool
        Whether the names stand in the file.
    left_out : mapping of str to str
        Columns that hold no numbers, and what was found in them.
    unit_words : mapping of str to str
        What a second line of headings says of a column.
    own_units : mapping of str to str
        The unit that a column of stamps carries in its type.
    notes : tuple of str
        What `check` would need changed, and what was left out.
    """

    path: Path
    kind: str
    names: tuple[str, ...]
    values: Vector
    has_names: bool
    left_out: Mapping[str, str] = field(default_factory=dict)
    unit_words: Mapping[str, str] = field(default_factory=dict)
    own_units: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def stream_name(self) -> str:
        """The name under which `check` reads the file: its own, with the ending that its content asks for."""
        if KINDS.get(self.path.suffix.lower()) == self.kind:
            return self.path.name
        return f"{self.path.stem}{ENDINGS[self.kind]}"


def read_unknown(path: Path) -> Unknown:
    """Read every column of numbers of a stream of text, Parquet or Arrow.

    Raises
    ------
    CaptureError
        If the file cannot be read, or holds fewer than two columns of numbers.
    """
    data = read_bytes(path)
    kind = next((kind for mark, kind in MARKS if data.startswith(mark)), "text")
    if kind not in READABLE:
        raise CaptureError(
            Problem(
                escape(path.name),
                f"its content is {kind}",
                "a stream of samples as text, Parquet or Feather",
                act="unpack it, or export the recording in one of these forms",
            )
        )
    found = _of_text(path, data) if kind == "text" else _of_columns(path, data, kind)
    if len(found.names) < 2:  # noqa: PLR2004 - a clock and one reading
        raise CaptureError(
            Problem(
                escape(path.name),
                f"{len(found.names) or 'no'} column{'' if len(found.names) == 1 else 's'} of numbers",
                "columns of a gyro and an accelerometer, side by side",
                "the file is a list of something else, or its fields are separated by an unusual sign",
                "name another file; commas, semicolons, tabs and blanks are understood as separators",
            )
        )
    return found


def _of_text(path: Path, data: bytes) -> Unknown:
    columns = read_columns_of_text(escape(path.name), data)
    return Unknown(
        path,
        "text",
        columns.names,
        columns.values,
        columns.has_names,
        left_out=columns.left_out,
        unit_words=columns.unit_words,
        notes=columns.notes,
    )


def _of_columns(path: Path, data: bytes, kind: str) -> Unknown:
    schema = _schema(path, data, kind)
    names, left_out = [], {}
    for column in schema:
        if list(schema.names).count(column.name) > 1:
            left_out[column.name] = "its name stands in the file more than once"
        elif stored_as(column.type) is None and not str(column.type).startswith("decimal"):
            left_out[column.name] = f"holds {escape(str(column.type))}"
        else:
            names.append(column.name)
    read = read_parquet if kind == "Parquet" else read_arrow
    table = read(path.name, data, names)
    values = table.group(names) if names else np.zeros((0, 0))
    return Unknown(
        path, kind, tuple(names), values, True, left_out=left_out, own_units=table.own_units, notes=table.notes
    )


def _schema(path: Path, data: bytes, kind: str) -> Any:  # noqa: ANN401 - Arrow's types are not annotated
    import pyarrow as pa  # noqa: PLC0415 - 0.1 s that text need not pay
    from pyarrow import parquet  # noqa: PLC0415 - the same

    try:
        if kind == "Parquet":
            return parquet.ParquetFile(pa.BufferReader(data)).schema_arrow
        opened = pa.ipc.open_file if data.startswith(b"ARROW1") else pa.ipc.open_stream
        return opened(pa.BufferReader(data)).schema
    except (pa.ArrowException, OSError, UnicodeError) as error:
        reason = str(error).partition("\n")[0] or type(error).__name__
        raise CaptureError(
            Problem(
                escape(path.name),
                f"cannot be read as {kind}: {escape(reason)}",
                "a whole file",
                "the file was cut in copying",
                "copy it again",
            )
        ) from None
