"""The mark and the word of each outcome: both always stand together, with or without colour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from benchrig.outcome import Outcome


@dataclass(frozen=True, slots=True)
class Mark:
    """How an outcome is shown.

    Attributes
    ----------
    sign : str
        One letter: what was observed equals the declaration, differs from it, or leaves it open.
    word, short : str
        `short` fits a narrow column.
    role : str
        The name of its colour: ``agrees``, ``differs``, ``open``, ``none``.
    ansi : str
        The terminal's colour codes; blue and vermillion stay apart for every kind of colour vision.
    meaning : str
        For the key.
    """

    sign: str
    word: str
    short: str
    role: str
    ansi: str
    meaning: str


MARKS: Final[Mapping[Outcome, Mark]] = {
    Outcome.PASS: Mark("=", "PASS", "pass", "agrees", "38;2;0;114;178", "as declared"),
    Outcome.FAIL: Mark("≠", "FAIL", "FAIL", "differs", "1;38;2;213;94;0", "not as declared"),
    Outcome.NOT_SHOWN: Mark("?", "NOT SHOWN", "not shown", "open", "2", "too little evidence, never a pass"),
    Outcome.NOT_APPLICABLE: Mark("–", "NOT APPLICABLE", "–", "none", "2", "not applicable"),
}

BY_EYE: Final = "*"
"""Stands beside what one person saw, where no pulse was recorded."""

SEVERITY: Final[Mapping[str, tuple[int, str, str]]] = {
    "fail": (0, "≠", "differs"),
    "not shown": (1, "?", "open"),
    "advice": (2, "i", "none"),
}
"""Rank, mark and colour role of a finding."""


def paint(text: str, codes: str, *, colour: bool) -> str:
    """Wrap text in the terminal's colour codes, if colour is wanted."""
    return f"\x1b[{codes}m{text}\x1b[0m" if colour and codes else text
