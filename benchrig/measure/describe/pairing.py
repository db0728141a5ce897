"""Pairs of a vector and the columns that turn it, each held against its rivals: other columns, orders and signs."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.describe.bins import Bins, running_mean
from benchrig.measure.describe.passages import Passages, find_passages
from benchrig.measure.describe.transport import Turner, search_turners
from benchrig.measure.describe.turning import evidence, fit_scale, missed_by, turns_of
from benchrig.measure.describe.vectors import Directed

_FEWEST_PASSAGES: Final = 2
_FIRST_LOOK: Final = 12
NOTHING: Final = -1
"""In place of a column: that nothing turns about this axis."""

_SHAKEN: Final = 0.2  # s: what is faster than this is no turning of a held airframe
_LARGEST_SHAKE: Final = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """A vector and the three columns that turn it best.

    Attributes
    ----------
    vector : Directed
    turner : Turner
        With the scale that fits best.
    passages : Passages
        Moves from quiet to quiet.
    missed : float, rad
        In the middle one of the passages.
    shake : float
        By how much the vector's size trembles more while it moves than at rest, as parts of its size: what an
        accelerometer feels and a compass does not.
    """

    vector: Directed
    turner: Turner
    passages: Passages
    missed: float
    shake: float

    @property
    def columns(self) -> frozenset[int]:
        """The columns that turn it."""
        return frozenset(self.turner.columns)


@dataclass(frozen=True, slots=True, eq=False)
class Contest:
    """A pair held against its rivals under one scale.

    Attributes
    ----------
    turner : Turner
        The winner; where turning nothing about an axis does as well, the pair's own.
    by_set : mapping of frozenset of int to float
        Log-likelihood of the best order and signs of every set of columns that was tried, less the winner's.
    order_margin, sign_margin : float
        By how much the best order of the same columns, and its best signs, lead over the next, in nats.
    """

    turner: Turner
    by_set: dict[frozenset[int], float]
    order_margin: float
    sign_margin: float


def pair(bins: Bins, vector: Directed, columns: Sequence[int]) -> Pair | None:
    """Find the columns that turn a vector; None where it hardly moves.

    Parameters
    ----------
    bins : Bins
    vector : Directed
    columns : sequence of int
        Among which to look.
    """
    others = [c for c in columns if c not in vector.columns and bins.may_turn(c)]
    turners = search_turners(bins, vector, others, _FIRST_LOOK)
    if not turners:
        return None
    passages = find_passages(bins, vector)
    if len(passages) < _FEWEST_PASSAGES:
        return None
    best = _best_of(bins, passages, turners)
    missed, likely = _held(bins, passages, turners, best.scale)
    winner = turners[int(np.argmax(likely))]
    return Pair(
        vector,
        Turner(winner.columns, winner.signs, best.scale, winner.unexplained),
        passages,
        float(np.median(missed[int(np.argmax(likely))])),
        shake_of(bins, vector),
    )


def contest(bins: Bins, found: Pair, columns: Sequence[int]) -> Contest:
    """Hold a pair against every other order and sign of its columns, and every other column in the place of one."""
    others = [c for c in columns if c not in found.vector.columns and bins.may_turn(c)]
    rivals = [found.turner, *_same_columns(found.turner), *_one_other(found.turner, others)]
    _, likely = _held(bins, found.passages, rivals, found.turner.scale)
    whole = np.array([NOTHING not in rival.columns for rival in rivals])
    winner = int(np.argmax(np.where(whole, likely, -np.inf)))
    return Contest(rivals[winner], _by_set(rivals, likely - likely[winner]), *_margins(rivals, likely, winner))


def improved(bins: Bins, found: Pair, columns: Sequence[int]) -> Pair:
    """Give a pair the columns, order and signs that win its contest, and their scale."""
    winner = contest(bins, found, columns).turner
    if winner == found.turner:
        return found
    fitted = Turner(winner.columns, winner.signs, fit_scale(bins, found.passages, winner), winner.unexplained)
    missed, _ = _held(bins, found.passages, [fitted], fitted.scale)
    return Pair(found.vector, fitted, found.passages, float(np.median(missed[0])), found.shake)


def _held(bins: Bins, passages: Passages, turners: Sequence[Turner], scale: float) -> tuple[Vector, Vector]:
    missed, _ = missed_by(passages, turns_of(bins, passages, turners, [scale] * len(turners)))
    return missed, evidence(missed)


def _best_of(bins: Bins, passages: Passages, turners: Sequence[Turner]) -> Turner:
    """Fit the scale of the first of each set of columns, and give the best."""
    firsts: dict[frozenset[int], Turner] = {}
    for turner in turners:
        firsts.setdefault(frozenset(turner.columns), turner)
    fitted = []
    for turner in list(firsts.values())[:3]:
        scale = fit_scale(bins, passages, turner)
        _, likely = _held(bins, passages, [turner], scale)
        fitted.append((float(likely[0]), scale, turner))
    _, scale, turner = max(fitted, key=lambda f: f[0])
    return Turner(turner.columns, turner.signs, scale, turner.unexplained)


def _same_columns(best: Turner) -> list[Turner]:
    return [
        Turner((a, b, c), (p, q, r), best.scale, best.unexplained)
        for a, b, c in itertools.permutations(best.columns)
        for p, q, r in itertools.product((1, -1), repeat=3)
    ]


def _one_other(best: Turner, columns: Sequence[int]) -> list[Turner]:
    """Put another column, either way round, or none, in the place of each."""
    rivals = []
    for axis in range(3):
        for column in (*(c for c in columns if c not in best.columns), NOTHING):
            for sign in (1, -1) if column != NOTHING else (1,):
                chosen, signs = list(best.columns), list(best.signs)
                chosen[axis], signs[axis] = column, sign
                (a, b, c), (p, q, r) = chosen, signs
                rivals.append(Turner((a, b, c), (p, q, r), best.scale, best.unexplained))
    return rivals


def _by_set(rivals: Sequence[Turner], likely: Vector) -> dict[frozenset[int], float]:
    best: dict[frozenset[int], float] = {}
    for turner, value in zip(rivals, likely, strict=True):
        key = frozenset(turner.columns)
        best[key] = max(best.get(key, -np.inf), float(value))
    return best


def _margins(rivals: Sequence[Turner], likely: Vector, winner: int) -> tuple[float, float]:
    own = rivals[winner]
    alike = [i for i, t in enumerate(rivals) if set(t.columns) == set(own.columns)]
    order = [float(likely[i]) for i in alike if rivals[i].columns != own.columns]
    signs = [float(likely[i]) for i in alike if rivals[i].columns == own.columns and rivals[i].signs != own.signs]
    return float(likely[winner]) - max(order, default=-np.inf), float(likely[winner]) - max(signs, default=-np.inf)


def shake_of(bins: Bins, vector: Directed) -> float:
    """Give by how much a vector's size trembles more in the liveliest third of the time than in the calmest."""
    sizes = np.linalg.norm(vector.of(bins.values), axis=1)
    width = bins.count(_SHAKEN)
    middle = slice(width // 2, len(sizes) - (width - 1 - width // 2))
    fast = np.minimum(np.abs(sizes[middle] - running_mean(sizes[:, None], width)[:, 0]), _LARGEST_SHAKE)
    lively = bins.lively[middle]
    low, high = np.quantile(lively, [0.33, 0.67])
    calm, moving = np.mean(fast[lively <= low] ** 2), np.mean(fast[lively >= high] ** 2)
    return float(np.sqrt(max(moving - calm, 0.0)))
