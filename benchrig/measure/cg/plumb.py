"""Where the vertical lay in a hanging airframe, and what each error of a reading does to it.

Errors are kept apart by their source, so that what two readings share (a named point, the accelerometer's bias) is
shared in the result as well.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.cg.worksheet import Angles, Mark, Spot, Worksheet

Effects = Mapping[str, Matrix]
"""By source: what one standard deviation of each of its errors does, shape (3, k)."""

UNKNOWN_LEAN: Final = np.radians(3.0)
"""rad: by which an airframe hung from its middle plane leans across where nobody measured it (common practice)."""

_SIDE: Final = (0, 2)


@dataclass(frozen=True, slots=True, eq=False)
class Vertical:
    """The direction down.

    Attributes
    ----------
    down : ndarray, shape (3,)
        Unit vector in body axes; its part to the right is zero where `across` is False.
    effects : mapping of str to ndarray, shape (3, k)
    across : bool
        Whether the lean to right or left was measured. If not, only its side view is known.
    """

    down: Vector
    effects: Effects
    across: bool

    @property
    def normals(self) -> Matrix:
        """The directions, square to the plumb line, in which it fixes the CG: shape (1 or 2, 3)."""
        if not self.across:
            return np.array([[self.down[2], 0.0, -self.down[0]]])
        _, _, rows = np.linalg.svd(self.down[None, :])
        normals: Matrix = rows[1:]
        return normals


def direction(nose: float, across: float) -> Vector:
    """Give the direction down in body axes.

    Parameters
    ----------
    nose : float, rad
        Seen square from the side, from the airframe's own down to the plumb line; nose down positive, to a half turn.
    across : float, rad
        Of the airframe's right below the horizontal.

    Examples
    --------
    The nose straight down: the airframe's forward is down.

    >>> direction(np.pi / 2, 0.0).round(9).tolist()
    [1.0, 0.0, 0.0]
    """
    return np.array([np.sin(nose) * np.cos(across), np.sin(across), np.cos(nose) * np.cos(across)])


def spot_effects(worksheet: Worksheet, spot: Spot, own: str) -> dict[str, Matrix]:
    """Give the errors of a place: its own, and those of every point that it was measured by way of."""
    size = worksheet.accuracy.distance * np.eye(3)
    return {own: size, **{f"point {name}": size for name in worksheet.chain(spot)}}


def vertical_by_hand(angles: Angles, sd: float, source: str) -> Vertical:
    """Give the vertical from angles.

    Parameters
    ----------
    angles : Angles
    sd : float, rad
        Of each angle.
    source : str
        By which the errors are named.
    """
    if angles.by == "inclinometer":
        return _by_inclinometer(angles, sd, source)
    nose, across = angles.nose, angles.across or 0.0
    by_nose = np.array([np.cos(nose) * np.cos(across), 0.0, -np.sin(nose) * np.cos(across)])
    by_across = np.array([-np.sin(nose) * np.sin(across), np.cos(across), -np.cos(nose) * np.sin(across)])
    columns = [by_nose] if angles.across is None else [by_nose, by_across]
    return Vertical(direction(nose, across), {source: sd * np.column_stack(columns)}, angles.across is not None)


def _by_inclinometer(angles: Angles, sd: float, source: str) -> Vertical:
    """Spread both slopes by their errors: near 90° a slope is no longer straight in its angle."""
    across = angles.across or 0.0
    down = _sloping(angles.nose, across, upside_down=angles.upside_down)
    step = np.sqrt(2.0) * sd
    spread = [(step, 0.0), (-step, 0.0)]
    spread += [] if angles.across is None else [(0.0, step), (0.0, -step)]
    moved = [_sloping(angles.nose + n, across + a, upside_down=angles.upside_down) for n, a in spread]
    columns = [(m - down) / 2 for m in moved]
    if angles.across is None:
        leaning = _sloping(angles.nose, UNKNOWN_LEAN, upside_down=angles.upside_down)[[*_SIDE]]
        seen = leaning / np.linalg.norm(leaning)
        columns.append(np.array([seen[0], 0.0, seen[1]]) - down)
    return Vertical(down, {source: np.column_stack(columns)}, angles.across is not None)


def _sloping(nose: float, across: float, *, upside_down: bool) -> Vector:
    """Give the direction down from the slopes of the airframe's forward and right below the horizontal."""
    forward, right = np.sin(nose), np.sin(across)
    height = np.sqrt(max(0.0, 1.0 - forward**2 - right**2))
    down = np.array([forward, right, -height if upside_down else height])
    unit: Vector = down / np.linalg.norm(down)
    return unit


def vertical_by_mark(worksheet: Worksheet, spot: Spot, mark: Mark, own: str) -> Vertical:
    """Give the vertical from two places on the plumb line, the mark below the point.

    Parameters
    ----------
    worksheet : Worksheet
    spot : Spot
        Where it hung from.
    mark : Mark
    own : str
        By which the errors of `spot` are named.
    """
    way = worksheet.where(mark.spot) - worksheet.where(spot)
    if not mark.across:
        way = way * [1.0, 0.0, 1.0]
    length = float(np.linalg.norm(way))
    down = way / length
    square = (np.eye(3) - np.outer(down, down)) / length
    effects: dict[str, Matrix] = {}
    for sign, where, name in ((-1.0, spot, own), (1.0, mark.spot, f"mark of {own}")):
        for source, effect in spot_effects(worksheet, where, name).items():
            effects[source] = effects.get(source, np.zeros((3, 3))) + sign * square @ effect
    return Vertical(down, effects, mark.across)
