"""The unit's own errors, as declared, taken out of its readings before anything is judged."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchrig.declaration.airframe import Calibration
from benchrig.geometry.directions import Matrix, Vector
from benchrig.signals.body import EvenRecording


def calibrated(even: EvenRecording, calibration: Calibration | None) -> EvenRecording:
    """Apply a declared calibration: true = matrix @ (read - bias), in the sensor's axes.

    Where the unit clipped stays marked as it was read. The gyro's bias is not declared but taken at rest, so its scale
    multiplies the readings as they are, bias included.

    Returns
    -------
    EvenRecording
        The same one where nothing is declared.
    """
    if calibration is None:
        return even
    rate, field = even.angular_rate, even.magnetic_field
    if calibration.gyro_scale is not None:
        rate = _frozen(rate * calibration.gyro_scale)
    acceleration = _mended(even.acceleration, calibration.accelerometer_bias, calibration.accelerometer_matrix)
    if field is not None:
        field = _mended(field, calibration.magnetometer_bias, calibration.magnetometer_matrix)
    return replace(even, angular_rate=rate, acceleration=acceleration, magnetic_field=field)


def applied(calibration: Calibration | None) -> tuple[str, ...]:
    """Say in words what is applied; nothing where nothing is declared.

    Examples
    --------
    >>> applied(Calibration(np.array([1.01, 1.0, 1.0]), None, None, None, None))
    ('the calibration of the airframe file is applied: gyro scale',)
    """
    if calibration is None:
        return ()
    names = {
        "gyro scale": calibration.gyro_scale,
        "accelerometer bias": calibration.accelerometer_bias,
        "accelerometer matrix": calibration.accelerometer_matrix,
        "compass bias": calibration.magnetometer_bias,
        "compass matrix": calibration.magnetometer_matrix,
    }
    declared = [name for name, value in names.items() if value is not None]
    return (f"the calibration of the airframe file is applied: {', '.join(declared)}",) if declared else ()


def _mended(values: Vector, bias: Vector | None, matrix: Matrix | None) -> Vector:
    if bias is not None:
        values = values - bias
    if matrix is not None:
        values = values @ matrix.T
    return _frozen(values)


def _frozen(values: Vector) -> Vector:
    values = np.ascontiguousarray(values)
    values.flags.writeable = False
    return values
