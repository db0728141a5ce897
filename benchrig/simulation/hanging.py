"""What the airframe does at a fixed point: hanging still from it, and being swung about it."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.geometry.directions import Vector
from benchrig.simulation.draft import Draft, standing
from benchrig.simulation.hand import tremor
from benchrig.simulation.made import Made
from benchrig.simulation.trajectory import STANDARD_GRAVITY, Wobble

_HANG_S: Final = 8.0
_PENDULUM_DEG: Final = (1.2, 2.2)
_TWIST_DEG: Final = (2.0, 8.0)
_TWIST_HZ: Final = (0.08, 0.2)
_GYRATION_M: Final = (0.08, 0.15)
"""Of a model of one or two kilograms about its centre of gravity (common practice, no source)."""
_DECAY_PER_S: Final = (0.4, 0.7)
_SWING_S: Final = 12.0
_SWING_DEG: Final = (20.0, 25.0)
_SWING_TWIST_DEG: Final = (15.0, 30.0)
_SWING_HZ: Final = (0.4, 0.8)
_ABOVE: Final = np.array([0.0, 0.0, -0.4])


def hang(draft: Draft, said: Vector) -> None:
    """Hang the airframe from a point by a thread: it comes to rest with the centre of gravity plumb below.

    Parameters
    ----------
    said : ndarray, shape (3,), m
        The point that the operator names, from the CG, in body axes.
    """
    point = hung_from(said, draft.faults.number("wrong-point", 0.0))
    # from the point to the centre of gravity: the one direction that must be down, whatever the heading
    down = -point / np.linalg.norm(point)
    draft.carry(plumb(down, draft.rng.uniform(0.0, 2 * np.pi)), _ABOVE)
    start = draft.now
    draft.turns.append(pendulum(draft.rng, down, float(np.linalg.norm(point)), start, start + _HANG_S))
    draft.still(_HANG_S, about=point)
    draft.made.append(Made("hang", "hang", start, start, draft.now, draft.now, np.zeros(3), down=down))
    _put_back(draft)


def hung_from(said: Vector, aft_mm: float) -> Vector:
    """Give the point it really hangs from, from the CG, m."""
    point: Vector = said - np.array([1e-3 * aft_mm, 0.0, 0.0])
    return point


def plumb(down: Vector, heading: float) -> Rotation:
    """Turn the airframe so that the body axis `down` points down, and then about the vertical.

    Returns
    -------
    Rotation
        Body to world.
    """
    across = np.cross(down, [0.0, 0.0, 1.0])
    sine, cosine = float(np.linalg.norm(across)), float(down[2])
    # a point below the centre of gravity turns the airframe over, about any level axis
    level_axis = across / sine if sine > 0 else np.array([1.0, 0.0, 0.0])
    upright = Rotation.from_rotvec(np.arctan2(sine, cosine) * level_axis)
    return Rotation.from_rotvec([0.0, 0.0, heading]) * upright


def pendulum(rng: np.random.Generator, down: Vector, length: float, start: float, end: float) -> Wobble:
    """Draw the swing of a rigid body let go at a point, and the thread's twist, both dying away.

    Parameters
    ----------
    down : ndarray, shape (3,)
        In body axes, at rest.
    length : float, m
        From the point to the centre of gravity.

    References
    ----------
    The physical pendulum: ω² = g l / (k² + l²), with k the radius of gyration (from memory).
    """
    gyration = rng.uniform(*_GYRATION_M)
    pace = np.sqrt(STANDARD_GRAVITY * length / (gyration**2 + length**2)) / (2 * np.pi)
    first, second = np.linalg.svd(down[None, :])[2][1:]
    sizes = np.radians([rng.uniform(*_PENDULUM_DEG), rng.uniform(*_PENDULUM_DEG), rng.uniform(*_TWIST_DEG)])
    amplitude = sizes[:, None] * np.array([first, second, down])
    frequency = np.array([[pace] * 3, [pace] * 3, [rng.uniform(*_TWIST_HZ)] * 3])
    phase = np.repeat(rng.uniform(0.0, 2 * np.pi, (3, 1)), 3, axis=1)
    return Wobble(amplitude, frequency, phase, start, end, 0.4, rng.uniform(*_DECAY_PER_S))


def swing(draft: Draft, pivot: Vector) -> None:
    """Swing the airframe by hand about a fixed point that it is held by.

    Parameters
    ----------
    pivot : ndarray, shape (3,), m
        From the CG, in body axes; it stays where it is in the world.
    """
    loose = Rotation.from_rotvec(draft.rng.normal(0.0, np.radians(3.0), 3))
    draft.carry(standing(draft.plane, draft.heading) * loose, _ABOVE)
    draft.still(0.3, about=pivot)
    start, end = draft.now, draft.now + _SWING_S
    draft.turns.append(_to_and_fro(draft.rng, start, end))
    draft.turns.append(tremor(draft.rng, start, end, shake=draft.faults.number("shaky", 1.0))[0])
    if draft.faults.has("pivot-moves"):
        draft.sways.append(_moving_pivot(draft.rng, draft.faults.number("pivot-moves", 0.0), start, end))
    draft.still(_SWING_S, about=pivot)
    draft.made.append(Made("swing", "swing", start, end, end, end, np.zeros(3)))
    draft.still(0.3, about=pivot)
    _put_back(draft)


def _to_and_fro(rng: np.random.Generator, start: float, end: float) -> Wobble:
    """Roll and pitch to and fro, each at a pace of its own, and twist along."""
    large = np.array([*rng.uniform(*_SWING_DEG, 2), rng.uniform(*_SWING_TWIST_DEG)])
    amplitude = np.radians([large, 0.15 * large])
    frequency = rng.uniform(*_SWING_HZ, (2, 3)) * np.array([[1.0], [2.0]])
    return Wobble(amplitude, frequency, rng.uniform(0.0, 2 * np.pi, (2, 3)), start, end, 1.0)


def _moving_pivot(rng: np.random.Generator, size_mm: float, start: float, end: float) -> Wobble:
    amplitude = np.full((1, 3), 1e-3 * size_mm)
    return Wobble(amplitude, rng.uniform(0.3, 0.9, (1, 3)), rng.uniform(0.0, 2 * np.pi, (1, 3)), start, end, 1.0)


def _put_back(draft: Draft) -> None:
    draft.stand()
    draft.still(draft.draw_pause(1.0, 1.6))
