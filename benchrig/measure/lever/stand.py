"""A stand: one stretch of a recording in which the airframe turned about one point that stood still."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from benchrig.geometry.directions import Vector
from benchrig.measure.lever.window import Windows
from benchrig.signals.body import BoolArray, EvenRecording
from benchrig.signals.rests import Stillness


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """A recording in the body axes that the declared mounting gives.

    Attributes
    ----------
    even : EvenRecording
        Time base, gaps and clipping.
    rate : ndarray, shape (N, 3), rad/s
        Gyro bias taken out.
    force : ndarray, shape (N, 3), m/s²
        Specific force, as read.
    stillness : Stillness
    name : str
        Of the recording, for messages.
    gyro_range : float or None, rad/s
        As declared.
    """

    even: EvenRecording
    rate: Vector
    force: Vector
    stillness: Stillness
    name: str
    gyro_range: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """The samples of one spin, with the rests beside it on the same table, or of one swing about a fixed point.

    Vectors are in body axes, turned from the sensor's by the declared mounting.

    Attributes
    ----------
    kind : {"spin", "swing"}
    place : str
        Of the motion in the manifest, or the recording's name: for messages.
    start : float, s
        From the first sample of the recording to the first of `rate`.
    step : float, s
    rate : ndarray, shape (N, 3), rad/s
        Bias taken out, without a gap.
    force : ndarray, shape (N, 3), m/s²
        Specific force at the sensor, as read.
    where : Windows
        Those that count.
    still : ndarray, shape (W,), bool
        Which of them lie in a rest.
    turning : ndarray, shape (3,), rad/s
        Mean rate of a spin; zero for a swing.
    pose : str
        ``level``, ``on tail`` …: how the airframe stood on the table; ``leaning`` where it stood in none of these ways.
        Empty for a swing.
    pivot : ndarray, shape (3,), m, or None
        The point that stood still, from the CG, as the manifest says.
    table_rate : float or None, rad/s
        As stated, without sign.
    turns : float
        Whole and part turns of the steady spin; zero for a swing.
    speed_counts : bool
        Whether the stated speed is believed.
    gyro_doubt : float
        Standard deviation of the gyro's scale where nothing but the gyro shows how fast it turned; zero elsewhere.
    """

    kind: Literal["spin", "swing"]
    place: str
    start: float
    step: float
    rate: Vector
    force: Vector
    where: Windows
    still: BoolArray
    turning: Vector
    pose: str
    pivot: Vector | None
    table_rate: float | None
    turns: float
    speed_counts: bool = True
    gyro_doubt: float = 0.0

    @property
    def known_rate(self) -> float | None:
        """The stated speed where it is believed, rad/s."""
        return self.table_rate if self.speed_counts else None


@dataclass(frozen=True, slots=True)
class Remark:
    """Why a spin or swing is no evidence, or what is odd about it.

    Attributes
    ----------
    code : str
        Of the finding.
    place : str
    reason, fix : str
        Clauses: no capital, no full stop.
    refused : bool
        Whether the spin or swing was left out for it.
    """

    code: str
    place: str
    reason: str
    fix: str
    refused: bool = True
