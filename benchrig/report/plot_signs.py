"""The signs by which the curves of a figure are told apart where there is no colour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from benchrig.measure.figure import Figure

_KINDS: Final = 3
"""Of colours; the signs differ for the first five lines, four sets of single points and two of samples."""
_R: Final = 4.5
_CORNERS: Final[Mapping[str, tuple[tuple[float, float], ...]]] = {
    "square": ((-_R, -_R), (_R, -_R), (_R, _R), (-_R, _R)),
    "triangle": ((0.0, -1.3 * _R), (1.2 * _R, _R), (-1.2 * _R, _R)),
    "diamond": ((0.0, -1.4 * _R), (1.4 * _R, 0.0), (0.0, 1.4 * _R), (-1.4 * _R, 0.0)),
}
_SIGNS: Final = ("circle", *_CORNERS, "plus")


@dataclass(frozen=True, slots=True)
class Look:
    """How a curve is told apart.

    Attributes
    ----------
    place : int
        Among all curves of the figure.
    rank : int
        Among those of its style; for this, dashed and whole lines are one style.
    signed : bool
        Whether a line carries signs: one that is the only line needs none among points.
    """

    place: int
    rank: int
    signed: bool

    @property
    def kind(self) -> str:
        """The class of its colour."""
        return f"c{self.place % _KINDS}"


def looks_of(figure: Figure) -> list[Look]:
    """Give each curve its look."""
    styles = ["line" if curve.style == "dashed" else curve.style for curve in figure.curves]
    several = styles.count("line") > 1
    return [Look(place, styles[:place].count(style), several) for place, style in enumerate(styles)]


def dot(x: float, y: float, look: Look, *, alone: bool = False) -> str:
    """Mark a sample: full, or open for every second set; one that is alone is as large as a sign."""
    kind = f"dot {look.kind}" if look.rank % 2 == 0 else f"ring {look.kind}"
    return f'<circle class="{kind}" cx="{x:.0f}" cy="{y:.0f}" r="{4 if alone else 2}"/>'


def cross(x: float, y: float, look: Look, reach: float = 6.0) -> str:
    """Mark a single point: a cross, the same in a ring, an upright cross, the same in a ring."""
    kind = f"c{look.rank % 2}"
    a, b, c, d = x - reach, x + reach, y - reach, y + reach
    slanted = f"M{a:.1f} {c:.1f}L{b:.1f} {d:.1f}M{a:.1f} {d:.1f}L{b:.1f} {c:.1f}"
    lines = slanted if look.rank // 2 % 2 == 0 else f"M{a:.1f} {y:.1f}H{b:.1f}M{x:.1f} {c:.1f}V{d:.1f}"
    ring = f'<circle class="sign {kind}" cx="{x:.1f}" cy="{y:.1f}" r="{1.7 * reach:.1f}"/>' if look.rank % 2 else ""
    return f'{ring}<path class="halo" d="{lines}"/><path class="sign {kind}" d="{lines}"/>'


def sign(x: float, y: float, look: Look) -> str:
    """Mark a line."""
    shape = _SIGNS[look.rank % len(_SIGNS)]
    if shape == "circle":
        return f'<circle class="sign {look.kind}" cx="{x:.1f}" cy="{y:.1f}" r="{_R}"/>'
    if shape == "plus":
        lines = f"M{x - _R:.1f} {y:.1f}H{x + _R:.1f}M{x:.1f} {y - _R:.1f}V{y + _R:.1f}"
        return f'<path class="sign {look.kind}" d="{lines}"/>'
    points = " ".join(f"{x + dx:.1f},{y + dy:.1f}" for dx, dy in _CORNERS[shape])
    return f'<polygon class="sign {look.kind}" points="{points}"/>'
