"""A recording as it was read: sensor axes, SI units, nothing corrected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from benchrig.geometry.directions import Vector


@dataclass(frozen=True, slots=True)
class Prompt:
    """A motion the operator was asked for, and about when they did it (s from the first sample).

    `start` and `end` are None for the entries of a `routine`, whose times are the program's to find.
    `place` says where it stands in the manifest, for errors; `label` is the operator's own name for it: which switch.
    """

    name: str
    start: float | None
    end: float | None
    place: str
    label: str = ""


@dataclass(frozen=True, slots=True)
class Seen:
    """What the operator saw an actuator do in a motion: one of its own words, or "still"."""

    motion: str
    actuator: str
    moved: str
    place: str


@dataclass(frozen=True, slots=True, eq=False)
class Turntable:
    """A turntable: its speed (rad/s, None where unknown) and its axis (m from the CG, body axes)."""

    rate: float | None
    pivot: Vector | None


@dataclass(frozen=True, slots=True, eq=False)
class Pulses:
    """Recorded pulses of one actuator on a time base of their own.

    Attributes
    ----------
    time : ndarray, shape (P,), s
        From the first sample of the recording, increasing.
    width : ndarray, shape (P,), s
    delay_uncertainty : float, s
        One standard deviation of what all of `time` may be off by; 0 where one clock stamped samples and pulses.
    """

    time: Vector
    width: Vector
    delay_uncertainty: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """A capture in sensor axes and SI units; arrays are read-only.

    Attributes
    ----------
    time : ndarray, shape (N,), s
        From the first sample, strictly increasing.
    angular_rate : ndarray, shape (N, 3), rad/s
    acceleration : ndarray, shape (N, 3), m/s²
        As the unit gives it: specific force, or its negative if the unit reads gravity.
    magnetic_field : ndarray, shape (N, 3), T, or None
        A row of NaN where the compass gave nothing new.
    unit_attitude : ndarray, shape (N, 3), rad, or None
        The unit's own roll, pitch and yaw, in body axes.
    temperature : ndarray, shape (N,), °C, or None
    pulses : mapping of actuator name to Pulses
    commands : mapping of str to Pulses
        What was commanded, by names of the operator's own, where it was recorded beside the pulses.
    prompts : tuple of Prompt
        In order of time; empty where nothing was prompted.
    seen : tuple of Seen
    swing_pivot : ndarray, shape (3,), m, or None
        The fixed point that the airframe swings about, from the CG, in body axes.
    gyro_full_scale, accelerometer_full_scale : float or None
        Where the columns are raw counts of a 16 bit unit: the largest value they can hold, rad/s and m/s².
    stream, manifest : Path
    sha256 : str
        Of the stream's bytes followed by the manifest's bytes.
    blank_pulses : frozenset of actuator name
        Whose column is named and holds no pulse in any row.
    taken_back : tuple of str
        The motions that the operator took back, by name.
    history : tuple of str
        What was done to the data on the way in, in words ("2 rows of a truncated last line left out").
    stream_sha256, manifest_sha256 : str
        Of each file alone, by which it can be told which of the two was changed; empty where nothing is stored yet.
    """

    time: Vector
    angular_rate: Vector
    acceleration: Vector
    magnetic_field: Vector | None
    unit_attitude: Vector | None
    temperature: Vector | None
    pulses: Mapping[str, Pulses]
    commands: Mapping[str, Pulses]
    prompts: tuple[Prompt, ...]
    seen: tuple[Seen, ...]
    turntable: Turntable | None
    swing_pivot: Vector | None
    gyro_full_scale: float | None
    accelerometer_full_scale: float | None
    recorded: datetime | None
    operator: str | None
    temperature_at_bench: float | None
    stream: Path
    manifest: Path
    sha256: str
    history: tuple[str, ...]
    blank_pulses: frozenset[str] = frozenset()
    stream_sha256: str = ""
    manifest_sha256: str = ""
    taken_back: tuple[str, ...] = ()

    @property
    def rate(self) -> float:
        """Mean sample rate over the whole recording, its gaps included, Hz."""
        return float((len(self.time) - 1) / (self.time[-1] - self.time[0]))

    @property
    def pulse_delay_uncertainty(self) -> float:
        """What the pulses' time may be off by, s, one standard deviation; 0 where they came in the same stream."""
        return max((channel.delay_uncertainty for channel in self.pulses.values()), default=0.0)

    @property
    def is_routine(self) -> bool:
        """Whether the prompts came without times."""
        return bool(self.prompts) and self.prompts[0].start is None
