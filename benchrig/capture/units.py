"""The units a manifest may name, what each is in SI, and values that no unit of this trade can give."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.table import Table
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY

DEGREE: Final = float(np.pi / 180)

UNITS: Final[Mapping[str, Mapping[str, float]]] = {
    "time": {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9},
    "gyro": {"deg/s": DEGREE, "rad/s": 1.0},
    "accelerometer": {"g": STANDARD_GRAVITY, "m/s2": 1.0},
    "magnetometer": {"uT": 1e-6, "gauss": 1e-4},
    "unit_attitude": {"deg": DEGREE, "rad": 1.0},
    "temperature": {"C": 1.0},
    "actuators": {"us": 1e-6, "ms": 1e-3, "s": 1.0},
}
"""For each group of columns: the words for its unit, and how much of SI one of it is."""

COUNTABLE: Final = ("gyro", "accelerometer", "magnetometer")
"""The groups that may come as raw counts."""

COUNTS_16_BIT: Final = 32768
ABSURD: Final[Mapping[str, tuple[float, str]]] = {
    "gyro": (50_000 * DEGREE, "50,000 deg/s"),
    "accelerometer": (1000 * STANDARD_GRAVITY, "1,000 g"),
}
"""Beyond any sensor one would fit: 20 times the usual 2000 deg/s, 60 times the usual 16 g (common practice)."""


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit of a group of columns.

    Attributes
    ----------
    word : str
        "deg/s", say; for raw counts, the unit that `count` of them make.
    factor : float
        By which the numbers are multiplied to give SI.
    count : float or None
        Raw counts to one `word`; None where the numbers are in `word` already.
    """

    word: str
    factor: float
    count: float | None = None

    def __str__(self) -> str:
        """Say it as in a sentence."""
        return self.word if self.count is None else f"counts of {self.count:g} to one {self.word}"


@dataclass(frozen=True, slots=True)
class Group:
    """Columns that belong together: their names, in the order of the axes, their unit, and where that stands."""

    names: tuple[str, ...]
    unit: Unit
    place: str


def unit_of(group: str, word: str, count: float | None = None) -> Unit:
    """Build a unit from a group's word and, for raw counts, how many of them make one.

    Examples
    --------
    >>> round(unit_of("accelerometer", "g", 2048.0).factor * 2048, 5)
    9.80665
    """
    factor = UNITS[group][word]
    return Unit(word, factor if count is None else factor / count, count)


def full_scale(raw: Vector, unit: Unit) -> float | None:
    """Give the largest value that raw counts of 16 bits can hold, SI; None where the columns are not such counts.

    Parameters
    ----------
    raw : ndarray, shape (N, 3)
        As in the file.
    unit : Unit
    """
    is_counts = unit.count is not None and bool(np.all(raw == np.rint(raw)))
    if not is_counts or np.abs(raw + 0.5).max() > COUNTS_16_BIT:
        return None
    return COUNTS_16_BIT * unit.factor


def refuse_absurd(kind: str, group: Group, table: Table) -> None:
    """Refuse values that no sensor gives, and say which unit they are likely to be in.

    Parameters
    ----------
    kind : {"gyro", "accelerometer"}
    group : Group
    table : Table

    Raises
    ------
    CaptureError
        Naming the first such row, its column and the likely unit.
    """
    limit, words = ABSURD[kind]
    raw = table.group(group.names)
    beyond = np.abs(raw * group.unit.factor) > limit
    if not beyond.any():
        return
    row, axis = (int(i) for i in np.argwhere(beyond)[0])
    raise CaptureError(
        Problem(
            table.place(row, group.names[axis]),
            f"{raw[row, axis]:g} {group.unit}, in {int(beyond.any(axis=1).sum()):,} of {len(raw):,} rows",
            f"no more than {words}",
            _likely_unit(kind, raw, group.unit),
            f"correct the unit of {kind} ({group.place})",
        )
    )


def _likely_unit(kind: str, raw: Vector, unit: Unit) -> str:
    word = "deg/s" if kind == "gyro" else "g"
    if unit.count is not None:
        return f"count is how many raw counts make one {unit.word}, and not the other way round; or a spike"
    if np.all(raw == np.rint(raw)):
        return f'raw counts: unit = {{ lsb_per = "{word}", count = … }}, from the data sheet; or a spike'
    if kind == "accelerometer" and _is_a_thousand(raw):
        return 'thousandths of g: unit = { lsb_per = "g", count = 1000 }'
    others: Sequence[str] = [other for other in UNITS[kind] if other != unit.word]
    return f"the columns are in {' or '.join(others)} or in raw counts; or a spike"


def _is_a_thousand(raw: Vector) -> bool:
    """Say whether the numbers have the size that thousandths of g have at rest."""
    size = float(np.median(np.linalg.norm(raw, axis=1)))
    return 700 < size < 1400  # noqa: PLR2004 - 1000 at rest, with room for a poor sensor and for movement
