"""The centre of gravity that a worksheet tells, along each body axis, or why it does not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.cg.adjustment import Solution, combined
from benchrig.measure.cg.balance import Item, best_point, depth_below, source_of, verticals
from benchrig.measure.cg.hanging import Stretch, vertical_of_capture
from benchrig.measure.cg.meeting import APART, DOUBTFUL, Suspect, slips_of, suspects_of
from benchrig.measure.cg.plumb import Effects, Vertical, spot_effects
from benchrig.measure.cg.reliance import NOTHING, Pillars, pillars_of
from benchrig.measure.cg.worksheet import Accuracy, Hang, Hung, Spot, Weighing, Worksheet

LARGEST_TOLD: Final = 0.030
"""m: with a larger standard deviation an axis is not told."""

SURE: Final = 3.0
"""Standard deviations of a mass, or of a depth, beyond which it cannot be an error of the stated size."""

WIDE: Final = 30.0
"""Degrees: lines that cross by so much double an error of an angle at most; it is the error that is large then."""

_SEEN: Final = 0.5e-3  # m: a distance that rounds to no millimetre is not told

AXIS_WORDS: Final = (("forward", "aft"), ("right", "left"), ("down", "up"))


@dataclass(frozen=True, slots=True, eq=False)
class CentreOfGravity:
    """All that the bench says of the CG.

    Attributes
    ----------
    items : tuple of Hang or Weighing
        Those that were used.
    known : mapping of hang name to Vertical
    refused : mapping of hang name to str
        Captures that cannot be used, with the reason.
    unbalanced : tuple of Weighing
        Whose masses contradict what the airframe weighs; they are not used.
    headstands : tuple of Hang
        The CG would stand above the point of these.
    suspects : tuple of Suspect
        Where they do not meet: those of which one is the wrong one.
    slips : tuple of str
        Where none of them can be suspected: single mistakes that would make all of them meet.
    solution : Solution or None
        None where there is nothing to tell it from.
    pillars : tuple of tuple of Hang or Weighing
        For each body axis: those on each of which it rests alone.
    """

    worksheet: Worksheet
    items: tuple[Item, ...]
    known: Mapping[str, Vertical]
    refused: Mapping[str, str]
    unbalanced: tuple[Weighing, ...]
    headstands: tuple[Hang, ...]
    suspects: tuple[Suspect, ...]
    slips: tuple[str, ...]
    solution: Solution | None
    pillars: Pillars = NOTHING

    @property
    def holds(self) -> bool:
        """Whether everything meets in one point that can be one."""
        return self.solution is not None and self.solution.chance >= APART and not self.headstands

    @property
    def growth(self) -> float:
        """By how much the uncertainties grow, where the readings fit worse than their stated accuracy lets expect."""
        if self.solution is None or self.solution.freedom < 1 or self.solution.chance >= DOUBTFUL:
            return 1.0
        return float(np.sqrt(max(1.0, self.solution.chi_square / self.solution.freedom)))

    def from_cg(self, spot: Spot | None, own: str = "") -> tuple[Vector, Vector]:
        """Give a place from the CG and its standard deviations, shapes (3,), m; NaN along axes that are not told.

        Parameters
        ----------
        spot : Spot or None
            None for the reference itself.
        own : str
            By which the errors of `spot` are named.
        """
        if self.solution is None or not self.holds:
            return np.full(3, np.nan), np.full(3, np.nan)
        start = np.zeros(3) if spot is None else self.worksheet.where(spot)
        effects: Effects = {} if spot is None else spot_effects(self.worksheet, spot, own)
        spread = combined(effects, self.solution.effects, sign=-1.0, scale=self.growth) + self.solution.untold
        sd = np.sqrt(np.diag(spread))
        told = sd <= LARGEST_TOLD
        return np.where(told, start - self.solution.point, np.nan), np.where(told, sd, np.nan)


def estimate(airframe: Airframe, worksheet: Worksheet) -> CentreOfGravity:
    """Find the CG from all hangs and weighings together."""
    stretches = _stretches(airframe, worksheet)
    refused = {name: stretch.reason for name, stretch in stretches.items() if stretch.vertical is None}
    known = verticals(worksheet, stretches)
    unbalanced = tuple(w for w in worksheet.weighings if w.name in _contradicting(worksheet))
    hangs: list[Item] = [hang for hang in worksheet.hangs if hang.name in known]
    items = (*hangs, *(w for w in worksheet.weighings if w not in unbalanced))
    solution = best_point(worksheet, items, stretches, known)
    apart = solution is not None and solution.chance < APART
    suspects = suspects_of(worksheet, items, stretches, known) if apart else ()
    return CentreOfGravity(
        worksheet=worksheet,
        items=items,
        known=known,
        refused=refused,
        unbalanced=unbalanced,
        headstands=tuple(_headstands(worksheet, items, known, solution)),
        suspects=suspects,
        slips=slips_of(worksheet, items, stretches) if apart and not suspects else (),
        solution=solution,
        pillars=NOTHING if solution is None or apart else pillars_of(worksheet, items, stretches, known, solution),
    )


def _stretches(airframe: Airframe, worksheet: Worksheet) -> dict[str, Stretch]:
    return {
        hang.name: vertical_of_capture(hang.reading, airframe, f"rest of {source_of(hang)}")
        for hang in worksheet.hangs
        if isinstance(hang.reading, Hung)
    }


def _contradicting(worksheet: Worksheet) -> set[str]:
    """Name the weighings whose sum is not the airframe's mass, or all of them where they contradict each other."""
    sd = worksheet.accuracy.mass
    if worksheet.mass is not None:
        return {
            w.name
            for w in worksheet.weighings
            if abs(w.mass - worksheet.mass) > SURE * sd * np.sqrt(1 + len(w.supports))
        }
    for one in worksheet.weighings:
        for other in worksheet.weighings:
            if abs(one.mass - other.mass) > SURE * sd * np.sqrt(len(one.supports) + len(other.supports)):
                return {w.name for w in worksheet.weighings}
    return set()


def _headstands(
    worksheet: Worksheet, items: Sequence[Item], known: Mapping[str, Vertical], solution: Solution | None
) -> list[Hang]:
    """Find hangs in which the CG would stand above the point: nothing hangs like that."""
    found: list[Hang] = []
    for item in items:
        if solution is None or not isinstance(item, Hang):
            continue
        down = known[item.name].down
        sd = np.sqrt(down @ solution.covariance @ down) + worksheet.accuracy.distance
        if depth_below(worksheet.where(item.spot), down, solution) < -SURE * sd:
            found.append(item)
    return found


def axis_reason(estimate: CentreOfGravity, axis: int) -> str:
    """Say why the CG is not told along a body axis.

    Parameters
    ----------
    axis : int
        0 forward, 1 right, 2 down.
    """
    if estimate.solution is None:
        return "nothing that was hung or weighed can be used"
    if not estimate.holds:
        return "what was hung and weighed does not meet in one point that can be the centre of gravity"
    hangs = [item for item in estimate.items if isinstance(item, Hang)]
    if axis == 1 and not any(estimate.known[h.name].across for h in hangs) and hangs:
        return "the hangs were seen from the side only, which shows nothing to the right or left"
    if not hangs:
        return (
            "a level weighing shows nothing of the height: hang the airframe, its nose well up or down"
            if axis == AXIS_WORDS.index(("down", "up"))
            else "its supports stood in one line along the other axis: use three scales, or weigh it again across"
        )
    return _parallel(estimate, hangs)


def _parallel(estimate: CentreOfGravity, hangs: Sequence[Hang]) -> str:
    if len(hangs) == 1:
        return "one hang gives a line, and the centre of gravity may lie anywhere on it: hang it from a second point"
    widest = widest_angle([estimate.known[h.name].down for h in hangs])
    if widest >= WIDE:
        return _coarse(estimate.worksheet.accuracy)
    return (
        f"the plumb lines cross at {widest:.0f}° at most, so a small error of an angle moves the point far: "
        "hang it from points that turn it further, best by 90°"
    )


def _coarse(accuracy: Accuracy) -> str:
    """Blame the stated accuracy, where lines cross widely and still tell no point."""
    good = f"{2e3 * accuracy.distance:g} mm and {np.degrees(2 * accuracy.angle):g}°"
    return (
        f"the readings are taken to lie within {good} only, which leaves it unsure by more than "
        f"{LARGEST_TOLD * 1e3:g} mm: measure more finely, and write under [accuracy] what the readings really hold"
    )


def widest_angle(lines: Sequence[Vector]) -> float:
    """Give the widest angle, in degrees up to 90, at which two of several lines cross."""
    matrix: Matrix = np.abs(np.array(lines) @ np.array(lines).T)
    return float(np.degrees(np.arccos(np.clip(matrix.min(), 0.0, 1.0))))


def in_words(way: Vector) -> str:
    """Say a way, m, in direction words.

    Examples
    --------
    >>> in_words(np.array([-0.021, 0.0, 0.004]))
    '21 mm aft and 4 mm down'
    """
    parts = [
        f"{abs(part) * 1e3:.0f} mm {AXIS_WORDS[axis][0 if part > 0 else 1]}"
        for axis, part in enumerate(way)
        if abs(part) >= _SEEN
    ]
    return " and ".join(parts) or "less than 1 mm"
