"""How text that came from a file is shown to a person: escaped, shortened, beside the nearest word that is allowed."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from datetime import date, datetime, time
from typing import Final

_LONGEST: Final = 60
"""Characters of foreign text that a message repeats."""

_ESCAPES: Final = {"\n": "\\n", "\t": "\\t", "\r": "\\r"}


def escape(text: str, limit: int = _LONGEST) -> str:
    r"""Make foreign text safe and short enough for a message.

    Whatever does not print (control characters, terminal sequences, marks that turn the writing direction) is written
    as its code, so that a file can neither steer a terminal nor hide what it says.

    Examples
    --------
    >>> print(escape("tail\x1b[2J"))
    tail\u001b[2J
    """
    head = text[: limit + 1]
    shown = "".join(c if c.isprintable() else _ESCAPES.get(c, f"\\u{ord(c):04x}") for c in head[:limit])
    return f"{shown}…" if len(text) > limit else shown


def quote(value: object) -> str:
    """Show a value as its TOML file would write it.

    Examples
    --------
    >>> quote("nose up"), quote(True), quote({"aft": 180})
    ('"nose up"', 'true', '{ aft = 180 }')
    """
    if isinstance(value, str):
        return f'"{escape(value)}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, datetime):
        return escape(value.isoformat())
    if isinstance(value, date | time):
        return str(value)
    if isinstance(value, list | dict):
        return _quote_nested(value)
    return escape(_number(value))


def _number(value: object) -> str:
    # Python refuses to write out very large integers: their length says enough
    if isinstance(value, int) and value.bit_length() > 200:  # noqa: PLR2004 - about 60 digits, all that is shown
        return f"an integer of {value.bit_length()} bits"
    return f"{value:g}" if isinstance(value, float) and abs(value) == float("inf") else str(value)


def _quote_nested(value: list[object] | dict[str, object]) -> str:
    """Show a list or table by its first entries; one inside another is only named."""
    entries: list[tuple[str, object]]
    entries = (
        [(f"{escape(k)} = ", v) for k, v in value.items()] if isinstance(value, dict) else [("", v) for v in value]
    )
    shown = [label + (_BRACKETS[type(v)][2] if isinstance(v, list | dict) else quote(v)) for label, v in entries[:4]]
    if len(entries) > len(shown):
        shown.append("…")
    opening, closing, _ = _BRACKETS[type(value)]
    return f"{opening}{', '.join(shown)}{closing}" if shown else f"{opening.strip()}{closing.strip()}"


_BRACKETS: Final[dict[type, tuple[str, str, str]]] = {list: ("[", "]", "[…]"), dict: ("{ ", " }", "{…}")}


def kind_of(value: object) -> str:
    """Name the kind of a TOML value, for "expected …, found a boolean".

    Examples
    --------
    >>> kind_of(False), kind_of([1])
    ('a boolean', 'a list')
    """
    kinds: tuple[tuple[type, str], ...] = (
        (str, "a text"),
        (bool, "a boolean"),
        (int, "a whole number"),
        (float, "a number"),
        (datetime, "a date and time"),
        (date, "a date"),
        (time, "a time of day"),
        (list, "a list"),
        (dict, "a table"),
    )
    return next((name for kind, name in kinds if isinstance(value, kind)), type(value).__name__)


def nearest(word: str, allowed: Iterable[str]) -> str | None:
    """Find the allowed word that a misspelt one most likely stands for, or None.

    Examples
    --------
    >>> nearest("foward", ["forward", "aft"])
    'forward'
    """
    words = {candidate.casefold(): candidate for candidate in allowed}
    found = difflib.get_close_matches(word[:_LONGEST].casefold().replace("_", " "), words, n=1, cutoff=0.6)
    found = found or difflib.get_close_matches(word[:_LONGEST].casefold(), words, n=1, cutoff=0.6)
    return words[found[0]] if found else None


def listed(words: Iterable[str]) -> str:
    """List words in quotation marks.

    Examples
    --------
    >>> listed(["up", "down", "left"])
    '"up", "down" or "left"'
    """
    quoted = [f'"{word}"' for word in words]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"
