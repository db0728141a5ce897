"""Gyro and accelerometer as they are proposed: what the physics shows, how surely, and what would make it surer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from benchrig.declaration.quotation import escape
from benchrig.measure.describe.choosing import LARGEST_MISS, Choice
from benchrig.measure.describe.description import Proposed
from benchrig.measure.describe.handedness import Axes, explained, order_axes
from benchrig.measure.describe.hints import group_by_name
from benchrig.measure.describe.pairing import NOTHING

COLUMNS_SURE: Final = 9.0
"""Log-likelihood by which the gyro's columns must lead over any other set."""

VECTOR_SURE: Final = 4.0
"""The same for the accelerometer's columns over any other vector; see `choosing`."""

FEWEST_MOVES: Final = 5

MOVE_IT: Final = (
    "record 30 s in which the unit is turned by hand by 30° or more about all three axes, with half a second of rest "
    "before and after each turn, and then waved freely"
)


@dataclass(frozen=True, slots=True, eq=False)
class Sensors:
    """What is proposed for gyro and accelerometer.

    Attributes
    ----------
    proposed : tuple of Proposed
        Gyro, then accelerometer; empty where nothing was found.
    axes : Axes or None
    agreement : str
    is_sure : bool
        Whether the columns of both are sure; their units may still not be.
    confirms_clock : bool
        Whether gravity gives the gyro a usual unit, which a wrong clock would not.
    copies : mapping of str to str
        Other columns that say the same.
    """

    proposed: tuple[Proposed, ...]
    axes: Axes | None
    agreement: str
    is_sure: bool
    confirms_clock: bool
    copies: Mapping[str, str] = field(default_factory=dict)


def propose_sensors(choice: Choice | None, names: Sequence[str]) -> Sensors:
    """Make a proposal of what was chosen.

    Parameters
    ----------
    choice : Choice or None
    names : sequence of str
        Of all columns.
    """
    if choice is None:
        said = "nothing was turned so that gyro and accelerometer could show each other"
        return Sensors((), None, said, False, False)
    found, contest = choice.pair, choice.contest
    axes = order_axes(names, found.vector.columns, contest.turner, min(contest.order_margin, contest.sign_margin))
    held = len(found.passages) >= FEWEST_MOVES and found.missed < LARGEST_MISS and choice.gyro_fits
    is_sure = held and choice.column_margin >= COLUMNS_SURE and choice.lead >= VECTOR_SURE
    return Sensors(
        (_gyro(choice, axes, names, is_sure=is_sure), _accelerometer(choice, axes, names, is_sure=is_sure)),
        axes,
        explained(axes, names),
        is_sure,
        is_sure and choice.gyro.is_sure and choice.gyro.count is None,
        _copies(choice, names),
    )


def _gyro(choice: Choice, axes: Axes, names: Sequence[str], *, is_sure: bool) -> Proposed:
    moves, missed = len(choice.pair.passages), np.degrees(choice.pair.missed)
    return Proposed(
        "gyro",
        tuple(names[c] for c in axes.gyro),
        choice.gyro.word,
        choice.gyro.count,
        is_sure and choice.gyro.is_sure,
        f"in {moves} moves it carries gravity to within {missed:.1f}° of where it is found; {choice.gyro.why}"
        f"{_contradiction(names, axes.gyro, 'gyro')}",
        _finite(choice.column_margin),
        tuple(names[c] for c in sorted(choice.next_columns) if c != NOTHING),
        _surer(columns=is_sure, unit=choice.gyro.is_sure),
    )


def _accelerometer(choice: Choice, axes: Axes, names: Sequence[str], *, is_sure: bool) -> Proposed:
    return Proposed(
        "accelerometer",
        tuple(names[c] for c in axes.accelerometer),
        choice.accelerometer.word,
        choice.accelerometer.count,
        is_sure and choice.accelerometer.is_sure,
        f"keeps its size at rest in every pose, and trembles while it is moved; {choice.accelerometer.why}"
        f"{_contradiction(names, axes.accelerometer, 'accelerometer')}",
        _finite(choice.lead),
        (),
        _surer(columns=is_sure, unit=choice.accelerometer.is_sure),
    )


def _finite(value: float) -> float | None:
    return round(float(value), 1) if np.isfinite(value) else None


def _surer(*, columns: bool, unit: bool) -> str:
    if not columns:
        return MOVE_IT
    return "" if unit else "the logger's settings or the data sheet say the range; then correct the unit"


def _contradiction(names: Sequence[str], columns: Sequence[int], group: str) -> str:
    """Tell where names speak of another group than the physics does."""
    others = sorted({hint for c in columns if (hint := group_by_name(names[c])) and hint != group})
    shown = " ".join(escape(names[c]) for c in columns)
    return f"; but the names ({shown}) speak of {' and '.join(others)}" if others else ""


def _copies(choice: Choice, names: Sequence[str]) -> dict[str, str]:
    turner = choice.contest.turner
    told = {}
    for column in {*turner.columns, *choice.pair.turner.columns}:
        for copy in choice.copies.get(column, ()):
            if copy.column not in turner.columns:
                later = f", {1000 * copy.later:.0f} ms later" if copy.later > 0 else ""
                told[names[copy.column]] = f"says what {escape(names[column])} says{later}"
        if column not in turner.columns:
            told[names[column]] = "a smoothed copy of a column of the gyro"
    return told
