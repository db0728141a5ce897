"""The wanted motion as a picture: the airframe as it lies, lightly; as it shall be held, solid; and the way between.

It shows what is asked for and never what was measured: whoever turned the airframe until the picture agreed would
undo a wrong sign by hand, and nobody would learn of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import cos, pi, sin
from typing import Final

import numpy as np
from numpy.typing import NDArray

from benchrig.cli.record.silhouettes import BENCH, SILHOUETTES, Outline, Point, Side
from benchrig.declaration.airframe import Kind
from benchrig.geometry.turns import TURNS

Mask = NDArray[np.bool_]

VIEWED: Final[Mapping[int, Side]] = {0: "behind", 1: "side", 2: "above"}
"""From where a turn about roll, pitch or yaw is best seen."""
FROM_WHERE: Final[Mapping[Side, str]] = {
    "side": "seen from its right side",
    "behind": "seen from behind, nose away from you",
    "above": "seen from above",
}
_COUNTER_CLOCKWISE: Final[Mapping[int, int]] = {0: -1, 1: 1, 2: -1}
"""Which way the picture turns for a positive roll, pitch or yaw, seen from that side."""

_QUARTERS: Final = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
"""By which quarters are filled: 1 upper left, 2 upper right, 4 lower left, 8 lower right."""
_REACH_ACROSS: Final = 1.62
_REACH_UP: Final[Mapping[Side, float]] = {"side": 1.12, "behind": 1.08, "above": 1.36}
_TIP: Final = 1.28
"""How far from the centre of gravity the arrow runs."""
_STEP: Final = 4.0  # deg between two pictures of a movement


@dataclass(frozen=True, slots=True)
class Drawn:
    """A picture in characters.

    Attributes
    ----------
    faint, solid : tuple of str
        Lines of one length: what lies where it was, and what is where it shall be. `solid` goes on top.
    label : tuple of int, int, str
        Line, column and text of what is marked: the nose, or the side that goes down.
    caption : str
        From where it is seen.
    """

    faint: tuple[str, ...]
    solid: tuple[str, ...]
    label: tuple[int, int, str]
    caption: str


def draw_motion(kind: Kind, motion: str, angle_deg: float, width: int, height: int, *, blocks: bool) -> Drawn:
    """Draw an airframe turned by `angle_deg` the way `motion` names, over itself at rest.

    Parameters
    ----------
    kind : str
    motion : str
        One of `TURNS`; any other is drawn level, from the side.
    angle_deg : float
        From rest; 0 draws it at rest alone.
    width, height : int
        Columns and lines.
    blocks : bool
        Whether the terminal can show squares and quarters of squares.
    """
    axis, sign = TURNS.get(motion, (1, 1))
    turned = _COUNTER_CLOCKWISE[axis] * sign * round(angle_deg / _STEP) * _STEP if motion in TURNS else 0.0
    side = VIEWED[axis]
    tip, text = _marked(side, turned)
    width, height = max(1, width), max(1, height)
    faint, solid = _drawn(_Pose(kind, side, tip, turned), (width, height), blocks)
    line, column = _Grid(width, height, side).place(_turned((tip,), turned)[0])
    if turned and side != "above":
        line += -1 if side == "side" and turned > 0 else 1  # past the arrow's head
    column = column + 2 if column > width // 2 else column - len(text) - 1
    return Drawn(faint, solid, (line, min(max(0, column), width - len(text)), text), FROM_WHERE[side])


def _marked(side: Side, turned_deg: float) -> tuple[Point, str]:
    """Give what the arrow starts from, and its name: the nose, or the side that goes down."""
    if side == "above":
        return (0.0, _TIP), "NOSE"
    if side == "side":
        return (_TIP, 0.0), "NOSE"
    return ((-_TIP, 0.0), "LEFT") if turned_deg > 0 else ((_TIP, 0.0), "RIGHT")


@dataclass(frozen=True, slots=True)
class _Pose:
    kind: Kind
    side: Side
    tip: Point
    turned_deg: float


@lru_cache(maxsize=256)
def _drawn(
    pose: _Pose,
    size: tuple[int, int],
    blocks: bool,  # noqa: FBT001 - a cache keeps nothing by name
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    side, turned_deg = pose.side, pose.turned_deg
    grid = _Grid(*size, side)
    resting = SILHOUETTES[pose.kind, side]
    moved = [_turned(outline, turned_deg) for outline in resting]
    solid = grid.covered(moved)
    if turned_deg:
        solid |= grid.covered(_way(pose.tip, turned_deg))
    bench = grid.covered([] if side == "above" else [_bench()])
    faint = (grid.covered(resting) if turned_deg else np.zeros_like(solid)) | bench
    near = _grown(solid)
    return _lines(faint & ~near, "░" if blocks else ".", blocks=False), _lines(solid, "#", blocks=blocks)


class _Grid:
    """The places at which a picture is sampled: two across and two down in each character."""

    def __init__(self, width: int, height: int, side: Side) -> None:
        # a character is about twice as high as wide, so half of one is as high as a whole one is wide
        scale = min(width / (2 * _REACH_ACROSS), 2 * height / (2 * _REACH_UP[side]))
        across = (np.arange(2 * width) + 0.5) / 2 - width / 2
        down = (np.arange(2 * height) + 0.5) - height
        self.x, self.y = np.meshgrid(across / scale, -down / scale)
        self._scale, self._middle = scale, (width / 2, height / 2)

    def place(self, point: Point) -> tuple[int, int]:
        """Give the line and column in which a point lies."""
        return int(self._middle[1] - point[1] * self._scale / 2), int(self._middle[0] + point[0] * self._scale)

    def covered(self, outlines: list[Outline] | tuple[Outline, ...]) -> Mask:
        """Say which places lie in any of the outlines."""
        found = np.zeros(self.x.shape, dtype=bool)
        for outline in outlines:
            found |= self._inside(outline)
        return found

    def _inside(self, outline: Outline) -> Mask:
        inside = np.zeros(self.x.shape, dtype=bool)
        for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True):
            if y0 == y1:
                continue
            crosses = (y0 > self.y) != (y1 > self.y)
            inside ^= crosses & (self.x < x0 + (self.y - y0) * (x1 - x0) / (y1 - y0))
        return inside


def _turned(outline: Outline, degrees: float) -> Outline:
    c, s = cos(degrees * pi / 180), sin(degrees * pi / 180)
    return tuple((c * x - s * y, s * x + c * y) for x, y in outline)


def _way(tip: Point, turned_deg: float) -> list[Outline]:
    """Draw the arrow along which the tip goes: a band, and a head at its end."""
    head = 13.0 if turned_deg > 0 else -13.0
    if abs(turned_deg) <= abs(head):
        return []
    angles = np.linspace(0.0, turned_deg - head, 14)
    edges = [[_turned((((tip[0] * r, tip[1] * r)),), float(a))[0] for a in angles] for r in (0.96, 1.04)]
    band = (*edges[0], *reversed(edges[1]))
    base = turned_deg - head
    inner, outer = (_turned(((tip[0] * r, tip[1] * r),), base)[0] for r in (0.86, 1.14))
    return [band, (inner, outer, _turned((tip,), turned_deg)[0])]


def _bench() -> Outline:
    return ((-1.5, BENCH - 0.12), (1.5, BENCH - 0.12), (1.5, BENCH), (-1.5, BENCH))


def _grown(mask: Mask) -> Mask:
    """Grow a shape by one place all round, so that what lies behind stands off it."""
    grown = mask.copy()
    grown[1:] |= mask[:-1]
    grown[:-1] |= mask[1:]
    grown[:, 1:] |= mask[:, :-1]
    grown[:, :-1] |= mask[:, 1:]
    return grown


def _lines(mask: Mask, letter: str, *, blocks: bool) -> tuple[str, ...]:
    quarters = np.stack([mask[0::2, 0::2], mask[0::2, 1::2], mask[1::2, 0::2], mask[1::2, 1::2]])
    if blocks:
        codes = np.tensordot(np.array([1, 2, 4, 8]), quarters.astype(int), axes=1)
        return tuple("".join(_QUARTERS[code] for code in row) for row in codes)
    filled = quarters.sum(axis=0) >= 2  # noqa: PLR2004 - half of a character's four quarters
    return tuple("".join(letter if full else " " for full in row) for row in filled)
