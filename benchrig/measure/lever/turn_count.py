"""Counting turns by gravity: a table is never quite level, so gravity goes round in the airframe once a turn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.lever.stand import Stand
from benchrig.measure.lever.window import QUIETEST

LARGEST_ERROR: Final = 0.06
"""Of the gyro's rate: a consumer unit is within ±3 % (PS-MPU-6000A-00 rev. 3.4, p. 12), and twice that is its limit."""

_SURE: Final = 8.0  # standard deviations of the once-a-turn's size
_WIDEST: Final = 2.5
_RIVAL: Final = 0.7  # of the largest: a once-a-turn within the limits that is so strong is believed before others


@dataclass(frozen=True, slots=True)
class TurnCount:
    """What gravity says of the turns.

    Attributes
    ----------
    ratio : float or None
        Turns by gravity over turns by the gyro; negative if they go the other way round. None where the table is too
        level to tell.
    spread : float
        One standard deviation of the ratio.
    tilt : float, m/s²
        Gravity's part across the table's axis.
    """

    ratio: float | None
    spread: float
    tilt: float

    @property
    def fits(self) -> bool:
        """Whether gravity and the gyro can be of one story."""
        return self.ratio is None or abs(self.ratio - 1.0) < LARGEST_ERROR


def count_turns(stand: Stand) -> TurnCount:
    """Compare the turns of a spin by gravity with those by the gyro.

    Parameters
    ----------
    stand : Stand
        Of a spin.

    Returns
    -------
    TurnCount
    """
    angle, across, squared = _seen(stand)
    # what does not go round: the bias, and the pull to the axis, as the square of the rate
    steady, _ = np.linalg.qr(np.column_stack([np.ones_like(squared), squared - squared.mean()]))
    across = across - steady @ (steady.T @ across)
    ratios = _ratios(float(np.ptp(angle)))
    amplitude = np.array([abs(_goes_round(ratio, angle, across, steady)) for ratio in ratios])
    near = np.abs(ratios - 1) < LARGEST_ERROR
    best = int(np.argmax(amplitude))
    inside = int(np.flatnonzero(near)[np.argmax(amplitude[near])])
    if amplitude[inside] > _RIVAL * amplitude[best]:
        best = inside
    ratio = _peak(ratios, amplitude, best)
    size = _goes_round(ratio, angle, across, steady)
    left = across - size * np.exp(-1j * ratio * angle)
    noise = float(np.sqrt(max(np.mean(np.abs(left) ** 2), QUIETEST**2) / len(left)))
    # a mean over a window is shorter than what goes round in it
    shortened = np.sinc(np.linalg.norm(stand.turning) * stand.where.length / (2 * np.pi))
    sure = abs(size) > _SURE * noise
    # of the slope of a line through the phases, which feel half of the noise of a complex number
    spread = float(np.sqrt(6.0) * noise / abs(size) / np.ptp(angle)) if sure else np.inf
    return TurnCount(ratio if sure else None, spread, float(abs(size) / shortened))


def _peak(ratios: Vector, amplitude: Vector, best: int) -> float:
    """Go from the best of the ratios to the top of the parabola through it and its neighbours."""
    if not 0 < best < len(ratios) - 1 or ratios[best - 1] * ratios[best + 1] < 0:
        return float(ratios[best])
    before, top, after = amplitude[best - 1 : best + 2]
    bend = before - 2 * top + after
    shift = 0.5 * (before - after) / bend if bend < 0 else 0.0
    return float(ratios[best] + np.clip(shift, -1, 1) * (ratios[best + 1] - ratios[best]))


def _seen(stand: Stand) -> tuple[Vector, Vector, Vector]:
    """Give the angle turned, the reading across the axis as a complex number, and the squared rate, in each window."""
    axis = stand.turning / np.linalg.norm(stand.turning)
    along = stand.rate @ axis
    angle = np.concatenate([[0.0], np.cumsum(0.5 * (along[1:] + along[:-1])) * stand.step])
    first = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    first /= np.linalg.norm(first)
    moving = ~stand.still
    force = stand.where.means(stand.force)[moving]
    across = force @ first + 1j * (force @ np.cross(axis, first))
    return stand.where.means(angle)[moving], across, stand.where.means(along**2)[moving]


def _ratios(turned: float) -> Vector:
    """Lay ratios so close that no once-a-turn falls between two of them, for either sense."""
    one = np.arange(0.4, _WIDEST, 0.25 / turned)
    fine: Vector = np.concatenate([-one[::-1], one])
    return fine


def _goes_round(ratio: float, angle: Vector, across: Vector, steady: Vector) -> complex:
    """Fit the part that goes round: a thing that stands still turns backwards in the airframe."""
    round_ = np.exp(-1j * ratio * angle)
    round_ = round_ - steady @ (steady.T @ round_)
    return complex(np.vdot(round_, across) / np.vdot(round_, round_).real)
