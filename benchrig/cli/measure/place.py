"""Latitude and longitude on the command line: a number and a letter, never a sign."""

from __future__ import annotations

import math
import re
from typing import Final

import click

_WRITTEN: Final = re.compile(r"\s*([0-9]+(?:[.,][0-9]*)?)\s*°?\s*([A-Za-z])\s*", re.ASCII)
_BARE: Final = re.compile(r"\s*[+\-−]?\s*[0-9]+(?:[.,][0-9]*)?\s*°?\s*", re.ASCII)


def latitude(text: str) -> float:
    """Read a latitude, as ``52.1N`` or ``33.9S``; radians, north positive.

    Raises
    ------
    click.BadParameter
        If it is not a number and a letter, or over 90°.

    Examples
    --------
    >>> round(math.degrees(latitude("33.9S")), 6)
    -33.9
    """
    return _angle(text, ("N", "S"), 90, "52.1")


def longitude(text: str) -> float:
    """Read a longitude, as ``4.9E`` or ``70.7W``; radians, east positive.

    Raises
    ------
    click.BadParameter
        If it is not a number and a letter, or over 180°.
    """
    return _angle(text, ("E", "W"), 180, "4.9")


def _angle(text: str, letters: tuple[str, str], largest: float, sample: str) -> float:
    written = _WRITTEN.fullmatch(text)
    if written is None or written[2].upper() not in letters:
        lacks = "a sign or a bare number does not say which side is meant" if _BARE.fullmatch(text) else "unreadable"
        raise click.BadParameter(
            f'"{text}": {lacks}; write degrees and a letter: {sample}{letters[0]} or {sample}{letters[1]}'
        )
    degrees = float(written[1].replace(",", "."))
    if degrees > largest:
        raise click.BadParameter(f'"{text}": {largest:g}° at most')
    return math.radians(degrees) * (1.0 if written[2].upper() == letters[0] else -1.0)
