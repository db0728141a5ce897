"""What can go wrong with a port, a sentence each: what was found, the likely cause, what to do.

The page docs/how-to/when-the-port-says.md has a section for each.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from benchrig.declaration.quotation import escape
from benchrig.errors import Problem

LONGEST: Final = 200
"""Characters of a port's name or of the system's words that are repeated."""

_ADMINISTRATORS: Final = ("root", "wheel")
NO_PORTS: Final = "there is none"


@dataclass(frozen=True, slots=True)
class Sentence:
    """The parts of a `Problem`, with places to be filled in."""

    finding: str
    expectation: str = ""
    cause: str = ""
    act: str = ""


SENTENCES: Final[Mapping[str, Sentence]] = {
    "no ports": Sentence(
        "this computer has no serial port",
        cause="the unit is not plugged in, or its cable can charge and nothing else",
        act="plug the unit in by a cable that carries data, and run the command again",
    ),
    "no such port": Sentence(
        "is not there",
        "one of the ports of this computer: {there}",
        "a slip of the pen, or it was given another name when it was plugged in",
        "name one of those, or --port auto",
    ),
    "no rights": Sentence(
        "may not be opened: {reason}",
        cause="ports belong to the group {group}, and you are not in it",
        act="have yourself added to that group, log in again, and run the command again",
    ),
    "administrator's": Sentence(
        "may be opened by the administrator alone: {reason}",
        cause="no rule of this system gives ports of its kind to a group",
        act="give it to a group that you are in, and run the command again; do not run benchrig as the administrator",
    ),
    "busy": Sentence(
        "is in use",
        "a port that no other program has open",
        "another program reads it: a terminal, a monitor, or benchrig a second time",
        "close that program, and run the command again",
    ),
    "not a port": Sentence(
        "is no serial port",
        "one of the ports of this computer: {there}",
        "the name of a file stands where the port's should",
        "name one of those, or --port auto",
    ),
    "cannot open": Sentence(
        "cannot be opened: {reason}",
        cause="the port is failing, or its driver refuses {baud} bits a second",
        act="pull the plug and put it in again, or correct `baud` in the device file",
    ),
    "unplugged": Sentence(
        "is gone",
        cause="its plug was pulled, or the unit lost its power",
        act="plug it in again: what was recorded is kept, and recording goes on by itself",
    ),
    "shared": Sentence(
        "said that there was something to read, and gave nothing",
        cause="two programs read this port, or its plug came loose for a moment",
        act="close the other program; what was recorded is kept, but some of what the unit sent may be missing",
    ),
    "silent": Sentence(
        "is open, and nothing has come for {seconds} s",
        "{unit}",
        "the unit has no power, its transmitting pin is not on the adapter's receiving pin, or it waits to be started",
        "check power and wires: the unit's transmit goes to the adapter's receive, and ground to ground",
    ),
    "wrong speed": Sentence(
        "at {baud} bits a second what comes is no row of {unit}; at {speed} it is",
        cause="the unit is set to another speed than the device file says",
        act="write baud = {found} in {file}",
    ),
    "garbage": Sentence(
        "{amount} bytes have come, and {share} of them are rows of {unit}; they begin {sample}",
        cause="another unit than the device file's, the unit's speed is another, or its signal is turned round",
        act="check that {file} is this unit's file; the speeds tried are: {tried}",
    ),
    "other columns": Sentence(
        "its lines have {found} fields",
        "{wanted} fields, as {file} says",
        "the unit was set to send other columns, or the file is another unit's",
        "correct `order` in the device file, or what the unit sends",
    ),
    "no names": Sentence(
        "its lines came without the names of their columns",
        "a line of names, since {file} gives no order",
        "the unit names them once, when it starts, and had started before",
        "start the unit while the port is open, or write `order` under [lines] in the device file",
    ),
    "damaged": Sentence(
        "{share} of its rows come damaged and are left out",
        "next to none",
        "a long or loose wire, no common ground, a speed that is a little off, or motors beside the wire",
        "shorten the wires, check the ground, and keep motors off",
    ),
    "losing": Sentence(
        "{share} of the unit's rows never come",
        "next to none",
        "the unit sends more than {baud} bits a second carry, or it drops rows itself",
        "set the unit and the device file to a higher speed, or let it send fewer rows",
    ),
    "began again": Sentence(
        "its clock broke off: {note}",
        cause="the unit started again, since its power failed for a moment or its plug moved",
        act="what was recorded is kept, and recording goes on; a motion that it fell into is best made again",
    ),
    "several fit": Sentence(
        "{names} send rows of {unit}",
        "one port that does",
        "two units are plugged in",
        "name the one that is fitted to this airframe: --port NAME",
    ),
    "none fits": Sentence(
        "no port sends rows of {unit}: {seen}",
        cause="the unit has no power, or {file} is another unit's",
        act="check power and wires, or name the port: --port NAME tells more",
    ),
    "not started": Sentence(
        "no port sends rows of {unit} by itself, and {file} has a text that starts it, which is not written to "
        "ports that may belong to something else: {seen}",
        "one port alone, or its name",
        act="name the port: --port NAME",
    ),
}
"""By the code of the trouble; a note in braces is filled in where it happens."""

OVER: Final[Mapping[str, Sentence]] = {
    "unplugged": Sentence("is there again, and recording goes on; what it sent between is missing"),
    "shared": Sentence("gives rows again"),
    "silent": Sentence("gives rows again"),
    "garbage": Sentence("gives rows of {unit} again"),
    "other columns": Sentence("gives rows of {unit} again"),
    "no names": Sentence("gives rows of {unit} again"),
    "damaged": Sentence("gives whole rows again"),
    "losing": Sentence("gives every row again"),
    "began again": Sentence("goes on evenly"),
}
"""What is said when a trouble has ended."""


def trouble(code: str, place: str, **parts: object) -> Problem:
    """Give the sentence of a trouble.

    Parameters
    ----------
    code : str
        Of `SENTENCES`.
    place : str
        Usually the port; made printable here.
    parts : object
        What stands in the sentence's braces, printable.
    """
    return _filled(SENTENCES[code], place, parts)


def ended(code: str, place: str, **parts: object) -> Problem:
    """Give the sentence of a trouble that has ended; `code` is of `OVER`."""
    return _filled(OVER[code], place, parts)


def _filled(sentence: Sentence, place: str, parts: Mapping[str, object]) -> Problem:
    texts = (sentence.finding, sentence.expectation, sentence.cause, sentence.act)
    return Problem(escape(place, LONGEST), *(text.format(**parts) for text in texts))


def cannot_open(name: str, number: int | None, reason: str, baud: int = 0) -> Problem:
    """Say why a port cannot be opened.

    Parameters
    ----------
    name : str
    number : int or None
        The system's, of `errno`.
    reason : str
        The system's words.
    baud : int
        Bits a second that were asked for.
    """
    words = escape(os.strerror(number) if number is not None else reason, LONGEST)
    if number in {errno.ENOENT, errno.ENODEV, errno.ENXIO}:
        return trouble("no such port", name, there=ports_in_words())
    if number in {errno.EACCES, errno.EPERM}:
        group = _group_of(name)
        code = "administrator's" if group in _ADMINISTRATORS else "no rights"
        return trouble(code, name, reason=words, group=group)
    if number in {errno.EBUSY, errno.EAGAIN}:
        return trouble("busy", name)
    if number in {errno.ENOTTY, errno.EINVAL, errno.EISDIR}:
        return trouble("not a port", name, there=ports_in_words())
    return trouble("cannot open", name, reason=words, baud=f"{baud:,}" if baud else "so many")


def ports_in_words(names: Sequence[object] | None = None) -> str:
    """List ports; those that are there where none are given."""
    from benchrig.capture.port.listing import ports  # noqa: PLC0415 - asks the system, which only an error needs

    there = ports() if names is None else names
    return ", ".join(map(str, there)) if there else NO_PORTS


def _group_of(name: str) -> str:
    """Name the group that a port belongs to; the usual one where the system does not tell."""
    try:
        return escape(Path(name).group())
    except (OSError, KeyError, NotImplementedError):
        return "dialout"
