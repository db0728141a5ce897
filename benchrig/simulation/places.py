"""Places as people write them: distances along direction words, never signs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from benchrig.errors import Problem, UsageError
from benchrig.geometry.directions import DIRECTIONS, Vector

Place = tuple[float, float, float]
"""Forward, right, down, m from the centre of gravity."""


def place_words(place_mm: Vector) -> dict[str, float]:
    """Write a place as distances along direction words.

    Examples
    --------
    >>> place_words(np.array([-180.0, 0.0, 25.0]))
    {'aft': 180.0, 'right': 0.0, 'down': 25.0}
    """
    forward, right, down = (round(float(part), 3) for part in place_mm)
    return {
        "forward" if forward >= 0 else "aft": abs(forward),
        "right" if right >= 0 else "left": abs(right),
        "down" if down >= 0 else "up": abs(down),
    }


def written(place: Place) -> str:
    """Write a place as it stands on the command line, mm.

    Examples
    --------
    >>> written((-0.18, 0.0, -0.025))
    'aft=180,up=25'
    """
    words = place_words(1e3 * np.array(place))
    return ",".join(f"{word}={distance:g}" for word, distance in words.items() if distance) or "forward=0"


def parse_place(flag: str, text: str) -> Place:
    """Read a place as it stands on the command line, such as ``aft=180,up=25`` (mm).

    Raises
    ------
    UsageError
        If a word is no direction, a distance no number of zero or more, or two words are about one line.

    Examples
    --------
    >>> parse_place("--hang-point-mm", "aft=180, up=25")
    (-0.18, 0.0, -0.025)
    """
    forward, right, down = _parse(flag, text, DIRECTIONS, "aft=180,up=25")
    return forward / 1e3, right / 1e3, down / 1e3


COMPASS_POINTS: Final[Mapping[str, tuple[int, int]]] = {
    "north": (0, 1), "south": (0, -1), "east": (1, 1), "west": (1, -1), "down": (2, 1), "up": (2, -1),
}  # fmt: skip


def parse_field(flag: str, text: str) -> tuple[float, float, float]:
    """Read the earth's field as it stands on the command line, such as ``north=20,down=45`` (µT).

    Raises
    ------
    UsageError
        As for a place.

    Examples
    --------
    >>> parse_field("--field-ut", "north=20, west=1, down=45")
    (20.0, -1.0, 45.0)
    """
    return _parse(flag, text, COMPASS_POINTS, "north=20,down=45")


def field_written(field_ut: tuple[float, float, float]) -> str:
    """Write the earth's field as it stands on the command line, µT.

    Examples
    --------
    >>> field_written((20.0, -1.0, 45.0))
    'north=20.0,west=1.0,down=45.0'
    """
    pairs = (("north", "south"), ("east", "west"), ("down", "up"))
    parts = [
        f"{word if part > 0 else other}={abs(part)!r}"
        for part, (word, other) in zip(field_ut, pairs, strict=True)
        if part
    ]
    return ",".join(parts)


def _parse(flag: str, text: str, words: Mapping[str, tuple[int, int]], example: str) -> tuple[float, float, float]:
    """Read numbers along words, each line at most once."""
    found = [0.0, 0.0, 0.0]
    met: dict[int, str] = {}
    act = f"write it like {example}"
    for part in text.split(","):
        word, _, number = (piece.strip() for piece in part.partition("="))
        if word not in words:
            raise UsageError(Problem(flag, f'"{word}" is no direction', f"words of {', '.join(words)}", act=act))
        axis, sign = words[word]
        if axis in met:
            raise UsageError(Problem(flag, f"{met[axis]} and {word} are both given", "one of them", act=act))
        met[axis] = word
        size = _size(number)
        if not 0.0 <= size < np.inf:
            raise UsageError(Problem(flag, f'"{number}" after {word} is no size', "a number, zero or more", act=act))
        found[axis] = sign * size + 0.0
    return found[0], found[1], found[2]


def _size(number: str) -> float:
    try:
        return float(number)
    except ValueError:
        return float("nan")
