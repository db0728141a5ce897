"""The unit under test while it runs: the estimate and the pulses that `unit` and `pulses` give, block by block."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector
from benchrig.simulation.faults import Faults
from benchrig.simulation.pulse_program import program_of
from benchrig.simulation.pulses import FRAME_S, LATENCY_S, pulses
from benchrig.simulation.unit import SETTLING_S, ZEROING_S, Estimate, euler, levelling, running_product, smoothed


@dataclass(slots=True, eq=False)
class LiveUnit:
    """A unit that has been zeroed and goes on from block to block.

    Attributes
    ----------
    rate_hz : float
    bias : ndarray, shape (3,), rad/s
        As it took it while it was zeroed.
    turned : Rotation
        By the gyro alone, since it got power.
    level : ndarray, shape (3,)
        Where down has been lately, in the gyro's frame.
    history : Estimate
        As far back as pulses reach; its angles run on past half a turn.
    """

    airframe: Airframe
    faults: Faults
    rate_hz: float
    bias: Vector
    turned: Rotation
    level: Vector
    history: Estimate

    def go_on(self, time: Vector, gyro: Vector, accelerometer: Vector) -> tuple[Estimate, Mapping[str, Vector]]:
        """Take a block of samples in.

        Parameters
        ----------
        time : ndarray, shape (n,), s
        gyro, accelerometer : ndarray, shape (n, 3), rad/s and m/s²
            As sensed, in the sensor's axes.

        Returns
        -------
        Estimate
            Of the block, its angles within half a turn.
        mapping of actuator name to ndarray, shape (n,), µs
        """
        believed = self.airframe.sensor.body_from_sensor
        rate = (gyro - self.bias) @ believed.T
        force = accelerometer @ believed.T * (-1.0 if self.airframe.sensor.reads == "gravity" else 1.0)
        before = self.history
        step = np.diff(time, prepend=before.time[-1:] if len(before.time) else time[:1])
        last = before.rate[-1:] if len(before.rate) else rate[:1]
        mean = 0.5 * (rate + np.concatenate([last, rate[:-1]]))
        turned = self.turned * running_product(Rotation.from_rotvec(mean * step[:, None]))
        down = -turned.apply(force)
        if not len(before.time):
            self.level = down[time < ZEROING_S].mean(axis=0)
        share = 1.0 / self.rate_hz / SETTLING_S
        smooth = np.column_stack([smoothed(down[:, axis], float(self.level[axis]), share) for axis in range(3)])
        self.turned, self.level = turned[-1], smooth[-1]
        now = Estimate(time, rate, euler(levelling(smooth) * turned))
        self._remember(now)
        return now, self._pulses(len(time))

    def _remember(self, now: Estimate) -> None:
        before = self.history
        angles = np.concatenate([before.attitude[-1:], now.attitude])
        fresh = np.unwrap(angles, axis=0)[len(angles) - len(now.attitude) :]
        reach = self.faults.number("servos-late", 1e3 * LATENCY_S) * 1e-3 + 2 * FRAME_S + 2.0 / self.rate_hz
        kept = before.time > now.time[0] - reach
        self.history = Estimate(
            np.concatenate([before.time[kept], now.time]),
            np.concatenate([before.rate[kept], now.rate]),
            np.concatenate([before.attitude[kept], fresh]),
        )

    def _pulses(self, count: int) -> Mapping[str, Vector]:
        program = program_of((), self.airframe, self.faults, 0.0)
        sent = pulses(self.history, self.airframe, self.faults, program)
        return {name: pulse[-count:] for name, pulse in sent.items()}


def zeroed(time: Vector, gyro: Vector, airframe: Airframe, faults: Faults, rate_hz: float) -> LiveUnit:
    """Zero a unit by the first samples after it got power, as `unit.estimate` does."""
    nothing = Estimate(np.zeros(0), np.zeros((0, 3)), np.zeros((0, 3)))
    bias = gyro[time < ZEROING_S].mean(axis=0)
    return LiveUnit(airframe, faults, rate_hz, bias, Rotation.identity(), np.zeros(3), nothing)
