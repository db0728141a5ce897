"""Which unit a size fits: what gravity, the turn of the bench by the gyro, or the earth's field come to in a column."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.units import DEGREE
from benchrig.geometry.gravity import STANDARD_GRAVITY

_ROOM: Final = 0.12
"""How far a size may be off its unit: check holds the angles of gyro and gravity to 15 %."""

_ROOM_OF_COUNTS: Final = 0.065
"""The same between the counts of two usual ranges, which lie as near as 14 %."""

ACCELEROMETER: Final = (("g", None, 1.0), ("m/s2", None, STANDARD_GRAVITY), ("g", 1000.0, 1000.0))
"""Unit word, counts to one of it, and the size of gravity: g, m/s², thousandths of g."""

ACCELEROMETER_COUNTS: Final = tuple(float(2**bits) for bits in range(6, 16))
"""Counts to one g of units of 8 to 16 bits and ±1 to ±16 g: powers of two (common practice)."""

GYRO: Final = (("rad/s", None, 1.0), ("deg/s", None, DEGREE), ("deg/s", 1000.0, DEGREE / 1000))
"""Unit word, counts to one of it, and how many rad/s one is."""

GYRO_COUNTS: Final = (131.072, 65.536, 32.768, 16.384, 8.192, 114.286, 57.143, 28.571, 14.286, 1000.0, 100.0, 10.0)
"""Counts to one deg/s: 16 bits over ±250, 500, 1000, 2000, 4000 deg/s; 8.75, 17.5, 35, 70 millidegrees/s a count
(data sheets of consumer units, from memory); and decimal fractions."""

FIELD: Final = (20.0, 70.0)
"""µT: the earth's field is 22 to 67 µT (World Magnetic Model, from memory), with room for gains that are off."""

MAGNETOMETER: Final = (("uT", None, 1.0), ("gauss", None, 0.01), ("gauss", 1000.0, 10.0), ("uT", 1000.0, 1000.0))
"""Unit word, counts to one of it, and its size to one µT."""


@dataclass(frozen=True, slots=True)
class FoundUnit:
    """The unit of a group of columns.

    Attributes
    ----------
    word : str
        "deg/s", say.
    count : float or None
        Raw counts to one of it.
    is_sure : bool
    why : str
    """

    word: str
    count: float | None
    is_sure: bool
    why: str


def accelerometer_unit(size: float, *, is_whole: bool) -> FoundUnit:
    """Name the unit in which gravity has a size.

    Examples
    --------
    >>> found = accelerometer_unit(2051.3, is_whole=True)
    >>> found.word, found.count, found.is_sure
    ('g', 2048.0, True)
    """
    for word, count, gravity in ACCELEROMETER:
        if (count is not None or not is_whole) and abs(size / gravity - 1) < _ROOM:
            return FoundUnit(word, count, True, f"at rest they read {size:.4g}: {_named(word, count)}")
    if is_whole:
        nearest = min(ACCELEROMETER_COUNTS, key=lambda c: abs(np.log(size / c)))
        if abs(size / nearest - 1) < _ROOM:
            return FoundUnit(
                "g", nearest, True, f"whole numbers of {size:.4g} at rest, near {nearest:g} counts to one g"
            )
    why = f"at rest they read {size:.4g}, which is gravity in no usual unit: a wrong range or scale, or counts"
    return FoundUnit("g", _three(size), False, f"{why}; the count is what was measured")


def gyro_unit(scale: float, *, is_whole: bool) -> FoundUnit:
    """Name the unit of a gyro of which one is so many rad/s by gravity's turning.

    Parameters
    ----------
    scale : float, rad/s
    is_whole : bool
        Whether the columns hold whole numbers alone.

    Examples
    --------
    >>> found = gyro_unit(0.001064, is_whole=True)
    >>> found.word, found.count, found.is_sure
    ('deg/s', 16.384, True)
    """
    count = DEGREE / scale
    for word, counts, size in GYRO:
        if (counts is not None or not is_whole) and abs(size / scale - 1) < _ROOM:
            ratio = size / scale
            return FoundUnit(
                word, counts, True, f"gravity turns {1 / ratio:.3f} times as far as they say in {_named(word, counts)}"
            )
    if is_whole:
        nearest = min(GYRO_COUNTS, key=lambda c: abs(np.log(count / c)))
        if abs(count / nearest - 1) < _ROOM_OF_COUNTS:
            why = f"whole numbers; by gravity's turning {count:.4g} make one deg/s, near {nearest:g}"
            return FoundUnit("deg/s", nearest, True, why)
    why = f"by gravity's turning {count:.4g} of them make one deg/s, which is no usual unit: a wrong range or scale"
    return FoundUnit("deg/s", _three(count), False, f"{why}; the count is what was measured")


def magnetometer_unit(size: float, *, is_whole: bool) -> FoundUnit:
    """Name the unit in which the earth's field has a size; for raw counts nothing is sure, since places differ.

    Examples
    --------
    >>> magnetometer_unit(48.0, is_whole=False).word
    'uT'
    """
    for word, count, to_microtesla in MAGNETOMETER:
        if (count is not None or not is_whole) and FIELD[0] < size / to_microtesla < FIELD[1]:
            return FoundUnit(word, count, not is_whole, f"a field of {size:.4g}: {_named(word, count)}")
    low, high = size / FIELD[1], size / FIELD[0]
    why = f"a field of {size:.4g}; the earth's would be that with {low:.3g} to {high:.3g} counts to one uT"
    return FoundUnit("uT", _three(size / 48.0), False, f"{why}: take the count from the data sheet")


def _named(word: str, count: float | None) -> str:
    return word if count is None else f"thousandths of {word}"


def _three(number: float) -> float:
    """Round to three digits."""
    return float(f"{number:.3g}")
