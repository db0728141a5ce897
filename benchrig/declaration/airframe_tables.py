"""The tables of an airframe file as they are written: keys, kinds of value, listed words and ranges.

What a table can tell by itself is checked here; what needs two keys together is checked where they meet.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field

from benchrig.declaration.actuators import Sense
from benchrig.declaration.airframe import Hemisphere, Kind, Reads

Direction = Literal["forward", "aft", "right", "left", "down", "up"]

RANGES: Final[Mapping[str, tuple[float, float]]] = {
    "distance": (0.0, 5000.0),
    "position_tolerance_mm": (0.1, 1000.0),
    "gyro_range_deg_s": (10.0, 20_000.0),
    "accelerometer_range_g": (0.5, 1000.0),
    "clearance": (1.0, 10_000.0),
    "plate_lead_deg": (-180.0, 180.0),
    "azimuth_deg": (0.0, 360.0),
    "centre_us": (300.0, 2500.0),
    "nearby_current_a": (0.1, 1000.0),
    "motor_rpm": (100.0, 200_000.0),
    "teeth": (5, 1000),
    "blades": (1, 12),
    "after_s": (0.0, 60.0),
    "bias_mg": (-2000.0, 2000.0),
    "bias_ut": (-2000.0, 2000.0),
    "scale": (0.5, 2.0),
    "element": (-2.0, 2.0),
}
"""Least and greatest value of each number, in the unit of its key. They catch a slip of unit or of a digit, and are
common practice (no published source): servo pulses run from 400 to 2200 µs, and 760 and 1520 µs are usual centres."""

LONGEST_NAME: Final = 60
"""Characters of a name: it heads a row of every report."""

MOST_MOTIONS: Final = 32
"""Entries of a list of motions: more than there are."""


def _within(name: str) -> Any:  # noqa: ANN401 - pydantic's own type for a field
    low, high = RANGES[name]
    return Field(ge=low, le=high)


class Table(BaseModel):
    """A table with listed keys only and no conversion of values."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


class AirframeTable(Table):
    """``[airframe]``."""

    name: str
    kind: Kind


class AxesTable(Table):
    """``axes``: where a sensor's own axes point."""

    x: Direction | None = None
    y: Direction | None = None
    z: Direction | None = None


class PositionTable(Table):
    """``position_mm``: distances from the centre of gravity along direction words."""

    forward: Annotated[float | None, _within("distance")] = None
    aft: Annotated[float | None, _within("distance")] = None
    right: Annotated[float | None, _within("distance")] = None
    left: Annotated[float | None, _within("distance")] = None
    down: Annotated[float | None, _within("distance")] = None
    up: Annotated[float | None, _within("distance")] = None


_Row = Annotated[list[float], Field(min_length=3, max_length=3)]
Rotation = Annotated[list[_Row], Field(min_length=3, max_length=3)]


class MountedTable(Table):
    """What every sensor has: a mounting, by `axes` or by `rotation`, and a position."""

    axes: AxesTable | None = None
    rotation: Rotation | None = None
    position_mm: PositionTable = PositionTable()


class SensorTable(MountedTable):
    """``[sensor]``."""

    position_tolerance_mm: Annotated[float | None, _within("position_tolerance_mm")] = None
    accelerometer_reads: Reads = "specific force"
    gyro_range_deg_s: Annotated[float | None, _within("gyro_range_deg_s")] = None
    accelerometer_range_g: Annotated[float | None, _within("accelerometer_range_g")] = None


class MagnetometerTable(MountedTable):
    """``[magnetometer]``."""

    hemisphere: Hemisphere | None = None
    nearby_current_a: Annotated[float | None, _within("nearby_current_a")] = None


class ClearancesTable(Table):
    """``[clearances_mm]``."""

    magnetometer_to_tail_rotor: Annotated[float | None, _within("clearance")] = None
    magnetometer_to_motor: Annotated[float | None, _within("clearance")] = None


class RotorTable(Table):
    """``[rotor]``: a helicopter's main rotor."""

    turns: Sense
    plate_lead_deg: Annotated[float, _within("plate_lead_deg")] = 0.0
    motor_rpm: Annotated[float | None, _within("motor_rpm")] = None
    pinion_teeth: Annotated[int | None, _within("teeth")] = None
    main_gear_teeth: Annotated[int | None, _within("teeth")] = None
    blades: Annotated[int | None, _within("blades")] = None


class BiasTable(Table):
    """A bias of the accelerometer, mg, of each of the sensor's own axes."""

    x: Annotated[float, _within("bias_mg")] = 0.0
    y: Annotated[float, _within("bias_mg")] = 0.0
    z: Annotated[float, _within("bias_mg")] = 0.0


class FieldTable(Table):
    """A bias of the magnetometer, µT, of each of the sensor's own axes."""

    x: Annotated[float, _within("bias_ut")] = 0.0
    y: Annotated[float, _within("bias_ut")] = 0.0
    z: Annotated[float, _within("bias_ut")] = 0.0


class ScaleTable(Table):
    """What the rates of each of the sensor's own axes are multiplied by."""

    x: Annotated[float, _within("scale")] = 1.0
    y: Annotated[float, _within("scale")] = 1.0
    z: Annotated[float, _within("scale")] = 1.0


class CalibrationTable(Table):
    """``[calibration]``: the unit's own errors, in the sensor's axes."""

    gyro_scale: ScaleTable | None = None
    accelerometer_bias_mg: BiasTable | None = None
    accelerometer_matrix: Rotation | None = None
    magnetometer_bias_ut: FieldTable | None = None
    magnetometer_matrix: Rotation | None = None


class LinkLossTable(Table):
    """``[link_loss]``: what the receiver is set to do when the link is lost."""

    after_s: Annotated[float | None, _within("after_s")] = None
    goes_to_us: dict[str, float | Literal["stays"]] = {}


class LimitsTable(Table):
    """``[limits]``."""

    required_motions: Annotated[list[str] | None, Field(max_length=MOST_MOTIONS)] = None


class ActuatorTable(Table):
    """``[[actuator]]``: the keys that all kinds of actuators share."""

    name: str
    drives: str
    centre_us: Annotated[float | None, _within("centre_us")] = None
    lowest_us: Annotated[float | None, _within("centre_us")] = None
    highest_us: Annotated[float | None, _within("centre_us")] = None


class MovingTable(ActuatorTable):
    """An actuator with words of its own for the ways it moves: a surface or a tail rotor."""

    longer_pulse: str


class PlateTable(MovingTable):
    """``drives = "swashplate"``."""

    azimuth_deg: Annotated[float, _within("azimuth_deg")]


class LiftTable(MovingTable):
    """``drives = "rotor"``."""

    position_mm: PositionTable
    turns: Sense


class EffectTable(Table):
    """``effect``: what a longer pulse does to the airframe. ``nose up`` and ``up`` mean the same."""

    roll: Literal["right", "left", "none"] = "none"
    pitch: Literal["up", "down", "none", "nose up", "nose down"] = "none"
    yaw: Literal["right", "left", "none", "nose right", "nose left"] = "none"


class OtherTable(ActuatorTable):
    """``drives = "other"``."""

    effect: EffectTable


TABLES: Final[Mapping[str, type[Table]]] = {
    "airframe": AirframeTable,
    "sensor": SensorTable,
    "magnetometer": MagnetometerTable,
    "clearances_mm": ClearancesTable,
    "rotor": RotorTable,
    "calibration": CalibrationTable,
    "link_loss": LinkLossTable,
    "limits": LimitsTable,
}
"""The tables of the file, without ``[[actuator]]``, whose keys depend on what it drives."""

ACTUATOR_TABLES: Final[Mapping[str, type[ActuatorTable]]] = {
    "swashplate": PlateTable,
    "rotor": LiftTable,
    "other": OtherTable,
}
"""By what is driven; all else is a `MovingTable`."""


def actuator_table(drives: str) -> type[ActuatorTable]:
    """Give the table of an actuator that drives something."""
    return ACTUATOR_TABLES.get(drives, MovingTable)
