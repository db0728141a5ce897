"""What the names of columns hint at. A hint is never evidence: it breaks ties, and is told where it disagrees."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

_WORDS: Final[Mapping[str, re.Pattern[str]]] = {
    "gyro": re.compile(r"gyr|angular|omega|rate|^[w][xyz]$|^g[_ ]?[xyz]$|^[pqr]$", re.IGNORECASE),
    "accelerometer": re.compile(r"acc|specific|force|^a[_ ]?[xyz]$|^f[_ ]?[xyz]$", re.IGNORECASE),
    "magnetometer": re.compile(r"mag|compass|field|^m[_ ]?[xyz]$|^h[xyz]$|^b[xyz]$", re.IGNORECASE),
    "temperature": re.compile(r"temp|therm|(^|[^a-z])degc|celsius", re.IGNORECASE),
    "unit_attitude": re.compile(r"roll|pitch|yaw|heading|phi|theta|psi|euler|attitude", re.IGNORECASE),
}
"""Words of the trade in a name, by group."""

_CLOCK: Final = re.compile(r"time|stamp|^t$|^t_|_us$|_ms$|_ns$|micros|millis|seconds|^sec", re.IGNORECASE)
_COUNTER: Final = re.compile(r"count|packet|seq|index|sample|frame|^row|^n$|^no\.?$|^nr\.?$|^id$", re.IGNORECASE)
_AXIS: Final = re.compile(r"(?<![a-z])[a-z]?([xyz])(?![a-z])|([xyz])$", re.IGNORECASE)


def group_by_name(name: str) -> str:
    """Name the group that a column's name speaks of; empty where it says none, or two.

    Examples
    --------
    >>> group_by_name("Gyroscope X (deg/s)"), group_by_name("c3")
    ('gyro', '')
    """
    found = [group for group, words in _WORDS.items() if words.search(name.strip())]
    return found[0] if len(found) == 1 else ""


def axis_by_name(name: str) -> int | None:
    """Give the axis, 0 to 2, that a name ends in or sets apart; None where it says none, or more than one.

    Examples
    --------
    >>> axis_by_name("gx"), axis_by_name("Accelerometer Y (g)"), axis_by_name("max"), axis_by_name("c3")
    (0, 1, None, None)
    """
    letters = {(m[1] or m[2]).lower() for m in _AXIS.finditer(name.partition("(")[0].strip())}
    if name.lower().endswith("max"):
        return None
    return "xyz".index(letters.pop()) if len(letters) == 1 else None


def axes_by_name(names: Sequence[str]) -> tuple[int, int, int] | None:
    """Give where the columns of x, y and z stand among three names; None unless each is named once.

    Examples
    --------
    >>> axes_by_name(["az", "ax", "ay"])
    (1, 2, 0)
    """
    axes = [axis_by_name(name) for name in names]
    if sorted(a for a in axes if a is not None) != [0, 1, 2]:
        return None
    return axes.index(0), axes.index(1), axes.index(2)


def is_clock_by_name(name: str) -> bool:
    """Whether a name speaks of time, and not of counting."""
    return bool(_CLOCK.search(name.strip())) and not _COUNTER.search(name)


def counts_by_name(name: str) -> bool:
    """Whether a name speaks of counting, and not of time."""
    return bool(_COUNTER.search(name.strip())) and not _CLOCK.search(name)


_UNITS: Final[Mapping[str, tuple[tuple[str, re.Pattern[str]], ...]]] = {
    "gyro": (
        ("deg/s", re.compile(r"deg/s|deg_s|dps|°/s", re.IGNORECASE)),
        ("rad/s", re.compile(r"rad/s|rad_s", re.IGNORECASE)),
    ),
}


def gyro_unit_by_name(words: str) -> str:
    """Give the unit that a gyro's name or its line of units speaks of; empty where it says none.

    Examples
    --------
    >>> gyro_unit_by_name("Gyroscope X (deg/s)")
    'deg/s'
    """
    return next((unit for unit, pattern in _UNITS["gyro"] if pattern.search(words)), "")


def triple_by_name(names: Sequence[str], columns: Sequence[int], group: str) -> tuple[int, int, int] | None:
    """Give the three columns whose names speak of a group, in the order x, y, z where they say it.

    Parameters
    ----------
    names : sequence of str
        Of all columns.
    columns : sequence of int
        Among which to look.
    group : str

    Returns
    -------
    tuple of int, or None
        None unless there are exactly three.
    """
    named = [c for c in columns if group_by_name(names[c]) == group]
    if len(named) != 3:  # noqa: PLR2004 - x, y and z
        return None
    places = axes_by_name([names[c] for c in named]) or (0, 1, 2)
    return named[places[0]], named[places[1]], named[places[2]]
