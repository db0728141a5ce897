"""Output that any terminal can show: what its alphabet lacks is spelled plainly instead of stopping the program."""

from __future__ import annotations

import codecs
import io
import os
import shutil
import sys
from collections.abc import Mapping
from typing import Final, TextIO

SPELLINGS: Final[Mapping[str, str]] = {
    "−": "-",
    "×": "x",
    "·": ".",
    "±": "+/-",
    "°": " deg",
    "µ": "u",
    "μ": "u",
    "√": "sqrt ",
    "≠": "!=",
    "━": "-",
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
    "↻": "cw",
    "↺": "ccw",
}
"""A minus sign that came out as "?" could be taken for nothing, and the mark of a fail for the mark of a doubt; so the
signs this program writes have a spelling."""

HANDLER: Final = "benchrig.spelled"
PLAIN: Final = "benchrig_plain"


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


WIDEST: Final = 100
NARROWEST: Final = 60
"""Columns of a report: longer lines are hard to read, shorter ones break its tables."""


def report_width() -> int:
    """Give the columns that a report may use on this terminal."""
    return min(max(shutil.get_terminal_size().columns, NARROWEST), WIDEST)


def tell(text: str) -> None:
    """Write to standard error: broken at words where a person reads it on a terminal, as it is anywhere else."""
    import click  # noqa: PLC0415 - whoever only asks for the width needs none

    click.echo(broken(text, sys.stderr), err=True)


def broken(text: str, stream: TextIO) -> str:
    """Break text at words where a stream is a terminal that is wide enough to read it; else leave it as it is."""
    from benchrig.report.lettering import wrap  # noqa: PLC0415 - whoever only asks for the width needs none

    try:
        columns = os.get_terminal_size(stream.fileno()).columns if stream.isatty() else 0
    except (AttributeError, OSError, ValueError):
        return text
    if columns < _READABLE:
        return text
    return "\n".join(piece for line in text.split("\n") for piece in wrap(line, columns, rest="  "))


_READABLE: Final = 20
"""Columns below which no breaking at words helps."""


def is_written(stream: TextIO, text: str) -> bool:
    """Write at once and whole, and say whether anybody can read it: a terminal may go away, and a recording goes on."""
    raw = getattr(stream, "buffer", None)
    try:
        if not isinstance(raw, io.RawIOBase):
            stream.write(text)
            stream.flush()
            return True
        # unbuffered (PYTHONUNBUFFERED), a write that a signal cuts short is left so by Python, within a character too
        left = memoryview(text.encode(stream.encoding, stream.errors or "strict"))
        while left and (taken := raw.write(left)):
            left = left[taken:]
    except (OSError, ValueError):
        return False
    return not left


def wants_colour(asked: bool | None) -> bool:  # noqa: FBT001 - three answers: yes, no, and not asked
    """Say whether to colour: as asked, or where a terminal shows it and nobody refused it."""
    if asked is not None:
        return asked
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def never_refuse(*streams: object) -> None:
    """Let text streams spell what their encoding lacks; anything else is left as it is."""
    codecs.register_error(HANDLER, spell)
    codecs.register(_plain_letters)
    for stream in streams:
        if isinstance(stream, io.TextIOWrapper):
            is_ascii = codecs.lookup(stream.encoding).name == "ascii"
            stream.reconfigure(encoding=PLAIN if is_ascii else None, errors=HANDLER)


def _plain_letters(name: str) -> codecs.CodecInfo | None:
    """Give ASCII under a name of its own: click takes ASCII itself for a mistake, and would write UTF-8 instead."""
    if name != PLAIN:
        return None
    ascii_ = codecs.lookup("ascii")
    return codecs.CodecInfo(
        name=PLAIN,
        encode=ascii_.encode,
        decode=ascii_.decode,
        incrementalencoder=ascii_.incrementalencoder,
        incrementaldecoder=ascii_.incrementaldecoder,
    )
