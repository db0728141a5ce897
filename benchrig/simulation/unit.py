"""The unit under test: it estimates its own attitude from what it senses, and answers with pulses.

It believes its declaration: with a wrong mounting it corrects the wrong way, as a real one would.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import accumulate
from typing import Final

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import AXIS_NAMES
from benchrig.simulation.faults import Faults
from benchrig.simulation.mechanics import corrective_effect

FRAME_S: Final = 0.020
"""Between two pulses: 50 Hz."""
LATENCY_S: Final = 0.020
RATE_GAIN_US: Final = (0.8, 0.8, 1.2)
"""µs per deg/s of roll, pitch and yaw rate, for a centre of 1500 µs; other centres in proportion."""
ANGLE_GAIN_US: Final = (4.0, 4.0, 3.0)
"""µs per deg of roll, pitch and yaw."""
_CENTRE_US: Final = 1500.0
_STOP: Final = 0.28
"""Of the centre: where the pulses end."""
_ZEROING_S: Final = 1.5
_SETTLING_S: Final = 1.5
"""Time constant with which the accelerometer is believed."""
_WEAK: Final = 0.02


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
    rate = (gyro - gyro[time < _ZEROING_S].mean(axis=0)) @ believed.T
    force = accelerometer @ believed.T * (-1.0 if airframe.sensor.reads == "gravity" else 1.0)
    step = np.diff(time, prepend=time[0])
    turned = running_product(Rotation.from_rotvec(0.5 * (rate + np.roll(rate, 1, axis=0)) * step[:, None]))
    down = -turned.apply(force)
    start = down[time < _ZEROING_S].mean(axis=0)
    share = float(np.median(step)) / _SETTLING_S
    smooth = np.column_stack([_smoothed(down[:, axis], float(start[axis]), share) for axis in range(3)])
    return Estimate(time, rate, euler(_levelling(smooth) * turned))


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


def _smoothed(values: Vector, start: float, share: float) -> Vector:
    passed = accumulate(values.tolist(), lambda level, value: level + share * (value - level), initial=start)
    return np.array(list(passed)[1:])


def _levelling(down: Vector) -> Rotation:
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


def pulses(believed: Estimate, airframe: Airframe, faults: Faults) -> Mapping[str, Vector]:
    """Give the pulse each actuator gets at every row, µs: renewed once a frame, held in between.

    Returns
    -------
    mapping of actuator name to ndarray, shape (N,), µs
    """
    frame = np.floor(believed.time / FRAME_S) * FRAME_S
    acted_on = frame - faults.number("servos-late", LATENCY_S * 1e3) * 1e-3
    wanted = _wanted(believed, acted_on, faults)
    turned = np.radians(faults.number("plate-turned", 0.0))
    sent = {
        actuator.name: _pulse(actuator, corrective_effect(actuator, airframe, turned), wanted, faults)
        for actuator in airframe.actuators
    }
    for pair in faults.values("servos-swapped"):
        first, second = (name.strip() for name in pair.split(","))
        sent[first], sent[second] = sent[second], sent[first]
    return sent


def _wanted(believed: Estimate, when: Vector, faults: Faults) -> Vector:
    """Give the correction wanted about roll, pitch and yaw, shape (N, 3), µs: against rate and angle."""
    wanted = np.zeros((len(when), 3))
    for axis, name in enumerate(AXIS_NAMES):
        rate = np.degrees(np.interp(when, believed.time, believed.rate[:, axis]))
        angle = np.degrees(np.interp(when, believed.time, np.unwrap(believed.attitude[:, axis])))
        hold = -1.0 if name in faults.values("hold-reversed") else 1.0
        sense = -1.0 if name in faults.values("axis-reversed") else 1.0
        wanted[:, axis] = -sense * (RATE_GAIN_US[axis] * rate + hold * ANGLE_GAIN_US[axis] * angle)
    return wanted


def _pulse(actuator: Actuator, effect: Vector, wanted: Vector, faults: Faults) -> Vector:
    centre = _CENTRE_US if actuator.centre is None else actuator.centre * 1e6
    move = wanted @ effect * centre / _CENTRE_US
    if actuator.name in faults.values("servo-reversed"):
        move = -move
    if actuator.name in faults.values("servo-weak"):
        move = move * _WEAK
    if actuator.name in faults.values("servo-still"):
        move = np.zeros_like(move)
    stop = faults.number("servo-stops", _STOP * centre)
    pulse: Vector = np.round(centre + np.clip(move, -stop, stop))
    return pulse
