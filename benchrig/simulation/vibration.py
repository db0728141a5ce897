"""Vibration lines, as of a rotor out of balance: what they add to force and rate at the very times of the samples.

Nothing filters them, so lines above half of the sample rate show up where sampling folds them to.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.simulation.faults import Faults
from benchrig.simulation.trajectory import STANDARD_GRAVITY

_ROCKING_M: Final = 0.1
"""From the sensor to what the airframe rocks about: its rates follow from the force."""


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """One sine.

    Attributes
    ----------
    frequency_hz : float
    force : ndarray, shape (3,), m/s²
        Its peak, in body axes.
    rate : ndarray, shape (3,), rad/s
        The peak of the rocking that goes with it, a quarter of a turn later.
    phase : float, rad
    """

    frequency_hz: float
    force: Vector
    rate: Vector
    phase: float


def draw_lines(faults: Faults, rng: np.random.Generator) -> tuple[Line, ...]:
    """Draw the way and the phase of every vibration line asked for."""
    return tuple(_line(text, rng) for text in faults.values("vibration"))


def _line(text: str, rng: np.random.Generator) -> Line:
    frequency, size_g = (float(part) for part in text.split(","))
    along, across = np.linalg.qr(rng.normal(0.0, 1.0, (3, 2)))[0].T
    peak = size_g * STANDARD_GRAVITY
    # α r is the force; the rate is its integral
    rate = peak / (_ROCKING_M * 2 * np.pi * frequency)
    return Line(frequency, peak * along, rate * across, rng.uniform(0.0, 2 * np.pi))


def shaking_force(lines: Iterable[Line], time: Vector) -> Vector:
    """Give what the lines add to the specific force, shape (N, 3), m/s², in body axes."""
    total = np.zeros((len(time), 3))
    for line in lines:
        total += np.sin(2 * np.pi * line.frequency_hz * time + line.phase)[:, None] * line.force
    return total


def rocking_rate(lines: Iterable[Line], time: Vector) -> Vector:
    """Give what the lines add to the angular rate, shape (N, 3), rad/s, in body axes."""
    total = np.zeros((len(time), 3))
    for line in lines:
        total -= np.cos(2 * np.pi * line.frequency_hz * time + line.phase)[:, None] * line.rate
    return total
