"""Benches of still poses with turns between them, by physics of their own: attitudes differentiated numerically.

World axes are north, east, down; a body pose takes a vector from the body's axes (forward, right, down) to the world's.
The unit sits square in the body, so that its axes are the body's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.signals.body import EvenRecording

GRAVITY = 9.80665
MG = GRAVITY / 1000
SIX = {
    "level": (0.0, 0.0),
    "inverted": (0.0, 180.0),
    "on nose": (-90.0, 0.0),
    "on tail": (90.0, 0.0),
    "on left side": (0.0, -90.0),
    "on right side": (0.0, 90.0),
}
"""Pitch and roll of each pose, deg: the named part is down."""

_FINER = 10


@dataclass(frozen=True, slots=True, eq=False)
class Unit:
    """What a unit makes of the truth: read = gain @ true + bias, and white noise of one-sided density."""

    gyro_gain: np.ndarray = field(default_factory=lambda: np.eye(3))
    gyro_bias: np.ndarray = field(default_factory=lambda: np.zeros(3))
    accelerometer_gain: np.ndarray = field(default_factory=lambda: np.eye(3))
    accelerometer_bias: np.ndarray = field(default_factory=lambda: np.zeros(3))
    gyro_noise: float = np.radians(0.008)
    accelerometer_noise: float = 400e-6 * GRAVITY


def consumer_unit(rng: np.random.Generator) -> Unit:
    """Draw scale errors of 1 %, cross-talk of 0.7 % and biases of 20 mg and 1.5 deg/s, as standard deviations."""
    return Unit(_gain(rng), np.radians(rng.normal(0, 1.5, 3)), _gain(rng), rng.normal(0, 20 * MG, 3))


def _gain(rng: np.random.Generator) -> np.ndarray:
    gain = np.clip(rng.normal(0, 0.007, (3, 3)), -0.02, 0.02)
    np.fill_diagonal(gain, 1 + np.clip(rng.normal(0, 0.01, 3), -0.03, 0.03))
    return gain


def laid(name: str, rng: np.random.Generator, sloppy_deg: float = 3.0) -> Rotation:
    """Lay the airframe into a pose as a hand does: any heading, a few degrees askew."""
    pitch, roll = SIX[name]
    pose = Rotation.from_euler("ZYX", [rng.uniform(0, 360), pitch, roll], degrees=True)
    return pose * Rotation.from_rotvec(np.radians(rng.normal(0, sloppy_deg, 3)))


def six_poses(rng: np.random.Generator, sloppy_deg: float = 3.0) -> list[Rotation]:
    """Lay it into all six poses in turn."""
    return [laid(name, rng, sloppy_deg) for name in SIX]


def poses_and_edges(rng: np.random.Generator, edges: int = 8) -> list[Rotation]:
    """Lay it into the six poses, then into poses in between."""
    return [*six_poses(rng), *Rotation.random(edges, random_state=rng.integers(1 << 31))]


def bench(
    poses: Sequence[Rotation],
    unit: Unit,
    seed: int = 0,
    *,
    rate_hz: float = 100.0,
    rest: float = 2.5,
    move: float = 1.5,
) -> EvenRecording:
    """Rest in each pose and turn to the next the shortest way; differences of the attitude are what a gyro feels."""
    attitude = _attitude(poses, rate_hz * _FINER, rest, move)
    turned = (attitude[:-1].inv() * attitude[1:]).as_rotvec() * rate_hz * _FINER
    before, after = np.vstack([turned[:1], turned]), np.vstack([turned, turned[-1:]])
    rate = 0.5 * (before + after)[::_FINER]
    force = attitude[::_FINER].inv().apply([0.0, 0.0, -GRAVITY])
    return read(rate, force, unit, rate_hz, seed)


def read(rate, force, unit: Unit, rate_hz: float, seed: int) -> EvenRecording:
    """Read a true rate (rad/s) and specific force (m/s²) with a unit."""
    rng = np.random.default_rng(seed)
    spread = np.sqrt(rate_hz / 2)
    gyro = rate @ unit.gyro_gain.T + unit.gyro_bias + rng.normal(0, unit.gyro_noise * spread, rate.shape)
    felt = force @ unit.accelerometer_gain.T + unit.accelerometer_bias
    felt = felt + rng.normal(0, unit.accelerometer_noise * spread, force.shape)
    none = np.zeros(len(gyro), dtype=np.bool_)
    time = np.arange(len(gyro)) / rate_hz
    return EvenRecording(time, 1 / rate_hz, np.zeros(len(gyro), dtype=np.int64), gyro, felt, None, None, none, none)


def _attitude(poses: Sequence[Rotation], rate_hz: float, rest: float, move: float) -> Rotation:
    still, moving = round(rest * rate_hz), round(move * rate_hz)
    part = np.arange(1, moving + 1) / moving
    eased = part**3 * (10 - 15 * part + 6 * part**2)
    legs = [Rotation.concatenate([poses[0]] * still)]
    for one, other in pairwise(poses):
        turn = (one.inv() * other).as_rotvec()
        legs += [one * Rotation.from_rotvec(np.outer(eased, turn)), Rotation.concatenate([other] * still)]
    return Rotation.concatenate(legs)


def sensitivities(gain: np.ndarray) -> np.ndarray:
    """Give how strongly each axis reads along its own direction."""
    return np.sqrt(np.sum(gain**2, axis=1))
