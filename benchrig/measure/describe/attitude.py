"""The unit's own roll, pitch and yaw in an unknown stream: what gravity and the gyro say of the same poses."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.describe.bins import Bins

LARGEST_TILT_MISS: Final = np.radians(6.0)
"""rad, rms: how far the tilt of a unit's own estimate may be off gravity."""

_BETTER: Final = 0.35
"""Of the tilts there are: what must be left, at most."""

_NEAR: Final = (1.15, np.radians(0.1))
"""Times, and rad more: tilts this near the best are told apart by the sense of the heading."""

_MOMENTS: Final = 300
_LARGEST_RADIAN: Final = 6.5
_LARGEST_DEGREE: Final = 370.0
_SPAN: Final = 0.3  # s
_MOST_COLUMNS: Final = 24


@dataclass(frozen=True, slots=True)
class FoundAttitude:
    """The columns of roll, pitch and yaw.

    Attributes
    ----------
    columns : tuple of int
    unit : {"deg", "rad"}
    tilt_miss : float, rad
        Rms, against gravity.
    is_reversed : bool
        Whether an odd number of the angles has the other sign than the accelerometer gives, in any mounting.
    """

    columns: tuple[int, int, int]
    unit: str
    tilt_miss: float
    is_reversed: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Tilt:
    roll: int
    pitch: int
    unit: str
    miss: float
    body_from_sensor: Matrix


def find_attitude(bins: Bins, force: Vector, rate: Vector, columns: Sequence[int]) -> FoundAttitude | None:
    """Find the unit's own attitude.

    Parameters
    ----------
    bins : Bins
    force : ndarray, shape (N, 3)
        The accelerometer, as parts of gravity.
    rate : ndarray, shape (N, 3), rad/s
        The gyro about the same axes.
    columns : sequence of int
        Among which to look.
    """
    angles = [c for c in columns if np.ptp(bins.values[:, c]) > 0 and _unit(bins.values[:, c])][:_MOST_COLUMNS]
    best: FoundAttitude | None = None
    for tilt in _tilts(bins, force, angles):
        yaw = _yaw(bins, tilt, rate, [c for c in angles if c not in (tilt.roll, tilt.pitch)])
        if yaw is None:
            continue
        column, sign = yaw
        # a mirrored map alone is an accelerometer that reads gravity in the place of specific force
        found = FoundAttitude((tilt.roll, tilt.pitch, column), tilt.unit, tilt.miss, sign < 0)
        if not found.is_reversed:
            return found
        best = best or found
    return best


def _unit(values: Vector) -> str:
    largest = float(np.abs(values).max())
    if largest > _LARGEST_DEGREE:
        return ""
    return "rad" if largest <= _LARGEST_RADIAN else "deg"


def _tilts(bins: Bins, force: Vector, columns: Sequence[int]) -> list[_Tilt]:
    """Give the pairs of columns that may be roll and pitch, best first; roll and pitch swapped come near each other."""
    moments = np.flatnonzero(bins.calm)
    moments = moments[:: max(1, len(moments) // _MOMENTS)]
    seen = force[moments] / np.maximum(np.linalg.norm(force[moments], axis=1, keepdims=True), 1e-9)
    spread = float(np.sqrt(max(2 - 2 * float(np.linalg.norm(seen.mean(axis=0))), 0.0)))
    found = []
    for roll, pitch in itertools.permutations(columns, 2):
        unit = _unit(bins.values[moments][:, [roll, pitch]])
        factor = np.pi / 180 if unit == "deg" else 1.0
        phi, theta = bins.values[moments, roll] * factor, bins.values[moments, pitch] * factor
        said = np.column_stack([np.sin(theta), -np.sin(phi) * np.cos(theta), -np.cos(phi) * np.cos(theta)])
        # mean of said · (P seen), for all 48 maps P at once
        alike = np.einsum("kij,ij->k", SIGNED_PERMUTATIONS, said.T @ seen / len(seen))
        at = int(np.argmax(alike))
        miss = float(np.sqrt(max(2 - 2 * alike[at], 0.0)))
        if miss < min(LARGEST_TILT_MISS, _BETTER * spread):
            found.append(_Tilt(roll, pitch, unit, miss, SIGNED_PERMUTATIONS[at]))
    found.sort(key=lambda tilt: tilt.miss)
    return [tilt for tilt in found if tilt.miss < _NEAR[0] * found[0].miss + _NEAR[1]]


def _yaw(bins: Bins, tilt: _Tilt, rate: Vector, columns: Sequence[int]) -> tuple[int, int] | None:
    """Find the column whose changes are those of the heading, and its sign."""
    factor = np.pi / 180 if tilt.unit == "deg" else 1.0
    phi, theta = bins.values[:, tilt.roll] * factor, bins.values[:, tilt.pitch] * factor
    turn = np.linalg.det(tilt.body_from_sensor) * tilt.body_from_sensor
    body = rate @ turn.T
    heading = (body[:, 1] * np.sin(phi) + body[:, 2] * np.cos(phi)) / np.maximum(np.cos(theta), 0.2)
    span = bins.count(_SPAN)
    turned = np.concatenate([[0.0], np.cumsum(heading * bins.step)])[1:]
    expected = turned[span::span] - turned[:-span:span]
    best: tuple[float, int, int] | None = None
    for column in columns:
        angle = np.unwrap(bins.values[:, column] * factor)
        change = angle[span::span] - angle[:-span:span]
        slope = float(change @ expected / max(expected @ expected, 1e-12))
        left = float(((change - np.sign(slope) * expected) ** 2).sum() / max(float(expected @ expected), 1e-12))
        if left < _BETTER and (best is None or left < best[0]):
            best = (left, column, int(np.sign(slope)))
    return None if best is None else (best[1], best[2])
