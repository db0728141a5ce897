"""What a consumer gyro, accelerometer and compass make of a rate, a force and a field.

Sizes of errors: data sheet PS-MPU-6000A-00 rev. 3.4, pp. 12-13 (scale ±3 %, cross-axis ±2 %,
400 µg/√Hz, zero-g ±50 to ±80 mg); the gyro's offset is taken as what is left after its own zeroing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Matrix, Vector
from benchrig.simulation.faults import Faults
from benchrig.simulation.trajectory import STANDARD_GRAVITY

_GYRO_NOISE: Final = np.radians(0.008)
"""Above the data sheet, so that a bench shows the 0.05 to 0.15 deg/s of real recordings at 100 to 400 Hz."""
_ACCELEROMETER_NOISE: Final = 400e-6 * STANDARD_GRAVITY
_COMPASS_NOISE: Final = 0.4e-6
_HALF_COUNTS: Final = 32768.0
_GYRO_RANGE: Final = np.radians(2000.0)
_ACCELEROMETER_RANGE: Final = 16 * STANDARD_GRAVITY
_COMPASS_COUNT: Final = 0.15e-6


@dataclass(frozen=True, slots=True, eq=False)
class Triad:
    """Three channels of one kind: ``reading = gain @ (sensor from body @ true) + bias + noise``, counted and clipped.

    Attributes
    ----------
    body_from_sensor, gain : ndarray, shape (3, 3)
    bias : ndarray, shape (3,)
    noise_density : float
        One-sided, of each axis, per √Hz.
    full_scale : float
        The reading clips here.
    count : float
        Size of one count.
    """

    body_from_sensor: Matrix
    gain: Matrix
    bias: Vector
    noise_density: float
    full_scale: float
    count: float

    def read(self, true: Vector, rate_hz: float, rng: np.random.Generator) -> Vector:
        """Read a body-axes quantity, shape (N, 3), sampled at `rate_hz`, in the sensor's own axes."""
        # rows times the matrix: its transpose applied to each, and the inverse of a mounting is its transpose
        sensed = true @ self.body_from_sensor @ self.gain.T + self.bias
        sensed = sensed + rng.normal(0.0, self.noise_density * np.sqrt(rate_hz / 2), true.shape)
        top = self.full_scale - self.count
        clipped: Vector = np.clip(np.round(sensed / self.count) * self.count, -self.full_scale, top)
        return clipped


def draw_gain(rng: np.random.Generator, *, scale_sd: float = 0.01, cross_sd: float = 0.007) -> Matrix:
    """Draw scale errors of at most ±3 % and cross-axis sensitivities of at most ±2 %."""
    cross = np.clip(rng.normal(0.0, cross_sd, (3, 3)), -0.02, 0.02)
    scale = 1.0 + np.clip(rng.normal(0.0, scale_sd, 3), -0.03, 0.03)
    return cross - np.diag(np.diag(cross)) + np.diag(scale)


def draw_gyro(airframe: Airframe, wiring: Matrix, faults: Faults, rng: np.random.Generator) -> Triad:
    """Draw the gyro, rad/s, wired as `wiring` (body from sensor) says."""
    bias = np.clip(rng.normal(0.0, 1.5, 3), -5.0, 5.0) + faults.number("gyro-bias", 0.0)
    full_scale = airframe.sensor.gyro_range or _GYRO_RANGE
    gyro = Triad(wiring, draw_gain(rng), np.radians(bias), _GYRO_NOISE, full_scale, full_scale / _HALF_COUNTS)
    gyro = replace(gyro, gain=gyro.gain * faults.number("gyro-scale", 1.0))
    gyro = replace(gyro, noise_density=gyro.noise_density * faults.number("noise", 1.0))
    return replace(gyro, full_scale=np.radians(faults.number("gyro-clip", np.degrees(full_scale))))


def draw_accelerometer(airframe: Airframe, wiring: Matrix, faults: Faults, rng: np.random.Generator) -> Triad:
    """Draw the accelerometer, m/s²; where gravity is declared it reads minus the specific force."""
    reads = -wiring if airframe.sensor.reads == "gravity" else wiring
    bias_mg = np.clip(rng.normal(0.0, 20.0, 3), -60.0, 60.0) + faults.number("accelerometer-bias", 0.0)
    bias = bias_mg * 1e-3 * STANDARD_GRAVITY
    full_scale = airframe.sensor.accelerometer_range or _ACCELEROMETER_RANGE
    triad = Triad(reads, draw_gain(rng), bias, _ACCELEROMETER_NOISE, full_scale, full_scale / _HALF_COUNTS)
    triad = replace(triad, gain=triad.gain * faults.number("accelerometer-scale", 1.0))
    triad = replace(triad, noise_density=triad.noise_density * faults.number("noise", 1.0))
    if faults.has("accelerometer-cross"):
        triad = replace(triad, gain=_crossed(triad.gain, 0.01 * faults.number("accelerometer-cross", 0.0)))
    clip = faults.number("accelerometer-clip", full_scale / STANDARD_GRAVITY)
    return replace(triad, full_scale=clip * STANDARD_GRAVITY)


def _crossed(gain: Matrix, part: float) -> Matrix:
    """Let x take up a part of y: no turn of the sensor does that to one axis alone."""
    crossed = gain.copy()
    crossed[0, 1] += part
    return crossed


def draw_compass(wiring: Matrix, faults: Faults, rng: np.random.Generator) -> Triad:
    """Draw the compass, T; its bias is the airframe's own iron."""
    gain = draw_gain(rng, scale_sd=0.015)
    noise = _COMPASS_NOISE / np.sqrt(50.0) * faults.number("noise", 1.0)
    hard_iron = rng.normal(0.0, 12e-6, 3)
    if faults.has("iron"):
        hard_iron *= 1e-6 * faults.number("iron", 0.0) / np.linalg.norm(hard_iron)
    if faults.has("iron-soft"):
        gain = gain @ soft_iron(rng, 0.01 * faults.number("iron-soft", 0.0))
    return Triad(wiring, gain, hard_iron, noise, 4900e-6, _COMPASS_COUNT)


def soft_iron(rng: np.random.Generator, part: float) -> Matrix:
    """Draw what a bar of soft iron does to a field: it draws the field along itself."""
    along = rng.normal(0.0, 1.0, 3)
    along /= np.linalg.norm(along)
    return np.eye(3) + part * np.outer(along, along)


def field_in_body(attitude: Rotation, field_ut: tuple[float, float, float]) -> Vector:
    """Give the earth's field in body axes, shape (N, 3), T.

    Parameters
    ----------
    field_ut : tuple of float, µT
        North, east, down.
    """
    result: Vector = attitude.inv().apply(1e-6 * np.array(field_ut))
    return result


def sample_times(duration: float, rate_hz: float, jitter: float, rng: np.random.Generator) -> Vector:
    """Draw when the samples are taken, s: even steps with jitter, rounded to whole µs, strictly increasing."""
    count = int(duration * rate_hz)
    step = 1.0 / rate_hz
    # bounded, so that no sample overtakes its neighbour
    shifts = np.clip(rng.normal(0.0, jitter, count), -0.4, 0.4) * step
    times: Vector = np.round((np.arange(count) * step + shifts - shifts[0]) * 1e6) * 1e-6
    return times
