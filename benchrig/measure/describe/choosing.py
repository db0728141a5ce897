"""Which columns are the gyro and which the accelerometer, and how surely."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.measure.describe.bins import Bins
from benchrig.measure.describe.copies import Copy, copies_of
from benchrig.measure.describe.hints import group_by_name
from benchrig.measure.describe.pairing import NOTHING, Contest, Pair, contest, pair
from benchrig.measure.describe.sizes import FoundUnit, accelerometer_unit, gyro_unit
from benchrig.measure.describe.vectors import Directed, find_directed

_MOST_PAIRS: Final = 8

LARGEST_MISS: Final = 0.12
"""rad, in the middle one of the moves: real recordings of uncalibrated units show up to 0.03, hurried ones 0.1."""

_SHAKE: Final = 0.005
"""Of the size: a tremble that an accelerometer in a moving hand shows and a compass does not (real recordings show
0.007 to 0.2 for the one, up to 0.010 in fast moves for the other, whose size is not 1 g)."""


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """The columns that were chosen, and what they lead by.

    Attributes
    ----------
    pair : Pair
        The accelerometer as the vector, the gyro as what turns it.
    accelerometer, gyro : FoundUnit
    contest : Contest
    lead : float
        Of the accelerometer over the next triple, in nats, roughly.
    column_margin : float
        Of the gyro's columns over the next set, in nats, all vectors of the stream together.
    next_columns : tuple of int
        The columns of that next set; -1 for none at all.
    witnesses : tuple of Pair
        Other vectors that the same columns turn.
    copies : tuple of Copy
        Of the columns chosen.
    """

    pair: Pair
    accelerometer: FoundUnit
    gyro: FoundUnit
    contest: Contest
    lead: float
    column_margin: float
    next_columns: tuple[int, ...]
    witnesses: tuple[Pair, ...]
    copies: dict[int, list[Copy]]


@dataclass(frozen=True, slots=True, eq=False)
class _Scored:
    pair: Pair
    accelerometer: FoundUnit
    gyro: FoundUnit
    score: float


def choose(bins: Bins, names: Sequence[str], whole: Sequence[bool], columns: list[int]) -> Choice | None:
    """Choose the accelerometer and the gyro; None where no vector is turned by anything.

    Parameters
    ----------
    bins : Bins
    names : sequence of str
        Of all columns; they only break ties.
    whole : sequence of bool
        Which columns hold whole numbers alone.
    columns : list of int
        Among which to choose.
    """
    vectors = _likely_first(find_directed(bins, columns), whole)
    pairs = [found for vector in vectors[:_MOST_PAIRS] if (found := pair(bins, vector, columns)) is not None]
    scored = sorted((_score(p, names, whole) for p in pairs), key=lambda s: -s.score)
    if not scored:
        return None
    best = scored[0]
    alike = {c: copies_of(bins, c, columns) for c in (*best.pair.vector.columns, *best.pair.turner.columns)}
    rivals = [s for s in scored[1:] if not _says_the_same(best.pair.vector.columns, s.pair.vector.columns, alike)]
    lead = best.score - rivals[0].score if rivals else np.inf
    witnesses = tuple(
        s.pair for s in scored[1:] if s.pair.columns == best.pair.columns and s.pair.missed < LARGEST_MISS
    )
    own = contest(bins, best.pair, columns)
    others = [contest(bins, witness, columns) for witness in witnesses]
    margin, following = _column_margin(own, others, alike)
    return Choice(best.pair, best.accelerometer, best.gyro, own, lead, margin, following, witnesses, alike)


def _likely_first(vectors: Sequence[Directed], whole: Sequence[bool]) -> list[Directed]:
    """Put first what has the size of gravity in a usual unit; else by how well the size is kept."""

    def rank(vector: Directed) -> tuple[bool, float]:
        is_whole = all(whole[c] for c in vector.columns)
        return not accelerometer_unit(vector.size, is_whole=is_whole).is_sure, vector.spread

    return sorted(vectors, key=rank)


def _score(found: Pair, names: Sequence[str], whole: Sequence[bool]) -> _Scored:
    """Weigh how much a vector behaves as an accelerometer does that a gyro turns."""
    accelerometer = accelerometer_unit(found.vector.size, is_whole=all(whole[c] for c in found.vector.columns))
    gyro = gyro_unit(found.turner.scale, is_whole=all(whole[c] for c in found.turner.columns))
    score = 3.0 if accelerometer.is_sure else -2.0
    score += 3.0 if gyro.is_sure else -2.0
    score += float(np.clip(2 * np.log(max(found.shake, 1e-9) / _SHAKE), -6.0, 3.0))
    score -= min(40 * max(found.missed - 0.03, 0.0), 8.0)
    for column in found.vector.columns:
        hint = group_by_name(names[column])
        score += 0.5 if hint == "accelerometer" else -0.5 if hint else 0.0
    return _Scored(found, accelerometer, gyro, score)


def _says_the_same(own: Sequence[int], other: Sequence[int], alike: dict[int, list[Copy]]) -> bool:
    same = [{c, *(copy.column for copy in alike[c])} for c in own]
    return all(any(c in group for group in same) for c in other)


def _column_margin(
    best: Contest, others: Sequence[Contest], alike: dict[int, list[Copy]]
) -> tuple[float, tuple[int, ...]]:
    """Add up what all vectors say of every other set of columns, and give the lead over the next."""
    own = frozenset(best.turner.columns)
    copied = {c: {copy.column for copy in alike.get(c, ())} for c in own}
    worst = [min(c.by_set.values()) for c in others]
    margin, following = np.inf, (NOTHING,) * 3
    for columns, value in best.by_set.items():
        if columns == own or _is_copied(own, columns, copied):
            continue
        total = value + sum(c.by_set.get(columns, low) for c, low in zip(others, worst, strict=True))
        if -total < margin:
            margin, following = -total, tuple(columns)
    return float(margin), following


def _is_copied(own: frozenset[int], other: frozenset[int], copied: dict[int, set[int]]) -> bool:
    """Whether another set only has copies in the place of what it lacks."""
    spare = other - own
    return all(any(c in copied[lost] for lost in own - other) for c in spare)
