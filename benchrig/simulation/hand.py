"""How a hand shakes, waves and turns things: sizes from recordings of people doing it."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import turn_axis
from benchrig.simulation.trajectory import STANDARD_GRAVITY, Wobble

_BANDS_HZ: Final = np.array([[0.6, 1.2], [1.2, 2.0], [2.0, 3.0], [3.0, 4.5], [7.0, 9.0], [9.0, 11.0]])
"""Slow drift of the arm, and physiological tremor (8 to 12 Hz, common knowledge, no source at hand)."""
_SHARES: Final = np.array([[0.28], [0.28], [0.22], [0.18], [0.02], [0.02]])
"""Of the rate's and the travel's variance in each band."""
_RATE_SD_DEG_S: Final = (0.9, 1.7)
"""Of one axis of a held airframe; measured in holds: 1.0 to 2.6 deg/s of all three."""
_SWAY_SD_G: Final = 0.005
"""Of one axis, from the hand's own travel; measured in holds, all causes together: 0.008 to 0.017 g."""


def tremor(rng: np.random.Generator, start: float, end: float, *, shake: float) -> tuple[Wobble, Wobble]:
    """Draw how a held airframe shakes between two times: its attitude, and the place of the hand.

    Parameters
    ----------
    start, end : float, s
    shake : float
        How many times the usual size.

    Returns
    -------
    attitude, place : Wobble
    """
    shape = (len(_BANDS_HZ), 3)
    frequency = rng.uniform(_BANDS_HZ[:, :1], _BANDS_HZ[:, 1:], shape)
    omega = 2 * np.pi * frequency
    each = np.sqrt(2.0 * _SHARES) * shake
    rate_sd = np.radians(rng.uniform(*_RATE_SD_DEG_S, 3))
    attitude = Wobble(each * rate_sd / omega, frequency, rng.uniform(0, 2 * np.pi, shape), start, end, 0.15)
    travel = each * _SWAY_SD_G * STANDARD_GRAVITY / omega**2
    place = Wobble(travel, frequency, rng.uniform(0, 2 * np.pi, shape), start, end, 0.15)
    return attitude, place


def wave(rng: np.random.Generator, start: float, end: float) -> tuple[Wobble, Wobble]:
    """Draw a free turning about all axes, with the hand travelling along.

    Returns
    -------
    attitude, place : Wobble
    """
    shape = (2, 3)
    frequency = rng.uniform(0.3, 0.8, shape)
    amplitude = np.radians(rng.uniform(14.0, 24.0, shape))
    attitude = Wobble(amplitude, frequency, rng.uniform(0, 2 * np.pi, shape), start, end, 0.8)
    travel = rng.uniform(0.01, 0.03, shape)
    place = Wobble(travel, rng.uniform(0.3, 0.9, shape), rng.uniform(0, 2 * np.pi, shape), start, end, 0.8)
    return attitude, place


def hand_turn(rng: np.random.Generator, motion: str, size_deg: float, slop_deg: float, nose: float) -> Vector:
    """Draw the net turn of one hand move.

    Parameters
    ----------
    motion : str
        What the operator means to do.
    size_deg : float
        About the axis that is meant.
    slop_deg : float
        Standard deviation of the turns about the other two.
    nose : float, rad
        How far clockwise of the real nose the operator takes it to be.

    Returns
    -------
    ndarray, shape (3,), rad
        Axis times angle in body axes.
    """
    ahead, across, down = turn_axis(motion)
    meant = np.array([ahead * np.cos(nose) - across * np.sin(nose), ahead * np.sin(nose) + across * np.cos(nose), down])
    loose = rng.normal(0.0, slop_deg, 3)
    result: Vector = np.radians(size_deg * meant + loose - (loose @ meant) * meant)
    return result
