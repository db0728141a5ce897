"""Bodies that turn about a fixed point, by physics of their own: places and attitudes differentiated numerically.

World axes are north, east, down; the body's, and the sensor's, are forward, right, down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.capture.recording import Prompt, Turntable
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.airframe_file import read_airframe
from benchrig.measure.lever.arm import LeverEstimate, lever_arm_of
from benchrig.signals.body import EvenRecording
from benchrig.signals.rests import find_rests

GRAVITY = 9.80665
POSES = {
    "level": Rotation.identity(),
    "on tail": Rotation.from_rotvec([0.0, np.pi / 2, 0.0]),
    "on right side": Rotation.from_rotvec([np.pi / 2, 0.0, 0.0]),
}
STEP = 1e-3


@dataclass(frozen=True, slots=True)
class Errors:
    """What a sensor makes of a rate and a force: white noise of one sample (rad/s, m/s²), gains and biases."""

    seed: int = 0
    gyro_noise: float = 0.0
    accelerometer_noise: float = 0.0
    gyro_gain: np.ndarray | None = None
    accelerometer_gain: np.ndarray | None = None
    gyro_bias: tuple[float, float, float] = (0.0, 0.0, 0.0)
    accelerometer_bias: tuple[float, float, float] = (0.0, 0.0, 0.0)


CONSUMER = Errors(gyro_noise=np.radians(0.06), accelerometer_noise=0.028, gyro_bias=(0.01, -0.02, 0.015))


def sensed(
    attitude: Callable[[np.ndarray], Rotation],
    place: Callable[[np.ndarray], np.ndarray],
    time: np.ndarray,
    errors: Errors = Errors(),
) -> EvenRecording:
    """Differentiate attitude and place (m, world) to what gyro and accelerometer read at each time (s)."""
    h = STEP
    rate = (attitude(time - h).inv() * attitude(time + h)).as_rotvec() / (2 * h)
    near, far = place(time - h) + place(time + h), place(time - 2 * h) + place(time + 2 * h)
    acceleration = (16 * near - far - 30 * place(time)) / (12 * h * h)
    acceleration[:, 2] -= GRAVITY
    force = attitude(time).inv().apply(acceleration)
    rng = np.random.default_rng(errors.seed)
    eye = np.eye(3)
    rate = rate @ (eye if errors.gyro_gain is None else errors.gyro_gain).T + errors.gyro_bias
    force = force @ (eye if errors.accelerometer_gain is None else errors.accelerometer_gain).T
    force = force + errors.accelerometer_bias
    rate = rate + rng.normal(0.0, errors.gyro_noise, rate.shape)
    force = force + rng.normal(0.0, errors.accelerometer_noise, force.shape)
    whole, none = np.zeros(len(time), dtype=np.int64), np.zeros(len(time), dtype=np.bool_)
    return EvenRecording(time, float(time[1] - time[0]), whole, rate, force, None, None, none, none)


def spun(
    arm,
    *,
    rpm: float = 100 / 3,
    seconds: float = 10.0,
    tilt_deg: float = 0.5,
    pose: str | Rotation = "level",
    rest: float = 3.0,
    rate_hz: float = 100.0,
    errors: Errors = Errors(),
) -> EvenRecording:
    """Spin a sensor `arm` (m, body) from the axis of a table; clockwise seen from above where `rpm` is positive."""
    standing = POSES[pose] if isinstance(pose, str) else pose
    leaning = Rotation.from_euler("xyz", [tilt_deg, -0.4 * tilt_deg, 70.0], degrees=True)
    ramp, full = 0.6, rpm * np.pi / 30

    def heading(time):
        """Integrate a rate that rises and falls along a half cosine, steady between."""

        def risen(since):
            x = np.clip(since / ramp, 0.0, 1.0)
            return ramp * (0.5 * x - np.sin(np.pi * x) / (2 * np.pi)) + np.maximum(since - ramp, 0.0)

        return full * (risen(time - rest) - risen(time - rest - ramp - seconds))

    def attitude(time):
        return leaning * Rotation.from_rotvec(np.outer(heading(time), [0.0, 0.0, 1.0])) * standing

    end = 2 * rest + 2 * ramp + seconds
    return sensed(attitude, lambda time: attitude(time).apply(arm), np.arange(0.0, end, 1 / rate_hz), errors)


def swung(
    arm,
    *,
    seconds: float = 12.0,
    size_deg=(22.0, 25.0, 15.0),
    hand: float = 0.0,
    seed: int = 1,
    errors: Errors = Errors(),
) -> EvenRecording:
    """Swing a sensor `arm` (m, body) about a point that stands still, or wanders by `hand` m; 3 s of rest before."""
    rng = np.random.default_rng(seed)
    pace, phase = rng.uniform(0.5, 0.9, 3), rng.uniform(0.0, 2 * np.pi, 3)
    drift, later = rng.uniform(0.4, 0.9, 3), rng.uniform(0.0, 2 * np.pi, 3)

    def swell(time):
        x = np.clip((time - 3.0) / 1.5, 0.0, 1.0)[:, None]
        return x**4 * (35 - 84 * x + 70 * x**2 - 20 * x**3)

    def attitude(time):
        angles = np.radians(size_deg) * np.sin(2 * np.pi * pace * time[:, None] + phase)
        return Rotation.from_rotvec(swell(time) * angles)

    def place(time):
        wander = hand * np.sin(2 * np.pi * drift * time[:, None] + later)
        return attitude(time).apply(arm) + swell(time) * wander

    return sensed(attitude, place, np.arange(0.0, 3.0 + seconds, 0.01), errors)


def rig(place=(0.0, 0.0, 0.0), tolerance: float | None = None) -> Airframe:
    """Declare an airframe whose unit lies square along the body axes, `place` m from the CG."""
    declared = read_airframe(Path(__file__).resolve().parents[2] / "captures" / "teal.toml")
    sensor = replace(
        declared.sensor, body_from_sensor=np.eye(3), lever_arm=np.asarray(place, float), position_tolerance=tolerance
    )
    return replace(declared, sensor=sensor)


def table(pivot=(0.0, 0.0, 0.0), rpm: float | None = None) -> Turntable:
    """Describe a turntable as a manifest does."""
    return Turntable(
        None if rpm is None else abs(rpm) * np.pi / 30, None if pivot is None else np.asarray(pivot, float)
    )


def prompt(name: str, start: float = 3.0, end: float = 14.0) -> Prompt:
    """Prompt a motion."""
    return Prompt(name, start, end, f"bench.toml: {name}")


def measured(even: EvenRecording, airframe: Airframe, *, turntable=None, pivot=None, prompts=()) -> LeverEstimate:
    """Measure the place in one recording."""
    where = None if pivot is None else np.asarray(pivot, float)
    return lever_arm_of(airframe, even, find_rests(even), turntable=turntable, swing_pivot=where, prompts=prompts)
