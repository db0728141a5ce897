"""How a delimited text stream is laid out: separator, decimal sign, and the line with the column names.

Nothing is guessed from letter counts: the layout is the one under which a line holds every column the manifest names.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from benchrig.capture.numerals import is_number
from benchrig.capture.table import require_columns
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem

SEPARATORS = (",", ";", "\t", " ")
SEPARATOR_NAMES = {",": "commas", ";": "semicolons", "\t": "tabs", " ": "blanks"}
HEADER_WITHIN = 60
DECIMALS_WITHIN = 200


@dataclass(frozen=True, slots=True)
class Layout:
    """The layout of one text stream.

    Attributes
    ----------
    separator : str
        A blank stands for any run of blanks and tabs.
    decimal : str
        "." or ",".
    names : tuple of str
        Of all columns, in the order of the file.
    header_line : int
        The line with the names, from 1.
    notes : tuple of str
    """

    separator: str
    decimal: str
    names: tuple[str, ...]
    header_line: int
    notes: tuple[str, ...] = ()


def split_fields(line: str, separator: str) -> list[str]:
    """Split one line into its fields, without the blanks around them.

    Raises
    ------
    csv.Error
        If a quotation mark is not closed on the same line.
    """
    if separator == " ":
        return [part.strip('"') for part in line.split()]
    if '"' not in line:
        return [part.strip() for part in line.split(separator)]
    row = next(csv.reader([line.strip("\n")], delimiter=separator, skipinitialspace=True, strict=True))
    return [part.strip() for part in row]


def content_lines(text: str, after: int = 0) -> Iterator[tuple[int, str]]:
    r"""Give the lines that are neither blank nor a comment, with their numbers from 1.

    Parameters
    ----------
    text : str
        With ``\n`` as its only line end.
    after : int
        Leave out this many lines at the start.
    """
    for number, line in enumerate(text.split("\n"), start=1):
        content = line.lstrip()
        if number > after and content and not content.startswith("#"):
            yield number, line


def find_layout(name: str, text: str, wanted: Sequence[str]) -> Layout:
    r"""Find the header of a text stream and the separator and decimal sign it uses.

    Parameters
    ----------
    name : str
        Of the file, for errors.
    text : str
        The start of the file, with ``\n`` as its only line end.
    wanted : sequence of str
        The columns that the manifest names.

    Raises
    ------
    CaptureError
        If no line near the start holds all the wanted names, or one of them twice.
    """
    separator, names, number, skipped = _header(name, text, wanted)
    place = f"{name}:{number}"
    require_columns(place, names, wanted)
    names = _with_trailing_blank(text, separator, names, number)
    notes = (f"{skipped} lines before the column names left out",) if skipped else ()
    return Layout(separator, _decimal(text, separator, names, number, wanted), names, number, notes)


def _header(name: str, text: str, wanted: Sequence[str]) -> tuple[str, tuple[str, ...], int, int]:
    """Find the first line that holds every wanted name; failing that, the first line at all."""
    first: tuple[str, tuple[str, ...], int, int] | None = None
    for skipped, (number, line) in enumerate(content_lines(text)):
        if skipped >= HEADER_WITHIN:
            break
        readings = [(separator, _names(line, separator)) for separator in SEPARATORS]
        separator, names = max(readings, key=lambda r: (len(set(wanted) & set(r[1])), r[0] != " ", len(r[1])))
        if set(wanted) <= set(names):
            return separator, names, number, skipped
        if first is None:
            first = (separator, names, number, 0)
    if first is None:
        raise CaptureError(_no_rows(name))
    separator, names, number, _ = first
    if any(is_number(field) for field in names):
        raise CaptureError(_no_header(name, text, number, wanted))
    return first


def _names(line: str, separator: str) -> tuple[str, ...]:
    try:
        return tuple(split_fields(line, separator))
    except csv.Error:
        return ()


def _no_rows(name: str) -> Problem:
    return Problem(
        name,
        "no line holds anything but blanks and comments",
        "a line of column names and then one line a sample",
        "the recording was stopped before the first sample",
        "record again",
    )


def _no_header(name: str, text: str, number: int, wanted: Sequence[str]) -> Problem:
    """Say that the first line holds numbers, and where the names are if they are commented out."""
    act = "write the column names above it, and name them in the manifest"
    for at, line in enumerate(text.split("\n")[: number - 1], start=1):
        bare = line.lstrip().lstrip("#")
        if any(set(wanted) <= set(_names(bare, separator)) for separator in SEPARATORS):
            act = f"take away the # before the column names on line {at}"
    first = next(line for at, line in content_lines(text, number - 1) if at == number)
    return Problem(
        f"{name}:{number}",
        f'the first line that is not a comment is "{escape(first)}", which holds numbers',
        "a line of column names",
        "the logger wrote no header, or wrote it as a comment",
        act,
    )


def _with_trailing_blank(text: str, separator: str, names: tuple[str, ...], header: int) -> tuple[str, ...]:
    """Add a nameless last column where the rows, but not the header, end with a separator."""
    _, line = next(content_lines(text, header), (0, ""))
    fields = _names(line, separator)
    return (*names, "") if len(fields) == len(names) + 1 and not fields[-1] else names


def _decimal(text: str, separator: str, names: Sequence[str], header: int, wanted: Sequence[str]) -> str:
    """Take the first decimal sign that a wanted field uses; a comma only where it separates nothing."""
    if separator == ",":
        return "."
    at = [names.index(column) for column in wanted]
    for count, (_, line) in enumerate(content_lines(text, header)):
        if count >= DECIMALS_WITHIN:
            break
        fields = _names(line, separator)
        for sign in (field.strip("+-0123456789")[:1] for i, field in enumerate(fields) if i in at):
            if sign in (",", "."):
                return sign
    return "."
