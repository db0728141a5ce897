"""The unit under test: it estimates its own attitude from what it senses.

It believes its declaration: with a wrong mounting its estimate is as wrong as a real one's would be.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from typing import Final

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector

ZEROING_S: Final = 1.5
SETTLING_S: Final = 1.5
"""Time constant with which the accelerometer is believed."""


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """What the unit believes.

    Attributes
    ----------
    time : ndarray, shape (N,), s
    rate : ndarray, shape (N, 3), rad/s
    attitude : ndarray, shape (N, 3), rad
        Roll, pitch, yaw; the yaw from the start.
    """

    time: Vector
    rate: Vector
    attitude: Vector


def estimate(time: Vector, gyro: Vector, accelerometer: Vector, airframe: Airframe) -> Estimate:
    """Integrate the gyro, then level the result by the accelerometer's reading, smoothed where the gyro's frame stands.

    Parameters
    ----------
    time : ndarray, shape (N,), s
    gyro, accelerometer : ndarray, shape (N, 3), rad/s and m/s²
        As sensed, in the sensor's axes.
    """
    believed = airframe.sensor.body_from_sensor
    rate = (gyro - gyro[time < ZEROING_S].mean(axis=0)) @ believed.T
    force = accelerometer @ believed.T * (-1.0 if airframe.sensor.reads == "gravity" else 1.0)
    step = np.diff(time, prepend=time[0])
    turned = running_product(Rotation.from_rotvec(0.5 * (rate + np.roll(rate, 1, axis=0)) * step[:, None]))
    down = -turned.apply(force)
    start = down[time < ZEROING_S].mean(axis=0)
    share = float(np.median(step)) / SETTLING_S
    smooth = np.column_stack([smoothed(down[:, axis], float(start[axis]), share) for axis in range(3)])
    return Estimate(time, rate, euler(levelling(smooth) * turned))


def running_product(steps: Rotation) -> Rotation:
    """Multiply rotations one after another, keeping every partial product, by doubling the reach.

    Parameters
    ----------
    steps : Rotation, N of them

    Returns
    -------
    Rotation, N of them
        The first, the first times the second, and so on.
    """
    product, reach = steps, 1
    while reach < len(steps):
        product = Rotation.concatenate([product[:reach], product[:-reach] * product[reach:]])
        reach *= 2
    return product


def smoothed(values: Vector, start: float, share: float) -> Vector:
    """Follow values by a share of the difference at every step, from `start`; gives as many as it was given."""
    passed = accumulate(values.tolist(), lambda level, value: level + share * (value - level), initial=start)
    return np.array(list(passed)[1:])


def levelling(down: Vector) -> Rotation:
    """Give the shortest turns that bring each vector to point down."""
    unit = down / np.maximum(np.linalg.norm(down, axis=1, keepdims=True), 1e-12)
    axis = np.column_stack([unit[:, 1], -unit[:, 0], np.zeros(len(unit))])
    sine = np.linalg.norm(axis, axis=1, keepdims=True)
    angle = np.arctan2(sine, unit[:, 2:])
    return Rotation.from_rotvec(axis / np.maximum(sine, 1e-12) * angle)


def euler(world_from_body: Rotation) -> Vector:
    """Read roll, pitch and yaw (3-2-1 order) off quaternions, shape (N, 3), rad.

    References
    ----------
    Diebel, *Representing Attitude: Euler Angles, Unit Quaternions, and Rotation Vectors*, 2006 (from memory).
    """
    x, y, z, w = world_from_body.as_quat().T
    roll = np.arctan2(2 * (w * x + y * z), w * w - x * x - y * y + z * z)
    pitch = np.arcsin(np.clip(2 * (w * y - x * z), -1.0, 1.0))
    yaw = np.arctan2(2 * (w * z + x * y), w * w + x * x - y * y - z * z)
    return np.column_stack([roll, pitch, yaw])
