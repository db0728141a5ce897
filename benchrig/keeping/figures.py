"""The numbers of a stored check that another bench can be held against, each with its standard deviation."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from benchrig.report.stored_check import StoredCheck, StoredUnit, Told

Kind = Literal[
    "gyro bias",
    "gyro scale",
    "gyro noise",
    "accelerometer size",
    "accelerometer delay",
    "temperature",
    "sample rate",
    "lean",
    "heading",
    "place",
    "latency",
    "response",
]
"""What a figure is about; `lean` and `heading` are the small angles by which the unit is turned from its mounting."""

_OF_THE_UNIT: Final[tuple[tuple[Kind, str, str], ...]] = (
    ("gyro scale", "gyro_over_gravity", ""),
    ("gyro noise", "gyro_noise_deg_s_rthz", "deg/s/√Hz"),
    ("accelerometer size", "accelerometer_size_g", "g"),
    ("accelerometer delay", "accelerometer_delay_ms", "ms"),
    ("temperature", "temperature_c", "°C"),
)
_NAMES: Final[Mapping[str, str]] = {
    "gyro scale": "gyro over gravity",
    "accelerometer size": "accelerometer at rest",
}


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of a bench.

    Attributes
    ----------
    kind : str
    name : str
        In the builder's words: ``gyro bias, x``; the same from bench to bench.
    value, uncertainty : float or None
        In `unit`; the uncertainty is one standard deviation. None where it could not be told.
    unit : str
    of : str
        The actuator that it is about; empty for the unit's own.
    """

    kind: Kind
    name: str
    value: float | None
    uncertainty: float | None
    unit: str
    of: str = ""


def figures_of(check: StoredCheck) -> tuple[Figure, ...]:
    """List the figures of a check, in the order in which a person reads them.

    The names are the same for every bench of one airframe; what a bench could not tell, or an older result does not
    hold, has None for its value.

    Returns
    -------
    tuple of Figure
    """
    return (*_of_unit(check.unit), *_of_stream(check), *_of_mounting(check), *_of_actuators(check))


def _figure(kind: Kind, name: str, told: Told | None, unit: str, of: str = "") -> Figure:
    value, uncertainty = (None, None) if told is None else (told.value, told.uncertainty)
    return Figure(kind, name, value, uncertainty, unit, of)


def _of_unit(unit: StoredUnit | None) -> Iterator[Figure]:
    bias = None if unit is None else unit.gyro_bias_deg_s
    for axis in "xyz":
        yield _figure("gyro bias", f"gyro bias, {axis}", None if bias is None else bias[axis], "deg/s")
    for kind, key, measured_in in _OF_THE_UNIT:
        yield _figure(kind, _NAMES.get(kind, kind), None if unit is None else getattr(unit, key), measured_in)


def _of_stream(check: StoredCheck) -> Iterator[Figure]:
    yield Figure("sample rate", "sample rate", check.rate_hz, None, "Hz")


def _of_mounting(check: StoredCheck) -> Iterator[Figure]:
    small = check.misalignment_deg
    for turn in ("roll", "pitch", "yaw"):
        kind: Kind = "heading" if turn == "yaw" else "lean"
        yield _figure(kind, f"unit turned, {turn}", None if small is None else small[turn], "deg")
    for word in ("forward", "right", "down"):
        yield _figure("place", f"place, {word}", check.place.measured_mm[word], "mm")


def _of_actuators(check: StoredCheck) -> Iterator[Figure]:
    for actuator in check.actuators:
        late = Told(actuator.latency_ms, actuator.latency_uncertainty_ms)
        yield _figure("latency", f"{actuator.name}: latency", late, "ms", actuator.name)
        for turn in ("roll", "pitch", "yaw"):
            told = None if actuator.response is None else actuator.response[turn]
            yield _figure("response", f"{actuator.name}: answer to {turn}", told, "us/°", actuator.name)
