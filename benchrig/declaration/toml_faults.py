"""What is wrong with a text that is not TOML, in a builder's words."""

from __future__ import annotations

import re
from typing import Final

from benchrig.declaration.quotation import escape
from benchrig.errors import Problem

_PLACE: Final = re.compile(r"^(?P<message>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)$")
_HUGE_INTEGER: Final = re.compile(r"(?<![0-9_])[0-9_]{4000,}")
_DEEP: Final = re.compile(r"(?:[\[{][^\[{\]}]{0,40}){20}")

_QUOTES: Final = 'put text in quotation marks: name = "front"'
_CUT_SHORT: Final = "a missing quotation mark, comma or line end, or a date that does not exist"
_TWICE: Final = "keep one of the two"
_FAULTS: Final[tuple[tuple[str, str, str, str], ...]] = (
    ("Invalid value", "no value that TOML knows", "text without quotation marks, or a decimal comma", _QUOTES),
    ("Expected newline", "more on this line than one value", _CUT_SHORT, ""),
    (
        "Expected '=' after",
        "a key without '='",
        "a missing '=', or a key of two words without '_'",
        "write key = value",
    ),
    ("Invalid initial character for a key", "no key where one should stand", "a stray sign", "write key = value"),
    ("Invalid statement", "neither a key nor a [table]", "a stray sign", "write key = value, or begin a note with #"),
    ("Expected ']'", "a [table] name that is not closed", "a missing ']' or a name of two words", ""),
    ("Expected \"'", "a text that is not closed", "a missing quotation mark", ""),
    (
        "Cannot declare",
        "this table stands twice, or was closed above",
        "a copied table",
        f"{_TWICE}; actuators are written [[actuator]]",
    ),
    ("Cannot overwrite a value", "this key stands twice", "a copied line", _TWICE),
    ("Duplicate inline table key", "this key stands twice between { and }", "a copied entry", _TWICE),
    ("Cannot mutate immutable", "this adds to a table that is already closed", "it was written { … } above", _TWICE),
    ("Cannot redefine namespace", "this adds to a table that is already closed", "it was written above", _TWICE),
    ("Unclosed array", "a list that is not closed", "a missing ']' or comma", ""),
    ("Unclosed inline table", "a table that is not closed", "a missing '}' or comma, or a line end inside { }", ""),
    ("Unescaped '\\'", "a backslash that begins no known escape", "a Windows path", "write / or \\\\ for it"),
    ("Unterminated string", "a text that is not closed", "a missing quotation mark", ""),
    ("Illegal character", "a text that is not closed on its line", "a missing quotation mark", ""),
    ("Found invalid character", "a control character", "text copied from elsewhere", "type the line anew"),
    ("Invalid date", "a date or time that does not exist", "a slip in the date", "write 2026-11-25T10:00:00Z"),
    ("Invalid hex value", "a \\u escape without its digits", "a Windows path", "write / or \\\\ for a backslash"),
    ("Escaped character", "a \\u escape that stands for no character", "", "write the character itself"),
)
"""How tomllib's message begins, what it means, the likely cause, and what to do."""


def problem_of_fault(fault: ValueError | RecursionError, text: str, name: str, what: str) -> Problem:
    r"""Say in plain words why a text is not TOML.

    Parameters
    ----------
    fault : ValueError or RecursionError
        What tomllib raised.
    text : str
        What it was given, with ``\n`` for every line's end.
    name : str
        The file's name, safe to show.
    what : str
        What the file is: "airframe file" or "manifest".

    Returns
    -------
    Problem
    """
    if isinstance(fault, RecursionError):
        return _without_line(_DEEP, text, name, "lists or tables nested too deeply to read", f"no {what} needs that")
    match = _PLACE.match(str(fault).replace("\n", " "))
    if match is None:
        return _without_line(_HUGE_INTEGER, text, name, "a number with thousands of digits", "write a sensible number")
    message = match["message"]
    line, column = _position(match, text)
    read = _quoted_line(text, line, column)
    for start, finding, cause, act in _FAULTS:
        if message.startswith(start):
            return Problem(f"{name}:{line}", f"{finding}{read}", "TOML", cause, act or "mend the line")
    return Problem(f"{name}:{line}", f"not TOML: {escape(message)}{read}", act="mend the line")


def _without_line(pattern: re.Pattern[str], text: str, name: str, finding: str, act: str) -> Problem:
    match = pattern.search(text)
    place = f"{name}:{text.count(chr(10), 0, match.start()) + 1}" if match else name
    return Problem(place, finding, act=act)


def _position(match: re.Match[str], text: str) -> tuple[int, int]:
    """Give line and column; where tomllib stopped at a line's end, what is wrong stands before it."""
    if match["line"] is None:
        return text.rstrip("\n").count("\n") + 1, 1
    return int(match["line"]), int(match["column"])


def _quoted_line(text: str, line: int, column: int) -> str:
    content = text.split("\n", line)[line - 1]
    read = content[max(0, column - 40) :].strip()
    return f" in ‘{escape(read)}’" if read else ""
