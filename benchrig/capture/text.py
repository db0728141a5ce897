"""Delimited text streams: a quick reader for what is clean, and an exact one that names what is not.

Both give the same numbers; the quick one only ever declines. So a fault costs a second pass, and a clean file does not.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence

import numpy as np

from benchrig.capture.arrow_values import to_float64
from benchrig.capture.layout import SEPARATOR_NAMES, Layout, content_lines, find_layout, split_fields
from benchrig.capture.numerals import is_number, number
from benchrig.capture.table import Table
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector

_COMMENT = re.compile(rb"^[ \t]*#[^\n]*\n?", re.MULTILINE)
_BLANKS = re.compile(rb"[ \t]+")
_EDGE_BLANKS = re.compile(rb"^ | $", re.MULTILINE)
_HEAD_BYTES = 1 << 18


def read_text(name: str, data: bytes, wanted: Sequence[str], required: Sequence[str] = ()) -> Table:
    """Read the wanted columns of a delimited text stream.

    Parameters
    ----------
    name : str
        Of the file, for errors.
    data : bytes
        The whole file.
    wanted : sequence of str
        The columns to read.
    required : sequence of str
        Those of them that have a value in every row: a last row that lacks one was cut.

    Returns
    -------
    Table
        A blank field is NaN.

    Raises
    ------
    CaptureError
        If it is not text, a wanted column is missing, a row is ragged, or a wanted field is not a number.
    """
    body, notes = plain_text(name, data)
    layout = find_layout(name, body[:_HEAD_BYTES].decode(errors="ignore"), wanted)
    body, cut = _without_cut_line(name, body, layout, wanted, required)
    columns = read_quickly(body, layout, wanted)
    if columns is None:
        columns = read_exactly(name, body.decode(), layout, wanted)

    def line_of(row: int) -> int:
        lines = content_lines(body.decode(), layout.header_line)
        return next(line for at, (line, _) in enumerate(lines) if at == row)

    return Table(name, columns, line_of, (*notes, *layout.notes, *cut))


def plain_text(name: str, data: bytes) -> tuple[bytes, tuple[str, ...]]:
    r"""Bring the bytes to UTF-8 with ``\n`` as their only line end.

    Returns
    -------
    bytes
    tuple of str
        What was done, where it was more than line ends and a byte order mark.

    Raises
    ------
    CaptureError
        If there are zero bytes anywhere but at the very end.
    """
    notes = []
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        data = data.decode("utf-16", errors="replace").encode()
        notes.append("read as UTF-16")
    data = data.removeprefix(b"\xef\xbb\xbf")
    full = len(data)
    if data.endswith(b"\0"):
        data = data.rstrip(b"\0")
        notes.append(f"{full - len(data)} zero bytes at the end of the stream left out")
    if b"\0" in data:
        raise CaptureError(_zero_bytes(name, data))
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    try:
        data.decode()
    except UnicodeDecodeError:
        data = data.decode("latin-1").encode()
        notes.append("not UTF-8: read as Latin-1")
    return data, tuple(notes)


def _zero_bytes(name: str, data: bytes) -> Problem:
    line = data[: data.index(b"\0")].count(b"\n") + 1
    return Problem(
        f"{name}:{line}",
        "a zero byte",
        "plain text",
        "this is a binary file, or the logger lost power while it was writing",
        "export the recording as text, Parquet or Feather, or record again",
    )


def _without_cut_line(
    name: str, body: bytes, layout: Layout, wanted: Sequence[str], required: Sequence[str]
) -> tuple[bytes, tuple[str, ...]]:
    """Leave out a last line that was cut while it was being written: too few fields, or a half-written number."""
    content = len(body.rstrip())
    end = body.find(b"\n", content)
    start = body.rfind(b"\n", 0, content) + 1
    line = body[start : len(body) if end < 0 else end].decode()
    line_number = body.count(b"\n", 0, start) + 1
    if line_number <= layout.header_line or line.lstrip().startswith("#"):
        return body, ()
    if _is_cut(line, layout, wanted, required, ended=end >= 0):
        return body[:start], (f"the last line of {escape(name)} ({line_number}) was cut short and is left out",)
    return body, ()


def _is_cut(line: str, layout: Layout, wanted: Sequence[str], required: Sequence[str], *, ended: bool) -> bool:
    try:
        fields = split_fields(line, layout.separator)
    except csv.Error:
        return not ended
    if len(fields) < len(layout.names):
        return True
    if ended or len(fields) > len(layout.names) or layout.names[-1] not in wanted:
        return False
    if not fields[-1]:
        return layout.names[-1] in required
    return not is_number(fields[-1], layout.decimal)


def read_quickly(body: bytes, layout: Layout, wanted: Sequence[str]) -> dict[str, Vector] | None:
    """Read with Arrow's reader, or decline with None where anything is out of the ordinary.

    Arrow's own rules are narrowed until only a number or a blank passes: no words for "missing", no quoted blanks.
    The count of rows is compared with the count of lines, since a stray quotation mark would swallow some in silence.
    """
    import pyarrow as pa  # noqa: PLC0415 - 0.1 s that other commands need not pay
    from pyarrow import csv as arrow_csv  # noqa: PLC0415 - the same

    rows = _rows_only(body, layout)
    keys = [str(index) for index in range(len(layout.names))]
    kept = [str(layout.names.index(name)) for name in wanted]
    try:
        table = arrow_csv.read_csv(
            pa.BufferReader(rows),
            read_options=arrow_csv.ReadOptions(column_names=keys),
            parse_options=arrow_csv.ParseOptions(delimiter=layout.separator),
            convert_options=arrow_csv.ConvertOptions(
                include_columns=kept,
                column_types=dict.fromkeys(kept, pa.float64()),
                null_values=[""],
                strings_can_be_null=False,
                quoted_strings_can_be_null=False,
                decimal_point=layout.decimal,
            ),
        )
    except pa.ArrowInvalid:
        return None
    if table.num_rows != rows.count(b"\n") + 1:
        return None
    return {name: to_float64(table[key]) for name, key in zip(wanted, kept, strict=True)}


def _rows_only(body: bytes, layout: Layout) -> bytes:
    """Cut off the header and the comments, and make every run of blanks one where blanks separate."""
    start = 0
    for _ in range(layout.header_line):
        start = body.find(b"\n", start) + 1 or len(body)
    rows = body[start:]
    if b"#" in rows:
        rows = _COMMENT.sub(b"", rows)
    if layout.separator == " ":
        rows = _EDGE_BLANKS.sub(b"", _BLANKS.sub(b" ", rows))
    return rows.strip(b"\n")


def read_exactly(name: str, text: str, layout: Layout, wanted: Sequence[str]) -> dict[str, Vector]:
    """Read line by line, and name the first place that cannot be read.

    Raises
    ------
    CaptureError
        Naming the line and the column.
    """
    at = [layout.names.index(column) for column in wanted]
    values: list[list[float]] = []
    for line_number, line in content_lines(text, layout.header_line):
        fields = _fields(name, line_number, line, layout)
        try:
            values.append([number(fields[index], layout.decimal) for index in at])
        except ValueError:
            raise CaptureError(_not_a_number(name, line_number, fields, layout, at, first=not values)) from None
    table = np.array(values, dtype=np.float64).reshape(-1, len(at))
    return {column: np.ascontiguousarray(table[:, index]) for index, column in enumerate(wanted)}


def _fields(name: str, line_number: int, line: str, layout: Layout) -> list[str]:
    place = f"{name}:{line_number}"
    try:
        fields = split_fields(line, layout.separator)
    except csv.Error:
        raise CaptureError(
            Problem(
                place,
                f'a quotation mark that is not closed on its line: "{escape(line)}"',
                "quotation marks in pairs",
                "a stray character from the logger",
                "take it out, or record again",
            )
        ) from None
    if len(fields) != len(layout.names):
        raise CaptureError(_ragged(place, fields, layout))
    return fields


def _ragged(place: str, fields: Sequence[str], layout: Layout) -> Problem:
    cause = "the logger lost bytes while it was writing, or two lines ran into each other"
    if layout.separator == "," and len(fields) > len(layout.names):
        cause = "decimal commas in a file that commas separate, or two lines that ran into each other"
    return Problem(
        place,
        f"{len(fields)} fields separated by {SEPARATOR_NAMES[layout.separator]}",
        f"{len(layout.names)}, one for each column name on line {layout.header_line}",
        cause,
        "record again, or take this line out and let the gap show",
    )


def _not_a_number(
    name: str, line_number: int, fields: Sequence[str], layout: Layout, at: Sequence[int], *, first: bool
) -> Problem:
    index = next(i for i in at if fields[i] and not is_number(fields[i], layout.decimal))
    sign = "point" if layout.decimal == "." else "comma"
    cause, act = "the logger wrote a word for a missing value", "leave a missing value blank"
    if first and not any(is_number(fields[i], layout.decimal) for i in at):
        cause, act = "a second line of headings, such as units", "put a # at the start of that line"
    elif is_number(fields[index].replace(",", "."), "."):
        cause, act = f"points and commas are mixed; the rest of the file uses the decimal {sign}", "write all alike"
    return Problem(
        f"{name}:{line_number} column {escape(layout.names[index])}",
        f'"{escape(fields[index])}" is not a number',
        f"a number with a decimal {sign}, or a blank where there is no new value",
        cause,
        act,
    )
