"""TOML files with the line of every key, so that an error found later can name its place.

`tomllib` reads the values; a second, simpler pass over the same text notes where each key stands.
"""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from benchrig.declaration.quotation import escape
from benchrig.declaration.toml_content import decode, read_content
from benchrig.declaration.toml_faults import problem_of_fault
from benchrig.declaration.toml_index import key_lines
from benchrig.errors import BenchrigError, Problem

_MOST_PARTS: Final = 64
_LONG_KEY: Final = re.compile(
    r"""(?<![\w-])(?:(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*){%d}""" % _MOST_PARTS  # noqa: UP031 - braces
)
"""A name of so many parts that tomllib, whose time grows with their square, might never finish."""


@dataclass(frozen=True, slots=True)
class TomlFile:
    """A TOML file as read.

    Attributes
    ----------
    path : Path
    data : dict
        As `tomllib` gives it.
    sha256 : str
        Of the file's bytes, in hexadecimal.
    lines : mapping of tuple to int
        Line, from 1, of every key path; an entry of a list is named by its index, from 0.
    """

    path: Path
    data: dict[str, Any]
    sha256: str
    lines: Mapping[tuple[str | int, ...], int]

    def line(self, *keys: str | int) -> int | None:
        """Give the line of a key, or of the nearest table above it that stands in the file; None if none does."""
        for length in range(len(keys), 0, -1):
            if keys[:length] in self.lines:
                return self.lines[keys[:length]]
        return None

    def place(self, *keys: str | int) -> str:
        """Name file and line of a key, or of the nearest table above it; only the file where no line is known.

        Examples
        --------
        >>> TomlFile(Path("dunlin.toml"), {}, "", {("sensor",): 5}).place("sensor", "axes")
        'dunlin.toml:5'
        """
        line = self.line(*keys)
        name = escape(self.path.name)
        return name if line is None else f"{name}:{line}"


def read_toml(path: Path, *, error: type[BenchrigError], what: str) -> TomlFile:
    """Read a TOML file of at most 1 MB.

    Parameters
    ----------
    path : Path
    error : type
        The error to raise.
    what : str
        What the file is, for messages: "airframe file" or "manifest".

    Raises
    ------
    BenchrigError
        Of the type `error`: if there is no such file, it may not be read, is not UTF-8 text or not TOML.
    """
    content = read_content(path, error, what)
    text = decode(content, path, error, what)
    name = escape(path.name)
    long_key = _LONG_KEY.search(text)
    if long_key:
        place = f"{name}:{text.count(chr(10), 0, long_key.start()) + 1}"
        finding = f"more than {_MOST_PARTS} names joined by dots"
        raise error(Problem(place, finding, act="write it in tables, as the documentation shows"))
    try:
        data = tomllib.loads(text)
        lines = key_lines(text)
    except (ValueError, RecursionError) as fault:
        raise error(problem_of_fault(fault, text, name, what)) from None
    return TomlFile(path, data, hashlib.sha256(content).hexdigest(), lines)
