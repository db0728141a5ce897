"""A part of what is told about the unit, and numbers rounded to what their uncertainty deserves."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10
from typing import Final

from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import SENSOR_AXES
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.figure import Figure
from benchrig.measure.measurement import Entry, Quantity
from benchrig.outcome import Finding

MG: Final = STANDARD_GRAVITY / 1000
"""m/s² in one milli-g."""


@dataclass(frozen=True, slots=True)
class Part:
    """What one part of the measurement tells; the attributes are those of a `Measurement`."""

    quantities: tuple[Quantity, ...] = ()
    findings: tuple[Finding, ...] = ()
    figures: tuple[Figure, ...] = ()
    entries: tuple[Entry, ...] = ()
    unknown: tuple[str, ...] = ()
    method: tuple[str, ...] = ()


def deserved(value: float, uncertainty: float) -> float:
    """Round a value for a file: to the second digit of its uncertainty.

    Examples
    --------
    >>> deserved(1.0234567, 0.00123), deserved(-12.3456, 0.87)
    (1.0235, -12.35)
    """
    if uncertainty <= 0:
        return value
    return round(value, max(0, 1 - floor(log10(uncertainty)))) + 0.0


def listed(names: list[str] | tuple[str, ...]) -> str:
    """Join names as a person does.

    Examples
    --------
    >>> listed(["on nose", "on tail", "inverted"])
    'on nose, on tail and inverted'
    """
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def axis_in_words(axis: int, sensor: Sensor) -> str:
    """Name an axis of the unit, with the direction it points in.

    Examples
    --------
    >>> import numpy as np
    >>> axis_in_words(0, Sensor(np.eye(3), np.zeros(3), None, "specific force", None, None))
    'x (forward)'
    """
    words = sensor.axes
    name = SENSOR_AXES[axis]
    return name if words is None else f"{name} ({words[name]})"
