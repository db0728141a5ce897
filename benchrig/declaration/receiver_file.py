"""From ``[link_loss]`` and ``[calibration]`` to what they say of the receiver and of the unit."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Calibration, LinkLoss
from benchrig.declaration.airframe_tables import (
    RANGES,
    BiasTable,
    CalibrationTable,
    FieldTable,
    LinkLossTable,
    ScaleTable,
)
from benchrig.declaration.quotation import listed, quote
from benchrig.declaration.table_faults import Faults, Keys
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY

MILLI_G: Final = STANDARD_GRAVITY / 1000
"""m/s² in 0.001 g."""

_LEAST_DETERMINANT: Final = 0.2
"""Of a calibration's matrix: the axes of a sensor stand nearly at right angles."""


def read_link_loss(table: LinkLossTable, names: Collection[str], faults: Faults) -> LinkLoss:
    """Read what happens when the link is lost.

    Parameters
    ----------
    table : LinkLossTable
    names : collection of str
        Of the declared actuators.
    faults : Faults
        What is wrong is noted there.
    """
    low, high = RANGES["centre_us"]
    goes_to: dict[str, float | None] = {}
    for name, pulse in table.goes_to_us.items():
        keys: Keys = ("link_loss", "goes_to_us", name)
        if name not in names:
            finding = f"link_loss.goes_to_us names {quote(name)}, which is no actuator of this file"
            faults.add(keys, finding, listed(names) if names else "an [[actuator]] of that name")
        elif pulse == "stays":
            goes_to[name] = None
        elif not low <= pulse <= high:
            faults.add(keys, f"link_loss.goes_to_us.{name} = {pulse:g}", f'{low:g} to {high:g} µs, or "stays"')
        else:
            goes_to[name] = pulse / 1e6
    return LinkLoss(table.after_s, goes_to)


def read_calibration(table: CalibrationTable, faults: Faults) -> Calibration:
    """Read the unit's own errors, in SI."""
    return Calibration(
        gyro_scale=_three(table.gyro_scale, 1.0),
        accelerometer_bias=_three(table.accelerometer_bias_mg, MILLI_G),
        accelerometer_matrix=_matrix(table.accelerometer_matrix, "accelerometer_matrix", faults),
        magnetometer_bias=_three(table.magnetometer_bias_ut, 1e-6),
        magnetometer_matrix=_matrix(table.magnetometer_matrix, "magnetometer_matrix", faults),
    )


def _three(table: BiasTable | FieldTable | ScaleTable | None, unit: float) -> Vector | None:
    return None if table is None else _frozen(np.array([table.x, table.y, table.z]) * unit)


def _matrix(rows: list[list[float]] | None, key: str, faults: Faults) -> Matrix | None:
    if rows is None:
        return None
    matrix = np.array(rows)
    low, high = RANGES["element"]
    if np.abs(matrix).max() > high or np.linalg.det(matrix) < _LEAST_DETERMINANT:
        expectation = f"nearly the unit matrix, its elements from {low:g} to {high:g}, right-handed"
        cause = "an axis sign or a swap put into the calibration: that belongs into axes"
        faults.add(("calibration", key), f"calibration.{key} is no calibration", expectation, cause)
        return None
    return _frozen(matrix)


def _frozen(values: Vector) -> Vector:
    values.flags.writeable = False
    return values
