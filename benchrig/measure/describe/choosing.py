"""Which columns are the gyro and which the accelerometer, and how surely."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.capture.units import DEGREE
from benchrig.measure.describe.bins import Bins
from benchrig.measure.describe.copies import Copy, copies_of, without_copies
from benchrig.measure.describe.hints import group_by_name
from benchrig.measure.describe.pairing import NOTHING, Contest, Pair, contest, improved, pair
from benchrig.measure.describe.sizes import GYRO_COUNTS, FoundUnit, accelerometer_unit, gyro_unit
from benchrig.measure.describe.transport import Turner
from benchrig.measure.describe.turning import evidence, missed_by, turns_of
from benchrig.measure.describe.vectors import Directed, find_directed

_MOST_PAIRS: Final = 12
_SECOND_LOOK: Final = 4
_MOST_BY_ERRORS: Final = 15.0
_OTHER_SIZE: Final = 1.25
_NEAR_COUNTS: Final = 1.6
_SIZE_LEAD: Final = 5.0
_USUAL_SPREAD: Final = 0.005
_UNEXPLAINED: Final = 6.0

LARGEST_MISS: Final = 0.12
"""rad, in the middle one of the moves: real recordings of uncalibrated units show up to 0.03, hurried ones 0.1."""

MOST_UNEXPLAINED: Final = 0.85
"""Part of the accelerometer's changes over a quarter of a second: hurried hands leave 0.6."""

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

    @property
    def gyro_fits(self) -> bool:
        """Whether something turns at all: most of the accelerometer's changes must be explained."""
        return self.contest.turner.unexplained < MOST_UNEXPLAINED


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
    columns = without_copies(bins, columns)
    vectors = _likely_first(find_directed(bins, columns), whole)
    pairs = [found for vector in vectors[:_MOST_PAIRS] if (found := pair(bins, vector, columns)) is not None]
    scored = sorted((_score(p, names, whole) for p in pairs), key=lambda s: -s.score)
    # a second look, under a scale that is near by now, for those that may win
    again = [_score(improved(bins, s.pair, columns), names, whole) for s in scored[:_SECOND_LOOK]]
    scored = sorted([*again, *scored[_SECOND_LOOK:]], key=lambda s: -s.score)
    if not scored:
        return None
    best = scored[0]
    found = best.pair
    own = contest(bins, found, columns)
    alike = _copies(bins, (*found.vector.columns, *own.turner.columns), columns)
    rivals = [s for s in scored if not _says_the_same(found.vector.columns, s.pair, alike)]
    lead = min((_lead(best, rival) for rival in rivals), default=np.inf)
    witnesses = tuple(
        s.pair for s in rivals if s.pair.columns == frozenset(own.turner.columns) and s.pair.missed < LARGEST_MISS
    )
    others = [contest(bins, witness, columns) for witness in witnesses]
    margin, following = _column_margin(own, others, alike)
    gyro = _sure_of_size(
        bins, found, own.turner, gyro_unit(own.turner.scale, is_whole=all(whole[c] for c in own.turner.columns))
    )
    return Choice(found, best.accelerometer, gyro, own, lead, margin, following, witnesses, alike)


def _sure_of_size(bins: Bins, found: Pair, turner: Turner, unit: FoundUnit) -> FoundUnit:
    """Believe a unit only where gravity's turning rules other sizes out, those of other usual ranges among them."""
    if not unit.is_sure:
        return unit
    own = turner.scale
    sizes = [own * _OTHER_SIZE, own / _OTHER_SIZE]
    if unit.count in GYRO_COUNTS and unit.count is not None:
        own = DEGREE / unit.count
        sizes += [DEGREE / count for count in GYRO_COUNTS if count != unit.count and _is_near(count, unit.count)]
    missed, _ = missed_by(found.passages, turns_of(bins, found.passages, [turner] * (len(sizes) + 1), [own, *sizes]))
    likely = evidence(missed)
    if likely[0] - likely[1:].max() >= _SIZE_LEAD:
        return unit
    return replace(unit, is_sure=False, why=f"{unit.why}; but these moves tell other sizes hardly worse")


def _is_near(count: float, other: float) -> bool:
    return 1 / _NEAR_COUNTS < count / other < _NEAR_COUNTS


def _copies(bins: Bins, used: Sequence[int], columns: Sequence[int]) -> dict[int, list[Copy]]:
    return {c: copies_of(bins, c, columns) for c in used}


def _lead(best: _Scored, rival: _Scored) -> float:
    """Give by how much an accelerometer leads over another; where they share columns, by their errors as well."""
    lead = best.score - rival.score
    if len(set(best.pair.vector.columns) & set(rival.pair.vector.columns)) > 1:
        count = min(len(best.pair.passages), len(rival.pair.passages))
        lead += min(max(2 * count * float(np.log(rival.pair.missed / best.pair.missed)), 0.0), _MOST_BY_ERRORS)
    return lead


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
    score += float(np.clip(2 * np.log(max(found.shake, 1e-9) / _SHAKE), -6.0, 1.0))
    score -= min(40 * max(found.missed - 0.03, 0.0), 8.0)
    score -= float(np.clip(1.5 * np.log(found.vector.spread / _USUAL_SPREAD), 0.0, 4.0))
    score -= _UNEXPLAINED * found.turner.unexplained
    for column in found.vector.columns:
        hint = group_by_name(names[column])
        score += 0.5 if hint == "accelerometer" else -0.5 if hint else 0.0
    return _Scored(found, accelerometer, gyro, score)


def _says_the_same(own: Sequence[int], other: Pair, alike: dict[int, list[Copy]]) -> bool:
    same = [{c, *(copy.column for copy in alike[c])} for c in own]
    return all(any(c in group for group in same) for c in other.vector.columns)


def _column_margin(
    best: Contest, others: Sequence[Contest], alike: dict[int, list[Copy]]
) -> tuple[float, tuple[int, ...]]:
    """Add up what all vectors say of every other set of columns, and give the lead over the next."""
    own = frozenset(best.turner.columns)
    copied = {c: {copy.column for copy in alike.get(c, ())} for c in own}
    worst = [min(c.by_set.values()) for c in others]
    margin: float = np.inf
    following: tuple[int, ...] = (NOTHING,) * 3
    for columns, value in best.by_set.items():
        if columns == own or _is_copied(own, columns, copied):
            continue
        total = value + sum(c.by_set.get(columns, low) for c, low in zip(others, worst, strict=True))
        if -total < margin:
            margin, following = -total, tuple(columns)
    return margin, following


def _is_copied(own: frozenset[int], other: frozenset[int], copied: dict[int, set[int]]) -> bool:
    """Whether another set only has copies in the place of what it lacks."""
    spare = other - own
    return all(any(c in copied[lost] for lost in own - other) for c in spare)
