"""Whether hangs and weighings meet in one point; if not, which one is the culprit, and which slip would explain it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.cg.adjustment import Solution
from benchrig.measure.cg.balance import Item, best_point, depth_below, verticals, weighing_condition
from benchrig.measure.cg.hanging import Stretch
from benchrig.measure.cg.plumb import Vertical
from benchrig.measure.cg.worksheet import Angles, Hang, Spot, Weighing, Worksheet

APART: Final = 1e-3
"""Errors of the stated size fit worse less often than this: then the lines do not meet."""

DOUBTFUL: Final = 0.05
"""… less often than this: then the stated accuracy was optimistic, and the uncertainty grows with the misfit."""

FITS: Final = 0.01
"""The others meet, once the culprit is left out, if they fit at least so well."""

LIKELIER: Final = 2 * math.log(1000)
"""By so much less in chi-square, leaving this one out explains the misfit a thousand times better than any other."""

LEAST_ITEMS: Final = 3
"""One of two can never be told to be the wrong one."""

_EXCHANGE: Final = {
    "forward": ("forward", "aft", [-1.0, 1.0, 1.0]),
    "right": ("right", "left", [1.0, -1.0, 1.0]),
    "down": ("down", "up", [1.0, 1.0, -1.0]),
}


@dataclass(frozen=True, slots=True, eq=False)
class Suspect:
    """One without which all others meet.

    Attributes
    ----------
    item : Hang or Weighing
    miss : ndarray, shape (3,), m
        From where the others meet to the nearest point of its line, body axes.
    slips : tuple of str
        Single mistakes that would make it fit.
    """

    item: Item
    miss: Vector
    slips: tuple[str, ...]


def suspects_of(
    worksheet: Worksheet, items: Sequence[Item], stretches: Mapping[str, Stretch], known: Mapping[str, Vertical]
) -> tuple[Suspect, ...]:
    """Name those of which one is the wrong one, the likeliest first; none where the others never meet or nothing tells.

    A single suspect is surely the culprit: leaving out any other leaves a misfit a thousand times less likely.
    """
    if len(items) < LEAST_ITEMS:
        return ()
    without = [best_point(worksheet, [*items[:i], *items[i + 1 :]], stretches, known) for i in range(len(items))]
    rests = [(i, rest) for i, rest in enumerate(without) if rest is not None]
    if len(rests) < len(items) or any(rest.freedom < 1 for _, rest in rests):
        return ()
    rests.sort(key=lambda entry: entry[1].chi_square)
    best = rests[0][1].chi_square
    fitting = [(i, rest) for i, rest in rests if rest.chance >= FITS and rest.chi_square < best + LIKELIER]
    return tuple(
        Suspect(items[i], _miss(worksheet, items[i], known, rest), tuple(_slips(worksheet, items, i, stretches)))
        for i, rest in fitting
    )


def slips_of(worksheet: Worksheet, items: Sequence[Item], stretches: Mapping[str, Stretch]) -> tuple[str, ...]:
    """Give the single mistakes, in any one of them, that would make all of them meet."""
    return tuple(
        f'in "{item.name}" {slip}'
        for index, item in enumerate(items)
        for slip in _slips(worksheet, items, index, stretches)
    )


def _miss(worksheet: Worksheet, item: Item, known: Mapping[str, Vertical], rest: Solution) -> Vector:
    """Give the way from where the others meet to an item's line, in the directions in which the item tells anything."""
    if isinstance(item, Hang):
        normals = known[item.name].normals
        return np.asarray(normals.T @ (normals @ (worksheet.where(item.spot) - rest.point)))
    said = weighing_condition(worksheet, item, rest)
    return np.asarray(said.design.T @ (said.target - said.design @ rest.point))


def _slips(worksheet: Worksheet, items: Sequence[Item], index: int, stretches: Mapping[str, Stretch]) -> Iterator[str]:
    """Try the usual slips on one item: yield those that make everything meet."""
    for words, changed in _variants(worksheet, items[index]):
        candidates = [*items[:index], changed, *items[index + 1 :]]
        sheet = replace(worksheet, hangs=tuple(i for i in candidates if isinstance(i, Hang)))
        known = verticals(sheet, stretches)
        found = best_point(sheet, candidates, stretches, known)
        if (
            found is not None
            and found.freedom > 0
            and found.chance >= FITS
            and not _stands_on_its_head(sheet, changed, known, found)
        ):
            yield words


def _stands_on_its_head(worksheet: Worksheet, item: Item, known: Mapping[str, Vertical], found: Solution) -> bool:
    if isinstance(item, Weighing):
        return False
    return depth_below(worksheet.where(item.spot), known[item.name].down, found) < 0


def _variants(worksheet: Worksheet, item: Item) -> Iterator[tuple[str, Item]]:
    if isinstance(item, Weighing):
        turned = tuple(
            replace(support, mass=other.mass)
            for support, other in zip(item.supports, reversed(item.supports), strict=True)
        )
        yield "the loads of its supports are exchanged", replace(item, supports=turned)
    else:
        yield from _angle_variants(item)
        yield from _point_variants(worksheet, item)


def _angle_variants(item: Hang) -> Iterator[tuple[str, Item]]:
    reading = item.reading
    if isinstance(reading, Angles):
        if reading.across:
            angles = replace(reading, across=-reading.across)
            yield "its right down and left down are exchanged", replace(item, reading=angles)
        if reading.nose:
            angles = replace(reading, nose=-reading.nose)
            yield "its nose down and nose up are exchanged", replace(item, reading=angles)


def _point_variants(worksheet: Worksheet, item: Hang) -> Iterator[tuple[str, Item]]:
    for axis, (one, other, signs) in enumerate(_EXCHANGE.values()):
        if item.spot.offset[axis]:
            spot = Spot(item.spot.offset * signs, item.spot.origin)
            yield f"{one} and {other} are exchanged in its point_mm", replace(item, spot=spot)
    for origin in (None, *(point.name for point in worksheet.points)):
        if origin != item.spot.origin:
            where = worksheet.reference if origin is None else origin
            yield f"its point_mm was measured from the {where}", replace(item, spot=Spot(item.spot.offset, origin))
