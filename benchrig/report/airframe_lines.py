"""Lines for the airframe file as a person can paste them: TOML, under the header of the table they belong to."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Final

from benchrig.measure.measurement import Entry, TomlValue
from benchrig.report.lettering import clean

_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")


def airframe_lines(entries: Sequence[Entry]) -> list[tuple[str, list[tuple[str, str]]]]:
    r"""Write entries as TOML, by the tables they stand in.

    Returns
    -------
    list of (header, list of (line, comment))
        A line may hold line ends where a matrix is written row by row. What steers a terminal is written as its code,
        which TOML reads as the letter it stands for.

    Examples
    --------
    >>> airframe_lines([Entry(("actuator", "tail"), "centre_us", 760, "by sweep")])
    [('[[actuator]]  # "tail"', [('centre_us = 760', 'by sweep')])]
    """
    tables: dict[str, list[tuple[str, str]]] = {}
    for entry in entries:
        line = f"{_key(entry.key)} = {_value(entry.value)}"
        tables.setdefault(_header(entry.table), []).append((line, clean(entry.comment)))
    return list(tables.items())


def _header(table: tuple[str, ...]) -> str:
    if table[0] == "actuator" and len(table) > 1:
        return f"[[actuator]]  # {_text(table[1])}"
    return f"[{'.'.join(_key(name) for name in table)}]"


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _text(name)


def _text(text: str) -> str:
    """Write text as TOML does, whatever does not print as its code."""
    return "".join(map(_letter, json.dumps(text, ensure_ascii=False)))


def _letter(letter: str) -> str:
    if letter.isprintable():
        return letter
    code = ord(letter)
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"  # noqa: PLR2004 - four digits hold the first plane


def _value(value: TomlValue) -> str:
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{_key(key)} = {_value(inner)}' for key, inner in value.items())}}}"
    if isinstance(value, list):
        rows = any(isinstance(inner, list) for inner in value)
        inside = (",\n  " if rows else ", ").join(_value(inner) for inner in value)
        return f"[\n  {inside},\n]" if rows else f"[{inside}]"
    return str(value).lower() if isinstance(value, bool) else str(value)
