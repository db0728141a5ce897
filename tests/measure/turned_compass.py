"""Turned compasses with known truth: attitudes made with scipy, rates by differencing, nothing of the fit's own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.measure.compass.stretch import Stretch

GRAVITY = 9.80665
EARTH = np.array([19.0, 6.0, 45.0]) * 1e-6
HARD = np.array([12.0, -7.0, 20.0]) * 1e-6
DELTA = 1e-3


@dataclass(frozen=True)
class Turned:
    """A stretch and what it was made from: attitudes at the readings, and the readings, in body axes."""

    stretch: Stretch
    attitude: Rotation
    reading: np.ndarray


def smooth(part):
    part = np.clip(part, 0.0, 1.0)
    return part - np.sin(2 * np.pi * part) / (2 * np.pi)


def attitudes(legs, time):
    """Follow legs (heading, pitch, roll turned by, deg; duration, s), each smooth, one after the other."""
    angles, start = np.zeros((len(time), 3)), 0.0
    for *turn, seconds in legs:
        angles += np.outer(smooth((time - start) / seconds), turn)
        start += seconds
    return Rotation.from_euler("ZYX", angles, degrees=True)


STILL = (0, 0, 0, 3.0)
LEVEL_TURN = (STILL, (370, 0, 0, 8.0), STILL)
TWO_TURNS = (*LEVEL_TURN, (0, 30, 0, 1.5), (-365, 0, 0, 8.0), (0, -30, 0, 1.5), STILL)


def turn(
    legs=TWO_TURNS,
    *,
    hard=HARD,
    gain=None,
    earth=EARTH,
    delay=0.0,
    gyro=None,
    zero=(0.0, 0.0, 0.0),
    accelerometer=None,
    offset=(0.0, 0.0, 0.0),
    noise=0.0,
    added=None,
    seed=0,
    step=0.02,
) -> Turned:
    """Turn a compass: legs, its iron, gains and delay, and errors of gyro and accelerometer; body axes, SI."""
    time = np.arange(round(sum(leg[3] for leg in legs) / step)) * step
    rate = (attitudes(legs, time - DELTA).inv() * attitudes(legs, time + DELTA)).as_rotvec() / (2 * DELTA)
    rate = rate @ (np.eye(3) if gyro is None else gyro).T + np.asarray(zero)
    pose = attitudes(legs, time)
    force = pose.inv().apply([0.0, 0.0, -GRAVITY]) @ (np.eye(3) if accelerometer is None else accelerometer).T
    force = force + np.asarray(offset)
    reading = attitudes(legs, time - delay).inv().apply(earth) @ (np.eye(3) if gain is None else gain).T + hard
    reading = reading + (0.0 if added is None else added(time, pose))
    reading = reading + np.random.default_rng(seed).normal(0.0, noise, reading.shape)
    first, last = round(1.5 / step), len(time) - round(1.5 / step)
    moving = np.arange(round(3.2 / step), last - round(1.7 / step), round(0.2 / step))
    felt = np.array([first, *moving, last])
    spread = np.array([0.03, *[0.5] * len(moving), 0.03])
    stretch = Stretch(
        0, time, step, rate, np.full(3, 2e-4), felt, force[felt], spread, first, force[first], np.arange(len(time)),
        reading,
    )  # fmt: skip
    return Turned(stretch, pose, reading)
