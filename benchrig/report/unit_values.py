"""The unit's own figures as a stored result holds them, each beside its standard deviation."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.report.json_values import rounded
from benchrig.verdict.figures import Reading, UnitFigures

_DIGITS: Final = 6
_DEG: Final = 180 / np.pi


def unit_values(unit: UnitFigures | None) -> dict[str, Any] | None:
    """Give the figures in the units people read; None stands for what the motions could not tell."""
    if unit is None:
        return None
    return {
        "gyro_bias_deg_s": _by_axis(unit.gyro_bias, unit.gyro_bias_uncertainty, _DEG),
        "gyro_over_gravity": _reading(unit.gyro_over_gravity),
        "accelerometer_size_g": _reading(unit.accelerometer_size),
        "gyro_noise_deg_s_rthz": _reading(unit.gyro_noise, _DEG),
        "accelerometer_delay_ms": _reading(unit.accelerometer_delay, 1e3),
        "temperature_c": _reading(unit.temperature),
    }


def _reading(reading: Reading | None, factor: float = 1.0) -> dict[str, float | None] | None:
    if reading is None:
        return None
    value, spread = rounded(reading.value * factor, _DIGITS), rounded(reading.uncertainty * factor, _DIGITS)
    return {"value": value, "uncertainty": spread}


def _by_axis(values: Vector | None, spreads: Vector | None, factor: float) -> dict[str, Any] | None:
    if values is None or spreads is None:
        return None
    return _three(values * factor) | {"uncertainty": _three(spreads * factor)}


def _three(values: Vector) -> dict[str, float | None]:
    return {axis: rounded(float(value), _DIGITS) for axis, value in zip("xyz", values, strict=True)}
