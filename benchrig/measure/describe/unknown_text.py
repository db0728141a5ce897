"""Delimited text of which nothing is known: its separator, its names if it has any, and its columns of numbers."""

from __future__ import annotations

import csv
import itertools
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.layout import SEPARATORS, Layout, content_lines, split_fields
from benchrig.capture.numerals import is_number, number
from benchrig.capture.text import plain_text, read_quickly
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector

_LOOKED_AT: Final = 400
"""Lines from which the layout is told."""

_MOSTLY: Final = 0.9
"""Share of the fields of a column that are numbers, where it is a column of numbers; the rest are told."""

Numbered = tuple[int, str]


@dataclass(frozen=True, slots=True, eq=False)
class TextColumns:
    """The columns of numbers of a text, and what else was seen; fields as in `Unknown`."""

    names: tuple[str, ...]
    values: Vector
    has_names: bool
    left_out: Mapping[str, str]
    unit_words: Mapping[str, str]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Sight:
    """How a text is laid out: separator, decimal sign, count of fields, and the line of the first row of numbers."""

    separator: str
    decimal: str
    count: int
    first: int


def read_columns_of_text(place: str, data: bytes) -> TextColumns:
    """Read every column of numbers of a delimited text.

    Parameters
    ----------
    place : str
        The file, for errors.
    data : bytes

    Raises
    ------
    CaptureError
        If it is no text, no row of numbers is found, or a row has another number of fields.
    """
    body, notes = plain_text(place, data)
    text = body.decode()
    lines = list(itertools.islice(content_lines(text), _LOOKED_AT))
    sight = _sight(place, lines)
    names, has_names, header_notes, unit_words = _names(text, lines, sight)
    keys = tuple(map(str, range(sight.count)))
    layout = Layout(sight.separator, sight.decimal, keys, sight.first - 1)
    body, cut = _without_half_line(body, sight)
    numeric = _numeric_columns(body.decode(), layout)
    columns = read_quickly(body, layout, [keys[i] for i in numeric]) if numeric else {}
    faults: dict[int, str] = {}
    if columns is None:
        columns, faults = _read_line_by_line(place, body.decode(), layout, numeric)
    kept = [i for i in numeric if i not in faults]
    left_out = {names[i]: faults.get(i, "holds words") for i in range(sight.count) if i not in kept and names[i]}
    values = np.column_stack([columns[keys[i]] for i in kept]) if kept else np.zeros((0, 0))
    kept_names = tuple(names[i] for i in kept)
    doubled = [name for name, count in Counter(kept_names).items() if count > 1]
    doubts = tuple(
        f'several columns are named "{escape(name)}"; give each a name of its own before `check` reads one of them'
        for name in doubled
    )
    return TextColumns(
        _distinct(kept_names), values, has_names, left_out, unit_words, (*notes, *header_notes, *cut, *doubts)
    )


def _sight(place: str, lines: Sequence[Numbered]) -> _Sight:
    """Take the separator under which most lines have one count of fields, most of them numbers."""
    best: tuple[float, int, _Sight] | None = None
    for separator, decimal in ((s, d) for s in SEPARATORS for d in (".", ",") if s != d):
        split = [(at, _fields(line, separator)) for at, line in lines]
        counts = Counter(len(fields) for _, fields in split if _numbers(fields, decimal))
        if not counts:
            continue
        count = max(counts, key=lambda c: (counts[c] * c, c))
        rows = [(at, f) for at, f in split if len(f) == count and _numbers(f, decimal)]
        fields = [field for _, row in rows for field in row if field]
        share = sum(is_number(field, decimal) for field in fields) / max(len(fields), 1)
        score = share * len(rows) / len(lines)
        if count > 1 and (best is None or (score, count) > best[:2]):
            best = (score, count, _Sight(separator, decimal, count, rows[0][0]))
    if best is None:
        raise CaptureError(
            Problem(
                place,
                "no row of numbers within its first lines",
                "one line a sample, its numbers separated by commas, semicolons, tabs or blanks",
                "the file is not a stream of samples",
                "name another file",
            )
        )
    return best[2]


def _fields(line: str, separator: str) -> list[str]:
    try:
        return split_fields(line, separator)
    except csv.Error:
        return []


def _numbers(fields: Sequence[str], decimal: str) -> bool:
    """Whether at least half of the fields that are not blank are numbers, and at least two."""
    filled = [field for field in fields if field]
    good = sum(is_number(field, decimal) for field in filled)
    return good >= 2 and 2 * good >= len(filled)  # noqa: PLR2004 - one number may be a title's date


def _names(
    text: str, lines: Sequence[Numbered], sight: _Sight
) -> tuple[tuple[str, ...], bool, tuple[str, ...], Mapping[str, str]]:
    """Find the names above the rows; a second line of headings below them; names written as a comment."""
    above = [(at, fields) for at, line in lines if at < sight.first and (fields := _heading(line, sight))]
    if above:
        (at, names), rest = above[0], above[1:]
        words = dict(zip(names, rest[0][1], strict=True)) if rest else {}
        notes = (
            (f"line {rest[0][0]} is a second line of headings: put a # at its start, so that `check` skips it",)
            if rest
            else ()
        )
        return names, True, notes, words
    made_up = tuple(f"c{i + 1}" for i in range(sight.count))
    for at, line in enumerate(text.split("\n")[: sight.first - 1], start=1):
        names = _heading(line.lstrip().lstrip("#"), sight)
        if names and line.lstrip().startswith("#"):
            return (
                names,
                True,
                (f"the names on line {at} are a comment: take the # away, so that `check` finds them",),
                {},
            )
    line = sight.separator.join(made_up)
    shown = f"`{line}`" if sight.separator != "\t" else "the names below, with tabs between them,"
    return made_up, False, (f"the stream has no line of names: put {shown} above its first row, in a copy of it",), {}


def _heading(line: str, sight: _Sight) -> tuple[str, ...]:
    """Give the fields of a line that has as many as the rows have, and no number among them; else nothing."""
    fields = _fields(line, sight.separator)
    if len(fields) == sight.count - 1:
        fields.append("")
    if len(fields) != sight.count or any(is_number(field, sight.decimal) for field in fields) or not any(fields):
        return ()
    return tuple(fields)


def _without_half_line(body: bytes, sight: _Sight) -> tuple[bytes, tuple[str, ...]]:
    """Leave out a last line that was cut while it was written."""
    start = body.rstrip().rfind(b"\n") + 1
    line = body[start:].decode().strip("\n")
    if line.lstrip().startswith("#") or len(_fields(line, sight.separator)) >= sight.count:
        return body, ()
    return body[:start], ("the last line was cut short and is left out",)


def _numeric_columns(text: str, layout: Layout) -> list[int]:
    """Give the columns whose fields are numbers, nearly all of them, in a sample of the rows."""
    rows = [line for _, line in content_lines(text, layout.header_line)]
    step = max(1, len(rows) // _LOOKED_AT)
    sample = [_fields(line, layout.separator) for line in rows[::step]]
    sample = [fields for fields in sample if len(fields) == len(layout.names)]
    found = []
    for i in range(len(layout.names)):
        filled = [fields[i] for fields in sample if fields[i]]
        good = sum(is_number(field, layout.decimal) for field in filled)
        if filled and good >= _MOSTLY * len(filled):
            found.append(i)
    return found


def _read_line_by_line(
    place: str, text: str, layout: Layout, numeric: Sequence[int]
) -> tuple[dict[str, Vector], dict[int, str]]:
    """Read what the quick reader declined, and say which columns hold a word somewhere.

    Raises
    ------
    CaptureError
        If a row has another number of fields than the others.
    """
    faults: dict[int, str] = {}
    rows: list[list[float]] = []
    for at, line in content_lines(text, layout.header_line):
        fields = _fields(line, layout.separator)
        if len(fields) != len(layout.names):
            raise CaptureError(
                Problem(
                    f"{place}:{at}",
                    f"{len(fields)} fields",
                    f"{len(layout.names)}, as in the rows before",
                    "the logger lost bytes while it was writing, or two lines ran into each other",
                    "take this line out and let the gap show, or record again",
                )
            )
        row = []
        for i in numeric:
            try:
                row.append(number(fields[i], layout.decimal))
            except ValueError:
                faults.setdefault(i, f'holds "{escape(fields[i])}" on line {at}')
                row.append(float("nan"))
        rows.append(row)
    table = np.array(rows, dtype=np.float64).reshape(-1, len(numeric))
    return {layout.names[i]: np.ascontiguousarray(table[:, k]) for k, i in enumerate(numeric)}, faults


def _distinct(names: Sequence[str]) -> tuple[str, ...]:
    """Tell names apart that stand more than once by a number, and name the nameless."""
    seen: Counter[str] = Counter()
    distinct = []
    for at, name in enumerate(names):
        plain = name or f"c{at + 1}"
        seen[plain] += 1
        distinct.append(plain if seen[plain] == 1 else f"{plain} ({seen[plain]})")
    return tuple(distinct)
