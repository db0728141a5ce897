"""A simulated bench that runs on: rows come as long as they are asked for, and motions are made when they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector
from benchrig.simulation.bench import Simulated, stuck, truth_at
from benchrig.simulation.faults import Fault, Faults
from benchrig.simulation.live_hand import LiveHand
from benchrig.simulation.live_unit import LiveUnit, zeroed
from benchrig.simulation.made import Made
from benchrig.simulation.options import Options
from benchrig.simulation.sensors import Triad, draw_accelerometer, draw_compass, draw_gyro, field_in_body
from benchrig.simulation.sight import Sight, sights
from benchrig.simulation.stream import Group, columns
from benchrig.simulation.vibration import draw_lines
from benchrig.simulation.wiring import wire

SETTLED_S: Final = 2.0
"""How long the unit has had power, and lay still, when its first row is given."""

_BLOCK_S: Final = (0.1, 1.0)
"""The shortest block, by which rows may be made ahead of their time, and the longest."""
_STREAM_FAULTS: Final = frozenset({"frozen-stream", "time-backwards"})
_BACKWARDS_S: Final = 5.0  # after the first row


@dataclass(slots=True, eq=False)
class _Sensors:
    """Three channels of each kind, each with random numbers of its own, so that blocks of any size read the same."""

    gyro: Triad
    accelerometer: Triad
    compass: Triad | None
    first_gyro: Vector | None = None
    first_accelerometer: Vector | None = None


class LiveBench:
    """One seed, one airframe, chosen faults, and time that goes on.

    The same calls of `ask` at the same times give the same rows, however they are fetched.

    Parameters
    ----------
    airframe : Airframe
    seed : int
    faults : sequence of Fault
        Those about prompts and about motions that a hand does not make change nothing here.
    options : Options, optional
        Of which the motions are left out: they are asked for.

    Attributes
    ----------
    now : float, s
        By the unit's clock, which started when it got power.
    columns : tuple of str
        Names of what `rows` gives, the time first.
    groups : tuple of Group
        The same as groups: roles, names, and units as a manifest says them; the values are of the latest block.
    """

    def __init__(
        self, airframe: Airframe, seed: int, faults: Sequence[Fault] = (), options: Options | None = None
    ) -> None:
        self.airframe, self.seed, self.options = airframe, seed, options or Options()
        self.faults = Faults(tuple(faults))
        self._logged = Faults(tuple(fault for fault in faults if fault.name not in _STREAM_FAULTS))
        hands, wires, parts, self._clock, shakes, warmth, *readings = np.random.default_rng(seed).spawn(9)
        self._readings = dict(zip(("gyro", "accelerometer", "compass"), readings, strict=True))
        self._warmth = warmth
        self._hand = LiveHand(airframe, self.options, self.faults, hands)
        self._wiring = wire(airframe, self.faults, wires)
        self._lines = draw_lines(self.faults, shakes)
        self._sensors = self._draw_sensors(parts)
        self._step = 1.0 / self.options.rate_hz
        self._made = 0  # samples so far
        self._first_shift = 0.0
        self._held: Vector | None = None
        self._turned_back = False
        self._past: list[tuple[Vector, Mapping[str, Vector]]] = []
        self._latest: Simulated | None = None
        self._ready: list[Vector] = []
        self.groups: tuple[Group, ...] = ()
        self._unit: LiveUnit | None = None
        self.now = SETTLED_S
        self._block(int(np.ceil(SETTLED_S * self.options.rate_hz)))
        self._ready.clear()

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of what `rows` gives, the time first."""
        return tuple(name for group in self.groups for name in group.names)

    @property
    def made(self) -> tuple[Made, ...]:
        """Every motion that was asked for, as it was or will be made; times by the unit's clock."""
        return self._hand.made

    @property
    def busy_until(self) -> float:
        """When everything that was asked for is over, with the rest after it, by the unit's clock, s."""
        return self._hand.busy_until

    @property
    def is_idle(self) -> bool:
        """Whether everything that was asked for is over."""
        return self.now >= self.busy_until

    def ask(self, motion: str) -> Made | None:
        """Ask for a motion; it begins after about a second, or after what is still going on.

        Returns
        -------
        Made or None
            How it will be made; None where a fault leaves it out.

        Raises
        ------
        UsageError
            If no hand makes such a motion.
        """
        return self._hand.ask(motion, self.now)

    def drop(self) -> float:
        """Let the airframe be knocked over and caught, after about a second; give when, by the unit's clock, s."""
        return self._hand.drop(self.now)

    def rows(self, duration: float) -> Vector:
        """Let so many seconds pass, and give the rows of that time.

        Returns
        -------
        ndarray, shape (n, C)
            In the order of `columns` and in the units of `groups`, rounded as a logger writes them.
        """
        self.now += duration
        while (ahead := self.now - self._made * self._step) > 0:
            seconds = min(max(ahead, _BLOCK_S[0]), _BLOCK_S[1])
            self._block(max(1, round(seconds * self.options.rate_hz)))
        ready = np.concatenate(self._ready) if self._ready else np.zeros((0, len(self.columns)))
        # by the unit's own clock, which a fault lets run at another speed
        given = int(np.searchsorted(ready[:, 0], self.now * 1e6 * self.faults.number("clock", 1.0), side="right"))
        self._ready = [ready[given:]]
        return ready[:given]

    def sights(self) -> tuple[Sight, ...]:
        """Give what the operator saw every actuator do in the motions that are over."""
        if self._latest is None:
            return ()
        over = tuple(made for made in self.made if made.back <= self.now)
        time = np.concatenate([time for time, _ in self._past])
        names = self._past[0][1]
        pulses = {name: np.concatenate([pulses[name] for _, pulses in self._past]) for name in names}
        latest = self._latest
        return sights(replace(latest, plan=replace(latest.plan, motions=over), time=time, pulses=pulses))

    def _draw_sensors(self, rng: np.random.Generator) -> _Sensors:
        compass = self._wiring.magnetometer
        return _Sensors(
            draw_gyro(self.airframe, self._wiring.gyro, self.faults, rng),
            draw_accelerometer(self.airframe, self._wiring.accelerometer, self.faults, rng),
            None if compass is None else draw_compass(compass, self.faults, rng),
        )

    def _block(self, count: int) -> None:
        """Simulate the next samples, and lay them by."""
        time = self._stamps(count)
        self._hand.keep_holding(float(time[-1]) + 1.0)
        plan = self._hand.plan(float(time[0]), float(time[-1]))
        truth = truth_at(self.airframe, plan, self.faults, time, self._lines)
        settle, rate_hz = self._wiring.misalignment.inv(), self.options.rate_hz
        sensors, readings = self._sensors, self._readings
        gyro = sensors.gyro.read(settle.apply(truth.angular_rate), rate_hz, readings["gyro"])
        force = sensors.accelerometer.read(settle.apply(truth.specific_force), rate_hz, readings["accelerometer"])
        gyro, force = self._stuck(gyro, force)
        compass = None
        if sensors.compass is not None:
            field = field_in_body(truth.attitude, self.options.field_ut)
            compass = sensors.compass.read(field, rate_hz, readings["compass"])
        self._unit = self._unit or zeroed(time, gyro, self.airframe, self.faults, rate_hz)
        believed, pulses = self._unit.go_on(time, gyro, force)
        temperature = 24.0 + 2.0 * (1.0 - np.exp(-time / 60.0)) + self._warmth.normal(0.0, 0.03, count)
        block = Simulated(
            self.airframe, self.options, self.seed, self._logged, plan, self._wiring, truth, time, gyro, force, compass,
            temperature, believed, pulses, {}, sensors.gyro, sensors.accelerometer, sensors.compass, (),
            tuple(self._hand.gap_centres),
        )  # fmt: skip
        self._past.append((time, pulses))
        self._latest = block
        self.groups = columns(block)
        self._ready.append(self._as_logged(np.concatenate([group.values for group in self.groups], axis=1)))

    def _stamps(self, count: int) -> Vector:
        """Draw when the next samples are taken, s, as `sensors.sample_times` does for a whole bench."""
        shifts = np.clip(self._clock.normal(0.0, self.options.jitter, count), -0.4, 0.4) * self._step
        if not self._made:
            self._first_shift = float(shifts[0])
        steps = np.arange(self._made, self._made + count)
        self._made += count
        stamps: Vector = np.round((steps * self._step + shifts - self._first_shift) * 1e6) * 1e-6
        return stamps

    def _stuck(self, gyro: Vector, force: Vector) -> tuple[Vector, Vector]:
        """Hold the channels that a fault freezes, at what they read first of all."""
        sensors = self._sensors
        if sensors.first_gyro is None or sensors.first_accelerometer is None:
            sensors.first_gyro, sensors.first_accelerometer = gyro[:1], force[:1]
        gyro = np.concatenate([sensors.first_gyro, gyro])
        force = np.concatenate([sensors.first_accelerometer, force])
        gyro = stuck(gyro, "gyro", sensors.gyro.count, self.faults)
        force = stuck(force, "accelerometer", sensors.accelerometer.count, self.faults)
        return gyro[1:], force[1:]

    def _as_logged(self, rows: Vector) -> Vector:
        """Put in the faults of the logging that need to know what came before."""
        if not len(rows):
            return rows
        since = rows[:, 0] * 1e-6 / self.faults.number("clock", 1.0) - SETTLED_S
        frozen = since >= self.faults.number("frozen-stream", np.inf)
        if frozen.any():
            if self._held is None:
                self._held = rows[int(np.argmax(frozen)), 1:].copy()
            rows[frozen, 1:] = self._held
        backwards = self.faults.has("time-backwards") and not self._turned_back and since[-1] > _BACKWARDS_S
        if backwards and len(rows) > 2:  # noqa: PLR2004 - the stamp is that of the row two before
            rows[-1, 0] = rows[-3, 0]
            self._turned_back = True
        return rows
