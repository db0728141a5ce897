"""Output that any terminal can show: what its alphabet lacks is spelled plainly instead of stopping the program."""

from __future__ import annotations

import codecs
import io
from collections.abc import Mapping
from typing import Final

SPELLINGS: Final[Mapping[str, str]] = {
    "−": "-",
    "×": "x",
    "·": ".",
    "±": "+/-",
    "°": " deg",
    "µ": "u",
    "μ": "u",
    "√": "sqrt ",
    "²": "2",
    "³": "3",
    "≤": "<=",
    "≥": ">=",
    "≈": "about ",
    "→": "->",
    "←": "<-",
    "–": "-",
    "—": "-",
    "‘": "'",
    "’": "'",
    "“": '"',
    "”": '"',
    "…": "...",
}
"""A minus sign that came out as "?" could be taken for nothing; so the signs this program writes have a spelling."""

HANDLER: Final = "benchrig.spelled"


def spell(error: UnicodeError) -> tuple[str, int]:
    """Spell what could not be encoded; a character without a spelling becomes a question mark.

    Raises
    ------
    UnicodeError
        If it is about reading, which no spelling can mend.

    Examples
    --------
    >>> codecs.register_error(HANDLER, spell)
    >>> "−8.2 ± 0.4 m/s²".encode("ascii", HANDLER)
    b'-8.2 +/- 0.4 m/s2'
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end]
    return "".join(SPELLINGS.get(character, "?") for character in lost), error.end


def never_refuse(*streams: object) -> None:
    """Let text streams spell what their encoding lacks; anything else is left as it is."""
    codecs.register_error(HANDLER, spell)
    for stream in streams:
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=HANDLER)
