"""On which single hangs or weighings a direction rests, so that a mistake in one of them would not show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from benchrig.measure.cg.adjustment import Solution
from benchrig.measure.cg.balance import Item, best_point, source_of
from benchrig.measure.cg.hanging import Stretch
from benchrig.measure.cg.plumb import Vertical
from benchrig.measure.cg.worksheet import Hang, Worksheet

WORSE: Final = 3.0
"""By so much the uncertainty grows without the one that a direction rests on (common practice, no published source)."""

PULL: Final = 0.3
"""Of what it is wrong by: a hang that moves a direction by less does not carry it (common practice, no source)."""

Pillars = tuple[tuple[Item, ...], tuple[Item, ...], tuple[Item, ...]]
"""For each body axis: what it rests on, each of them alone."""

NOTHING: Final[Pillars] = ((), (), ())


def pillars_of(
    worksheet: Worksheet,
    items: Sequence[Item],
    stretches: Mapping[str, Stretch],
    known: Mapping[str, Vertical],
    solution: Solution,
) -> Pillars:
    """Name, for each body axis, every item that moves it, and without which it is told much worse, or not at all.

    Where another tells the axis nearly as well, the two check each other there.
    """
    whole = np.sqrt(np.diag(solution.covariance))
    found: list[list[Item]] = [[], [], []]
    for index, item in enumerate(items):
        rest = best_point(worksheet, [*items[:index], *items[index + 1 :]], stretches, known)
        without = np.full(3, np.inf) if rest is None else np.sqrt(np.diag(rest.covariance))
        pull = solution.pulls.get(source_of(item), np.zeros(3))
        for axis in range(3):
            if without[axis] > WORSE * whole[axis] and pull[axis] > PULL:
                found[axis].append(item)
    return tuple(found[0]), tuple(found[1]), tuple(found[2])


def resting_on(pillars: Sequence[Item]) -> str:
    """Say what a direction rests on; empty where nothing does alone.

    Two of them hold it up together, and neither checks the other.
    """
    if not pillars:
        return ""
    names = " and ".join(f'the {"hang" if isinstance(item, Hang) else "weighing"} "{item.name}"' for item in pillars)
    return f"rests on {names} {'alone' if len(pillars) == 1 else 'together, with nothing to check them'}"
