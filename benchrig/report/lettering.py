"""Lettering: text made safe to show, measured in terminal columns, shortened and wrapped."""

from __future__ import annotations

import unicodedata
from typing import Final

_HIDDEN: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories that steer a terminal or a reader instead of being read."""


NO_BREAK: Final = "\N{NO-BREAK SPACE}"


def clean(text: str) -> str:
    r"""Make text from a file safe to print: what steers a terminal is spelled out, white space becomes one space.

    Escape sequences, control characters, marks that reverse the reading direction and lone surrogates never reach
    the screen; they are shown as their code, so that a reader sees that something was there.

    Examples
    --------
    >>> clean("fro\x1b[2Jnt\tservo")
    'fro\\x1b[2Jnt servo'
    """
    return " ".join(word for word in "".join(_shown(letter) for letter in text).split(" ") if word)


def tight(text: str) -> str:
    """Hold text together on one line: its spaces become no-break spaces."""
    return text.replace(" ", NO_BREAK)


def _shown(letter: str) -> str:
    if letter in "\t\n\r\v\f":
        return " "
    if unicodedata.category(letter) not in _HIDDEN:
        return letter
    code = ord(letter)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"  # noqa: PLR2004 - two digits hold a byte


def columns(text: str) -> int:
    """Count the terminal columns that text takes: wide letters take two, combining marks none.

    Examples
    --------
    >>> columns("≠ FAIL"), columns("尾")
    (6, 2)
    """
    return sum(_columns_of(letter) for letter in text)


def _columns_of(letter: str) -> int:
    if unicodedata.combining(letter):
        return 0
    return 2 if unicodedata.east_asian_width(letter) in {"W", "F"} else 1


def shorten(text: str, width: int) -> str:
    """Clean text and cut it to `width` columns; a cut shows as "…".

    Examples
    --------
    >>> shorten("rear left upper rotor", 10)
    'rear left…'
    """
    whole = clean(text)
    if columns(whole) <= width:
        return whole
    kept, used = "", 1
    for letter in whole:
        used += _columns_of(letter)
        if used > width:
            break
        kept += letter
    return kept.rstrip() + "…"


def shorten_middle(text: str, width: int) -> str:
    """Clean text and cut it in the middle, where names that share their beginning still differ at their end.

    Examples
    --------
    >>> shorten_middle("rear left upper rotor 2", 10)
    'rear…tor 2'
    """
    whole = clean(text)
    if columns(whole) <= width:
        return whole
    tail = ""
    for letter in reversed(whole):
        if columns(tail) + _columns_of(letter) > width // 2:
            break
        tail = letter + tail
    return shorten(whole, width - columns(tail)) + tail.lstrip()


def pad(text: str, width: int) -> str:
    """Fill text with spaces to `width` columns."""
    return text + " " * max(0, width - columns(text))


def wrap(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """Clean text and break it into lines of at most `width` columns.

    Parameters
    ----------
    text : str
    width : int
    first : str
        What the first line begins with.
    rest : str or None
        What the other lines begin with; None for as many spaces as `first` has columns.

    Examples
    --------
    >>> wrap("turn the tail servo", 12, "1. ")
    ['1. turn the', '   tail', '   servo']
    """
    indent = " " * columns(first) if rest is None else rest
    lines, line, empty = [], first, True
    for word in clean(text).split(" "):
        for piece in _pieces(word, max(1, width - max(columns(first), columns(indent)))):
            gap = "" if empty else " "
            if not empty and columns(line + gap + piece) > width:
                lines.append(line)
                line, gap = indent, ""
            line, empty = line + gap + piece, False
    lines.append(line)
    return lines


def _pieces(word: str, width: int) -> list[str]:
    if columns(word) <= width:
        return [word]
    pieces, piece = [], ""
    for letter in word:
        if columns(piece + letter) > width:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]
