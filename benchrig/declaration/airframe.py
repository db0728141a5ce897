"""The declared airframe: what everything measured is judged against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from benchrig.declaration.actuators import Actuator, Sense
from benchrig.geometry.directions import Matrix, Vector, axis_words

Kind = Literal["helicopter", "aeroplane", "multirotor", "other"]
Reads = Literal["specific force", "gravity"]
Hemisphere = Literal["north", "south"]


@dataclass(frozen=True, slots=True)
class Source:
    """The file something was read from, and the SHA-256 of its bytes."""

    file: Path
    sha256: str


@dataclass(frozen=True, slots=True, eq=False)
class Sensor:
    """The gyro and accelerometer unit under test, as declared.

    Attributes
    ----------
    body_from_sensor : ndarray, shape (3, 3)
        A signed permutation with determinant +1, or a free rotation.
    lever_arm : ndarray, shape (3,), m
        From the centre of gravity to the sensor, in body axes.
    position_tolerance : float or None, m
    reads : {"specific force", "gravity"}
        Whether an accelerometer axis that points up reads +g at rest, or -g.
    gyro_range, accelerometer_range : float or None
        Full scale, rad/s and m/s².
    """

    body_from_sensor: Matrix
    lever_arm: Vector
    position_tolerance: float | None
    reads: Reads
    gyro_range: float | None
    accelerometer_range: float | None

    @property
    def axes(self) -> dict[str, str] | None:
        """Where its axes point, in words; None for a mounting that is not square to the airframe."""
        return axis_words(self.body_from_sensor)

    @property
    def is_square(self) -> bool:
        """Whether every axis of the sensor lies along a body axis."""
        return self.axes is not None


@dataclass(frozen=True, slots=True, eq=False)
class Magnetometer:
    """The declared compass.

    Attributes
    ----------
    body_from_sensor : ndarray, shape (3, 3)
    position : ndarray, shape (3,), m
        From the CG, in body axes.
    nearby_current : float or None, A
        The largest current in a lead near it, as a motor's at full power.
    hemisphere : {"north", "south"} or None
        The side of the magnetic equator on which the bench stands: the field dips down in the north, and points up in
        the south. None where it was not said.
    """

    body_from_sensor: Matrix
    position: Vector
    hemisphere: Hemisphere | None = None
    nearby_current: float | None = None


@dataclass(frozen=True, slots=True)
class Rotor:
    """A helicopter's main rotor.

    Attributes
    ----------
    turns : {"clockwise", "counter-clockwise"}
        Seen from above.
    plate_lead : float, rad
        By which the plate's tilt leads the wanted disc tilt, in the rotor's sense.
    motor_rate : float or None, rad/s
    gear_ratio : float or None
        Turns of the motor to one of the rotor.
    blades : int or None
    """

    turns: Sense
    plate_lead: float
    motor_rate: float | None = None
    gear_ratio: float | None = None
    blades: int | None = None


@dataclass(frozen=True, slots=True)
class LinkLoss:
    """What the receiver is declared to do when the link is lost.

    Attributes
    ----------
    after : float or None, s
        At the latest.
    goes_to : mapping of actuator name to float, s, or None
        The pulse each actuator goes to; None where it stays where it was.
    """

    after: float | None
    goes_to: Mapping[str, float | None]


@dataclass(frozen=True, slots=True, eq=False)
class Calibration:
    """The unit's own errors, as declared: true = matrix @ (read - bias), all in the sensor's axes.

    Each is None where it was not declared.

    Attributes
    ----------
    gyro_scale : ndarray, shape (3,)
        By which the rates, bias taken out, are multiplied.
    accelerometer_bias : ndarray, shape (3,), m/s²
    accelerometer_matrix : ndarray, shape (3, 3)
    magnetometer_bias : ndarray, shape (3,), T
    magnetometer_matrix : ndarray, shape (3, 3)
    """

    gyro_scale: Vector | None
    accelerometer_bias: Vector | None
    accelerometer_matrix: Matrix | None
    magnetometer_bias: Vector | None
    magnetometer_matrix: Matrix | None


@dataclass(frozen=True, slots=True, eq=False)
class Airframe:
    """Everything the builder declared.

    Attributes
    ----------
    clearances : mapping of str to float, m
        ``magnetometer_to_tail_rotor`` and ``magnetometer_to_motor`` where they were measured.
    required_motions : tuple of str
        The motions without which there is no pass.
    """

    name: str
    kind: Kind
    sensor: Sensor
    magnetometer: Magnetometer | None
    clearances: Mapping[str, float]
    rotor: Rotor | None
    actuators: tuple[Actuator, ...]
    required_motions: tuple[str, ...]
    source: Source
    calibration: Calibration | None = None
    link_loss: LinkLoss | None = None

    def actuator(self, name: str) -> Actuator:
        """Find an actuator by name.

        Raises
        ------
        KeyError
            If none has it.
        """
        for actuator in self.actuators:
            if actuator.name == name:
                return actuator
        raise KeyError(name)

    @property
    def effects(self) -> Vector:
        """What a longer pulse of each actuator does, shape (K, 3): roll right, nose up, nose right positive."""
        return np.array([a.effect for a in self.actuators]).reshape(-1, 3)
