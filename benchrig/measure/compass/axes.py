"""The compass's axes against the gyro: which maps the turns leave, and whether the heading turns the right way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.compass.iron import SCALE_SPREAD
from benchrig.measure.compass.iron_state import linear_fit
from benchrig.measure.compass.stretch import Stretch

PROPER: Final = 24
"""Maps tried: each stands for its opposite as well, which the field's dip alone can tell from it."""

UPRIGHT: Final = np.radians(15.0)
"""rad: an airframe that leans less counts as level for its heading."""

LEAST_ARC: Final = np.radians(180.0)
"""rad: the part of a circle without which its centre is not known."""

_WORSE: Final = 2.5  # times the misfit of the best map
_MARGIN: Final = 0.05  # of the field, added to it
_SECTORS: Final = 36
_THINNED: Final = 400  # readings a stretch for the maps: 24 fits


@dataclass(frozen=True, slots=True, eq=False)
class AxisMaps:
    """What the turns leave of the compass's axis maps, each together with its opposite.

    Attributes
    ----------
    left : tuple of ndarray, shape (3, 3)
        Body from compass, the best first.
    misfit : float, T
        Rms of one axis under the best, gains taken as 1.
    field : float, T
        Size of the field under it.
    down : float
        The part of that field which points down under it, from -1 to 1; under its opposite it points up as much.
    """

    left: tuple[Matrix, ...]
    misfit: float
    field: float
    down: float

    def leaves(self, declared: Matrix) -> bool:
        """Whether the declared map is among those left."""
        return any(np.allclose(one, declared) for one in self.left)

    @property
    def found(self) -> Matrix | None:
        """The only map left, or None where several are."""
        return self.left[0] if len(self.left) == 1 else None


def axis_maps(declared: Matrix, attitudes: Sequence[Matrix], stretches: Sequence[Stretch]) -> AxisMaps:
    """Weigh the 24 maps by how well one field and one hard iron explain the readings.

    Parameters
    ----------
    declared : ndarray, shape (3, 3)
        Body from compass.
    attitudes : sequence of ndarray, shape (M, 3, 3)
        World from body at the readings, by the gyro.
    stretches : sequence of Stretch

    Returns
    -------
    AxisMaps
    """
    thin = [slice(None, None, max(len(s.chosen) // _THINNED, 1)) for s in stretches]
    turned = [a[few] for a, few in zip(attitudes, thin, strict=True)]
    read = [s.reading[few] @ declared for s, few in zip(stretches, thin, strict=True)]
    maps = [declared @ SIGNED_PERMUTATIONS[k] for k in range(PROPER)]
    fits = [_misfit(turned, [r @ one.T for r in read]) for one in maps]
    order = sorted(range(PROPER), key=lambda k: fits[k][0])
    best, field, down = fits[order[0]]
    most = max(_WORSE * best, best + _MARGIN * field)
    return AxisMaps(tuple(maps[k] + 0.0 for k in order if fits[k][0] <= most), best, field, down)


def _misfit(attitudes: Sequence[Matrix], readings: Sequence[Vector]) -> tuple[float, float, float]:
    earths, hard = linear_fit(attitudes, readings)
    left = [
        r - np.einsum("nji,j->ni", a, earth) - hard for a, r, earth in zip(attitudes, readings, earths, strict=True)
    ]
    every = np.concatenate(left)
    size = np.linalg.norm(earths, axis=1)
    largest = int(np.argmax(size))
    down = float(earths[largest, 2] / max(size[largest], 1e-12))
    return float(np.sqrt((every**2).mean())), float(size[largest]), down


@dataclass(frozen=True, slots=True, eq=False)
class HeadingSense:
    """How the compass's heading follows the gyro's over the level readings.

    Attributes
    ----------
    slope, uncertainty : float
        Degrees of the compass for one of the gyro: +1 where it turns the right way, -1 where it turns the wrong way.
    gyro, compass : ndarray, shape (n,), rad
        Turned since the first of them, the circle's own centre taken out.
    """

    slope: float
    uncertainty: float
    gyro: Vector
    compass: Vector


def heading_sense(attitudes: Sequence[Matrix], stretches: Sequence[Stretch]) -> HeadingSense | None:
    """Compare the turning of the field in the airframe's level plane with the turning of the airframe.

    Parameters
    ----------
    attitudes : sequence of ndarray, shape (M, 3, 3)
        World from body at the readings, by the gyro alone.
    stretches : sequence of Stretch

    Returns
    -------
    HeadingSense or None
        Of the run of level readings that turned most; None where none turned by more than `LEAST_ARC`.
    """
    best: HeadingSense | None = None
    most = float(LEAST_ARC)
    for attitude, stretch in zip(attitudes, stretches, strict=True):
        level = lean(attitude) < UPRIGHT
        edges = [0, *(np.flatnonzero(np.diff(level)) + 1).tolist(), len(level)]
        for start, stop in pairwise(edges):
            heading = np.unwrap(headings(attitude[start:stop]))
            arc = _seen(heading) if level[start] and stop - start >= _SECTORS else 0.0
            if arc > most:
                most, best = arc, _sense(heading, levelled(attitude[start:stop], stretch.reading[start:stop])[:, :2])
    return best


def _sense(heading: Vector, reading: Vector) -> HeadingSense:
    """Fit a circle run through either way, and follow the readings about its centre."""
    point = reading[:, 0] + 1j * reading[:, 1]
    design = np.column_stack([np.exp(-1j * heading), np.exp(1j * heading), np.ones_like(point)])
    (right, wrong, centre), *_ = np.linalg.lstsq(design, point, rcond=None)
    compass = -np.unwrap(np.angle(point - centre))
    slope, start = np.polyfit(heading, compass, 1)
    left = compass - slope * heading - start
    # neighbours err alike: what is left counts once for each sector
    scatter = float(left.std() / (heading.std() * np.sqrt(_SECTORS)))
    blur = float(min(abs(right), abs(wrong)) / max(abs(right), abs(wrong), 1e-12))
    spread = float(np.hypot(np.hypot(scatter, SCALE_SPREAD), blur**2))
    return HeadingSense(float(slope), spread, heading - heading[0], compass - compass[0])


def headings(attitude: Matrix) -> Vector:
    """Give the heading of the nose, rad, shape (M,)."""
    return np.asarray(np.arctan2(attitude[:, 1, 0], attitude[:, 0, 0]))


def levelled(attitude: Matrix, reading: Vector) -> Vector:
    """Turn readings from the airframe's axes into level ones below its nose: its lean taken out, its heading kept."""
    heading = headings(attitude)
    cosine, sine = np.cos(heading), np.sin(heading)
    north, east, down = np.einsum("nij,nj->in", attitude, reading)
    return np.column_stack([cosine * north + sine * east, cosine * east - sine * north, down])


def lean(attitude: Matrix) -> Vector:
    """Give the angle by which the airframe's own down leaves the world's, rad, shape (M,)."""
    return np.asarray(np.arccos(np.clip(attitude[:, 2, 2], -1.0, 1.0)))


def _seen(heading: Vector) -> float:
    """Give how much of the circle was seen, rad, by sectors of 10°."""
    sectors = np.floor((heading % (2 * np.pi)) / (2 * np.pi) * _SECTORS).astype(np.int64)
    return float(len(np.unique(np.clip(sectors, 0, _SECTORS - 1))) * 2 * np.pi / _SECTORS)


@dataclass(frozen=True, slots=True, eq=False)
class Coverage:
    """Which of the directions that matter were seen.

    Attributes
    ----------
    level, raised : float, rad
        How much of the circle of headings was seen with the airframe level, and leaning by 15° to 75°.
    lean : float, rad
        The largest lean, 180° for an inverted airframe.
    spread : float
        Of the field's direction in the airframe, along the axis in which it spreads least: 0 for one circle about the
        vertical, 0.58 where all directions were seen alike.
    weakest : ndarray, shape (3,)
        That axis, body axes.
    """

    level: float
    raised: float
    lean: float
    spread: float
    weakest: Vector


def coverage_of(attitudes: Sequence[Matrix], earth: Vector) -> Coverage:
    """Say what was seen.

    Parameters
    ----------
    attitudes : sequence of ndarray, shape (M, 3, 3)
    earth : ndarray, shape (3,), T
        In the same world axes.
    """
    attitude = np.concatenate(list(attitudes))
    leaning, heading = lean(attitude), headings(attitude)
    raised = (leaning > UPRIGHT) & (leaning < np.radians(75.0))
    directions = np.einsum("nji,j->ni", attitude, earth / max(float(np.linalg.norm(earth)), 1e-12))
    squares, axes = np.linalg.eigh(np.cov(directions.T))
    return Coverage(
        level=_seen(heading[leaning < UPRIGHT]) if (leaning < UPRIGHT).any() else 0.0,
        raised=_seen(heading[raised]) if raised.any() else 0.0,
        lean=float(leaning.max()),
        spread=float(np.sqrt(max(squares[0], 0.0))),
        weakest=axes[:, 0],
    )
