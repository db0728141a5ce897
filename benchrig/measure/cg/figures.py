"""Pictures of plumb lines and of the point in which they meet: from the side, and from above."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.cg.balance import balance_point, stand_of, weighing_condition
from benchrig.measure.cg.estimate import CentreOfGravity, in_words
from benchrig.measure.cg.worksheet import Hang, Weighing
from benchrig.measure.figure import Curve, Figure

_BEYOND: Final = 0.25
"""Share of its length by which a line is drawn past the centre of gravity."""

_SHORTEST: Final = 0.05  # m
_POINT: Final = 4e-3  # m: a line that looks shorter is drawn as a point
_TOLD: Final = 0.5


@dataclass(frozen=True, slots=True)
class View:
    """A way to look at the airframe: which body axis runs across the picture, which upwards, and with which sign."""

    seen: str
    across: int
    upwards: int
    sign: float
    x_word: str
    y_word: str

    @property
    def shown(self) -> Vector:
        """One for the two body axes that it shows, and zero for the third, shape (3,)."""
        return np.isin(np.arange(3), (self.across, self.upwards)).astype(np.float64)

    def flat(self, points: Vector) -> tuple[Vector, Vector]:
        """Give points, shape (N, 3) or (3,), m, as they are drawn, mm."""
        rows = np.atleast_2d(points) * 1e3
        return rows[:, self.across], self.sign * rows[:, self.upwards]


VIEWS: Final = (View("from the side", 0, 2, -1.0, "forward", "up"), View("from above", 1, 0, 1.0, "right", "forward"))


def figures_of(found: CentreOfGravity) -> tuple[Figure, ...]:
    """Draw what was measured in the views in which the CG is told."""
    value, _ = found.from_cg(None)
    return tuple(_figure(found, view) for view in VIEWS if np.isfinite(value[[view.across, view.upwards]]).all())


def _figure(found: CentreOfGravity, view: View) -> Figure:
    value, sd = found.from_cg(None)
    cg = np.nan_to_num(-value)
    worksheet = found.worksheet
    lines = [_line(found, item, cg, view) for item in found.items if _shows(found, item, view)]
    places = [_spot(place.name, worksheet.where(place.spot), view) for place in worksheet.places]
    centre = Curve("centre of gravity", *view.flat(cg), "cross", np.array([sd[view.upwards] * 1e3]))
    description = (
        f"{_counted(lines)}; the centre of gravity lies {in_words(cg * view.shown)} of {worksheet.reference}, "
        f"± {sd[view.across] * 1e3:.1f} mm ({view.x_word}) and ± {sd[view.upwards] * 1e3:.1f} mm ({view.y_word})."
    )
    return Figure(
        title=f"Seen {view.seen}, the lines meet at the centre of gravity.",
        description=description,
        x_label=f"{view.x_word}, mm",
        y_label=f"{view.y_word}, mm",
        curves=(*lines, *places, _spot(worksheet.reference, np.zeros(3), view), centre),
        scale="equal",
    )


def _shows(found: CentreOfGravity, item: Hang | Weighing, view: View) -> bool:
    """Say whether a line can be drawn: one that was sighted from the side has no place across.

    Nor has a weighing on supports in one line a place along the other.
    """
    if isinstance(item, Hang):
        return view.across == 0 or found.known[item.name].across
    told = weighing_condition(found.worksheet, item, found.solution).design
    # the projector on what the weighing tells: 1 along an axis that it tells wholly
    return bool(np.diag(told.T @ told)[[k for k in (0, 1) if view.shown[k]]].min() > _TOLD)


def _spot(label: str, point: Vector, view: View) -> Curve:
    return Curve(label, *view.flat(point), "cross")


def _counted(drawn: Sequence[Curve]) -> str:
    """Say how many of them are seen as lines, and how many end on, as points."""
    points = sum(curve.style == "cross" for curve in drawn)
    lines = len(drawn) - points
    words = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in ((lines, "line"), (points, "line")) if n]
    if points:
        words[-1] += " seen end on, as " + ("a point" if points == 1 else "points")
    return " and ".join(words) or "no lines"


def _line(found: CentreOfGravity, item: Hang | Weighing, cg: Vector, view: View) -> Curve:
    worksheet = found.worksheet
    if isinstance(item, Weighing):
        foot, (down, _) = balance_point(worksheet, item), stand_of(worksheet, item)
        ends = np.array([foot, foot + down * float(down @ (cg - foot))])
        return _stroke(item.name, ends, view, "dashed")
    start = worksheet.where(item.spot)
    down = found.known[item.name].down
    length = max(float(down @ (cg - start)), _SHORTEST) * (1 + _BEYOND)
    return _stroke(item.name, np.array([start, start + length * down]), view, "line")


def _stroke(label: str, ends: Matrix, view: View, style: Literal["line", "dashed"]) -> Curve:
    # seen along itself a line is a point, and no stroke
    if float(np.ptp(ends, axis=0) @ view.shown) < _POINT:
        return _spot(label, ends[0], view)
    return Curve(label, *view.flat(ends), style)
