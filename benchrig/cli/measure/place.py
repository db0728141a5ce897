"""Latitude and longitude on the command line: a number and a letter, never a sign."""

from __future__ import annotations

import math
import re
from typing import Final

import click

_WRITTEN: Final = re.compile(r"\s*([0-9]+(?:[.,][0-9]*)?)\s*°?\s*([A-Za-z])\s*", re.ASCII)
_BARE: Final = re.compile(r"\s*[+\-−]?\s*[0-9]+(?:[.,][0-9]*)?\s*°?\s*", re.ASCII)


class Angle(click.ParamType):
    """Degrees followed by one of two letters, as ``52.1N``; converted to radians, the first letter positive.

    Parameters
    ----------
    letters : str
        The positive one, then the negative one: ``"NS"`` or ``"EW"``.
    largest : float
        Degrees.

    Examples
    --------
    >>> round(math.degrees(Angle("NS", 90).convert("33.9S", None, None)), 6)
    -33.9
    """

    name = "angle"

    def __init__(self, letters: str, largest: float) -> None:
        self.letters = letters
        self.largest = largest

    def get_metavar(self, param: click.Parameter, ctx: click.Context | None = None) -> str:  # noqa: ARG002 - click's signature
        """Show the form in the help."""
        return f"DEGREES[{'|'.join(self.letters)}]"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read an angle.

        Raises
        ------
        click.BadParameter
            If it is not a number and a letter, or too large.
        """
        if isinstance(value, float):
            return value
        text = str(value)
        first, second = self.letters
        written = _WRITTEN.fullmatch(text)
        if written is None or written[2].upper() not in self.letters:
            sample = "52.1" if first == "N" else "4.9"
            lacks = (
                "a sign or a bare number does not say which side is meant" if _BARE.fullmatch(text) else "unreadable"
            )
            self.fail(f'"{text}": {lacks}; write degrees and a letter: {sample}{first} or {sample}{second}', param, ctx)
        degrees = float(written[1].replace(",", "."))
        if degrees > self.largest:
            self.fail(f'"{text}": {self.largest:g}° at most', param, ctx)
        return math.radians(degrees) * (1.0 if written[2].upper() == first else -1.0)
