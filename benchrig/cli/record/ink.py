"""What a terminal can show: its alphabet, its colours, and the signs that stand in where it lacks one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal, cast

from benchrig.cli.terminal import SPELLINGS
from benchrig.outcome import Outcome
from benchrig.report.lettering import clean
from benchrig.report.marks import MARKS

Role = Literal["", "strong", "faint", "agrees", "differs", "open", "none"]
"""How a piece of the screen is meant; its colour follows, and nothing is told by colour alone."""

_CODES: Final[Mapping[Role, str]] = {
    "": "",
    "strong": "1",
    "faint": "2",
    **{cast("Role", mark.role): mark.ansi for mark in MARKS.values()},
}

_PLAIN: Final[Mapping[str, str]] = {**SPELLINGS, "█": "#", "▓": "=", "░": ".", "━": "-", "·": "."}


@dataclass(frozen=True, slots=True)
class Ink:
    """How to write on one terminal.

    Attributes
    ----------
    encoding : str
    colour : bool
    """

    encoding: str = "utf-8"
    colour: bool = False

    def can_show(self, text: str) -> bool:
        """Say whether the terminal's encoding has all of these characters."""
        try:
            text.encode(self.encoding)
        except (UnicodeEncodeError, LookupError):
            return False
        return True

    @property
    def has_blocks(self) -> bool:
        """Whether squares and quarters of squares can be drawn."""
        return self.can_show("█▚░")

    def written(self, text: str) -> str:
        """Make text safe to print, and spell what the terminal lacks.

        Examples
        --------
        >>> Ink("ascii").written("−8.2°")
        '-8.2 deg'
        """
        return self.signs(clean(text))

    def signs(self, text: str) -> str:
        """Spell what the terminal lacks, and leave the spaces as they are."""
        if self.can_show(text):
            return text
        return "".join(letter if self.can_show(letter) else _PLAIN.get(letter, "?") for letter in text)

    def paint(self, text: str, role: Role) -> str:
        """Colour text by its role, where colours are wanted."""
        codes = _CODES[role] if self.colour else ""
        return f"\x1b[{codes}m{text}\x1b[0m" if codes else text


def mark_of(outcome: str) -> tuple[str, Role]:
    """Give the sign and the role of an outcome word; a word of no outcome is open.

    Examples
    --------
    >>> mark_of("fail")
    ('≠', 'differs')
    """
    mark = MARKS[Outcome(outcome)] if outcome in set(Outcome) else MARKS[Outcome.NOT_SHOWN]
    return mark.sign, cast("Role", mark.role)
