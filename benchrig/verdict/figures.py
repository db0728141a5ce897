"""The unit's own figures at one bench: what another bench of the same airframe is held against."""

from __future__ import annotations

from dataclasses import dataclass

from benchrig.geometry.directions import Vector


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured number with its standard deviation."""

    value: float
    uncertainty: float


@dataclass(frozen=True, slots=True, eq=False)
class UnitFigures:
    """What the unit showed of itself; None for what the motions could not tell.

    A declared calibration is applied before all of them.

    Attributes
    ----------
    gyro_bias, gyro_bias_uncertainty : ndarray, shape (3,), rad/s, or None
        Reading at the bench rests, sensor axes, with one standard deviation.
    gyro_over_gravity : Reading or None
        The gyro's angle over gravity's in the same tilts: 1 for a gyro of the right scale.
    accelerometer_size : Reading or None
        Median reading at rest over standard gravity.
    gyro_noise : Reading or None, rad/s/√Hz
        Of the quietest tenth of the recording.
    accelerometer_delay : Reading or None, s
        How much later than the gyro the accelerometer shows the same tilts.
    temperature : Reading or None, °C
        Mean and spread of the unit's own; the bench's, with a spread of 0, where the unit gives none.
    """

    gyro_bias: Vector | None
    gyro_bias_uncertainty: Vector | None
    gyro_over_gravity: Reading | None
    accelerometer_size: Reading | None
    gyro_noise: Reading | None
    accelerometer_delay: Reading | None
    temperature: Reading | None
