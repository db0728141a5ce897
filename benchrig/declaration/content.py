"""What an airframe file declares, as plain content: two files that declare the same give the same."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe, Calibration, Magnetometer, Rotor, Sensor
from benchrig.geometry.directions import Matrix, Vector, axis_words
from benchrig.geometry.gravity import STANDARD_GRAVITY

Content = Mapping[str, Any]

_ALONG: Final = ("forward", "right", "down")
_EFFECTS: Final = ("roll right", "nose up", "nose right")
_DIGITS: Final = 9
"""Significant digits: more than anybody declares, fewer than the change of units leaves uncertain."""
_RPM: Final = 2 * np.pi / 60


def declared_content(airframe: Airframe) -> dict[str, Any]:
    """Give everything that was declared, as dicts, lists, numbers and text, in the units of the airframe file.

    However a fact was written (``aft = 180`` or ``forward = -180``; axes or the rotation that they are; tables in any
    order, comments), it stands here in one way. What was not declared is None.

    Returns
    -------
    dict
        ``airframe``, ``sensor``, ``magnetometer``, ``clearances_mm``, ``rotor``, ``actuators`` (by name),
        ``calibration``, ``link_loss``, ``limits``.

    Examples
    --------
    >>> from benchrig.declaration.airframe import Source
    >>> from pathlib import Path
    >>> sensor = Sensor(np.eye(3), np.array([-0.18, 0.0, 0.0]), 0.005, "specific force", None, None)
    >>> bare = Airframe("Dunlin", "other", sensor, None, {}, None, (), ("nose up",), Source(Path("dunlin.toml"), ""))
    >>> declared_content(bare)["sensor"]["position_mm"]
    {'forward': -180.0, 'right': 0.0, 'down': 0.0}
    """
    return {
        "airframe": {"name": airframe.name, "kind": airframe.kind},
        "sensor": _sensor(airframe.sensor),
        "magnetometer": None if airframe.magnetometer is None else _magnetometer(airframe.magnetometer),
        "clearances_mm": {name: _times(1e3, value) for name, value in sorted(airframe.clearances.items())},
        "rotor": None if airframe.rotor is None else _rotor(airframe.rotor),
        "actuators": {actuator.name: _actuator(actuator) for actuator in airframe.actuators},
        "calibration": None if airframe.calibration is None else _calibration(airframe.calibration),
        "link_loss": _link_loss(airframe),
        "limits": {"required_motions": sorted(airframe.required_motions)},
    }


def _number(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}") + 0.0


def _times(factor: float, value: float | None) -> float | None:
    return None if value is None else _number(value * factor)


def _named(names: Iterable[str], values: Vector) -> dict[str, float]:
    return {name: _number(float(value)) for name, value in zip(names, values, strict=True)}


def _axes(matrix: Matrix) -> dict[str, Any]:
    words = axis_words(matrix)
    return dict(words) if words is not None else {"rotation": _rows(matrix)}


def _rows(matrix: Matrix) -> list[list[float]]:
    return [[_number(float(part)) for part in row] for row in matrix]


def _sensor(sensor: Sensor) -> dict[str, Any]:
    return {
        "axes": _axes(sensor.body_from_sensor),
        "position_mm": _named(_ALONG, sensor.lever_arm * 1e3),
        "position_tolerance_mm": _times(1e3, sensor.position_tolerance),
        "accelerometer_reads": sensor.reads,
        "gyro_range_deg_s": _times(180 / np.pi, sensor.gyro_range),
        "accelerometer_range_g": _times(1 / STANDARD_GRAVITY, sensor.accelerometer_range),
    }


def _magnetometer(compass: Magnetometer) -> dict[str, Any]:
    return {
        "axes": _axes(compass.body_from_sensor),
        "position_mm": _named(_ALONG, compass.position * 1e3),
        "hemisphere": compass.hemisphere,
        "nearby_current_a": _times(1.0, compass.nearby_current),
    }


def _rotor(rotor: Rotor) -> dict[str, Any]:
    return {
        "turns": rotor.turns,
        "plate_lead_deg": _times(180 / np.pi, rotor.plate_lead),
        "motor_rpm": _times(1 / _RPM, rotor.motor_rate),
        "gear_ratio": _times(1.0, rotor.gear_ratio),
        "blades": rotor.blades,
    }


def _actuator(actuator: Actuator) -> dict[str, Any]:
    return {
        "drives": actuator.drives,
        "longer_pulse": actuator.longer_pulse or None,
        "effect": _named(_EFFECTS, actuator.effect),
        "centre_us": _times(1e6, actuator.centre),
        "lowest_us": _times(1e6, actuator.lowest),
        "highest_us": _times(1e6, actuator.highest),
        "azimuth_deg": _times(180 / np.pi, actuator.azimuth),
        "position_mm": None if actuator.position is None else _named(_ALONG, actuator.position * 1e3),
        "turns": actuator.turns,
    }


def _calibration(calibration: Calibration) -> dict[str, Any]:
    bias, field = calibration.accelerometer_bias, calibration.magnetometer_bias
    scale = calibration.gyro_scale
    return {
        "gyro_scale": None if scale is None else _named("xyz", scale),
        "accelerometer_bias_mg": None if bias is None else _named("xyz", bias * 1e3 / STANDARD_GRAVITY),
        "accelerometer_matrix": _optional_rows(calibration.accelerometer_matrix),
        "magnetometer_bias_ut": None if field is None else _named("xyz", field * 1e6),
        "magnetometer_matrix": _optional_rows(calibration.magnetometer_matrix),
    }


def _optional_rows(matrix: Matrix | None) -> list[list[float]] | None:
    return None if matrix is None else _rows(matrix)


def _link_loss(airframe: Airframe) -> dict[str, Any] | None:
    loss = airframe.link_loss
    if loss is None:
        return None
    return {
        "after_s": _times(1.0, loss.after),
        "goes_to_us": {name: _times(1e6, pulse) for name, pulse in sorted(loss.goes_to.items())},
    }
