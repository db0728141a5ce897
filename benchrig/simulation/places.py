"""Places as people write them: distances along direction words, never signs."""

from __future__ import annotations

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
    place = [0.0, 0.0, 0.0]
    met: dict[int, str] = {}
    for part in text.split(","):
        word, _, number = (piece.strip() for piece in part.partition("="))
        if word not in DIRECTIONS:
            raise _misread(flag, f'"{word}" is no direction', f"words of {', '.join(DIRECTIONS)} with distances in mm")
        axis, sign = DIRECTIONS[word]
        if axis in met:
            raise _misread(flag, f"{met[axis]} and {word} are both given", "one of them")
        met[axis] = word
        distance = _distance(number)
        if not 0.0 <= distance < np.inf:
            raise _misread(
                flag, f'"{number}" after {word} is no distance', "a number of mm, zero or more, such as up=25"
            )
        place[axis] = sign * distance / 1e3 + 0.0
    return place[0], place[1], place[2]


def _distance(number: str) -> float:
    try:
        return float(number)
    except ValueError:
        return float("nan")


def _misread(flag: str, finding: str, expected: str) -> UsageError:
    return UsageError(Problem(flag, finding, expected, act="write it like aft=180,up=25"))
