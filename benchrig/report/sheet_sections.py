"""The sections of a sheet: what the airframe file declares, beside what the results measured of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import degrees
from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe, Calibration
from benchrig.geometry.directions import SENSOR_AXES, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.measurement import Measurement, Quantity
from benchrig.outcome import Outcome, worst
from benchrig.report.lettering import tight
from benchrig.report.measurement_wording import declared_of, value_of
from benchrig.report.quantity import measured, number
from benchrig.report.sheet_content import Given, Row, Section
from benchrig.report.stored_check import StoredActuator
from benchrig.report.wording import axes_in_words, place_in_words

NOT_DECLARED: Final = "not declared"
_UNJUDGED: Final = 3
"""Values of a measurement that judged nothing, shown at most."""
_EXACT: Final = 6
_NONE: Final = Outcome.NOT_APPLICABLE


def sections(airframe: Airframe, results: Given) -> tuple[Section, ...]:
    """Give the sections that this airframe has, in the order in which a careful person works."""
    listed = [
        ("Where it sits", [*_place(airframe, results), *_measured("lever", results), *_measured("cg", results)]),
        ("The unit", [*_unit(airframe, results), *_measured("sensor", results)]),
        ("The compass", [*_compass(airframe, results), *_measured("magnetometer", results)]),
        ("Actuators", [*_actuators(airframe, results), *_measured("actuators", results)]),
        ("A lost link", [*_link(airframe, results), *_measured("link", results)]),
        ("The rotor", [*_rotor(airframe), *_measured("rotor", results)]),
    ]
    return tuple(Section(title, tuple(rows)) for title, rows in listed if rows)


def _measured(kind: str, results: Given) -> Iterator[Row]:
    """Give what `shown` picks of the measurement of a kind; of several, of the worst, with its file."""
    result, count = results.worst(kind), len(results.fresh.get(kind, ()))
    if result is not None and isinstance(result.content, Measurement):
        if count > 1:
            yield Row(f"the worst of {count} results", "", result.file.name, result.outcome)
        yield from map(_quantity, shown(result.content))


def shown(measurement: Measurement) -> tuple[Quantity, ...]:
    """Pick the quantities that a sheet shows: those that were judged, or declared; without any, the first few."""
    quantities = measurement.quantities
    told = tuple(q for q in quantities if q.outcome is not _NONE or q.declared is not None)
    return told or quantities[:_UNJUDGED]


def _quantity(quantity: Quantity) -> Row:
    return Row(quantity.name, tight(declared_of(quantity)), tight(value_of(quantity)), quantity.outcome)


def _wired(results: Given, *sensors: str) -> tuple[str, Outcome | None]:
    """Say how sensors were found to be wired, by the check that says worst."""
    told = [(f"{check.wirings[name].found or 'not told'}{source}", check.wirings[name].outcome)
            for check, source in zip(results.checks, results.sources, strict=True)
            for name in sensors if name in check.wirings]  # fmt: skip
    if not told:
        return "", None
    outcome = worst(outcome for _, outcome in told)
    # of several checks the one that says worst is shown
    return next(found for found, own in told if own is outcome), outcome


def _place(airframe: Airframe, results: Given) -> Iterator[Row]:
    sensor = airframe.sensor
    yield Row("axes of the unit", axes_in_words(sensor.body_from_sensor), *_wired(results, "gyro", "accelerometer"))
    _, outcome = _wired(results, "accelerometer")
    yield Row("accelerometer reads", sensor.reads, "", outcome)
    if results.measurement("lever") is None:
        within = "" if sensor.position_tolerance is None else f", within {_mm(sensor.position_tolerance)}"
        yield Row("place of the unit", f"{place_in_words(sensor.lever_arm)}{within}", "", None)


def _unit(airframe: Airframe, _: Given) -> Iterator[Row]:
    sensor = airframe.sensor
    if sensor.gyro_range is not None:
        yield Row("range of the gyro", number(degrees(sensor.gyro_range), "deg/s", _EXACT), "", None)
    if sensor.accelerometer_range is not None:
        full = number(sensor.accelerometer_range / STANDARD_GRAVITY, "g", _EXACT)
        yield Row("range of the accelerometer", full, "", None)
    yield from _calibration(airframe.calibration)


def _calibration(declared: Calibration | None) -> Iterator[Row]:
    if declared is None:
        return
    if declared.gyro_scale is not None:
        yield Row("gyro scale", _by_axis(declared.gyro_scale, ""), "", None)
    if declared.accelerometer_bias is not None:
        bias = _by_axis(declared.accelerometer_bias / STANDARD_GRAVITY * 1000, "mg")
        yield Row("accelerometer bias", bias, "", None)
    if declared.accelerometer_matrix is not None:
        yield Row("accelerometer matrix", "declared", "", None)


def _by_axis(values: Vector, unit: str) -> str:
    told = [f"{axis} {number(value, '', 4)}" for axis, value in zip(SENSOR_AXES, values.tolist(), strict=True)]
    return ", ".join(told) + (f" {unit}" if unit else "")


def _compass(airframe: Airframe, results: Given) -> Iterator[Row]:
    compass = airframe.magnetometer
    if compass is not None:
        yield Row("axes of the compass", axes_in_words(compass.body_from_sensor), *_wired(results, "magnetometer"))
        yield Row("place of the compass", place_in_words(compass.position), "", None)
        yield Row("bench stands in the", compass.hemisphere or NOT_DECLARED, "", None)
        if compass.nearby_current is not None:
            yield Row("current near it", number(compass.nearby_current, "A"), "", None)
    for name, distance in airframe.clearances.items():  # taken by ruler: no result speaks of it
        yield Row(name.replace("_", " "), _mm(distance), "", None)
    calibration = airframe.calibration
    if calibration is not None and calibration.magnetometer_bias is not None:
        yield Row("hard iron", _by_axis(calibration.magnetometer_bias * 1e6, "µT"), "", None)


def _mm(distance: float) -> str:
    return tight(number(distance * 1000, "mm", 4))


def _us(pulse: float) -> str:
    return tight(number(pulse * 1e6, "µs", 5))


def _actuators(airframe: Airframe, results: Given) -> Iterator[Row]:
    pulses = results.measurement("actuators") is None
    for actuator in airframe.actuators:
        told = [(one, source) for check, source in zip(results.checks, results.sources, strict=True)
                for one in check.actuators if one.name == actuator.name]  # fmt: skip
        found, outcome = "", None
        if told:
            outcome = worst(one.outcome for one, _ in told)
            found = next((f"{_did(one)}{source}" for one, source in told if one.outcome is outcome), "")
        yield Row(actuator.name, _declared_actuator(actuator, pulses=pulses), found, outcome)


def _did(one: StoredActuator) -> str:
    """Say what an actuator did, and how late."""
    late = "" if one.latency_ms is None else tight(measured(one.latency_ms, one.latency_uncertainty_ms, "ms"))
    word = "corrects" if one.finding == "ok" else one.finding
    return " ".join(part for part in (word, late and f"after {late}") if part)


def _declared_actuator(actuator: Actuator, *, pulses: bool) -> str:
    """Say what was declared; with its pulses, where no measurement stands below that shows them."""
    parts = [] if actuator.drives == actuator.name else [actuator.drives]
    if actuator.azimuth is not None:
        parts.append(f"at {number(degrees(actuator.azimuth), 'deg', 4)}")
    if actuator.position is not None:
        parts.append(place_in_words(actuator.position).removesuffix(" of the CG"))
    if actuator.turns is not None:
        parts.append(actuator.turns)
    if actuator.longer_pulse and actuator.drives != "rotor":  # a rotor has but one word
        parts.append(f"longer pulse {actuator.longer_pulse}")
    if actuator.centre is not None and pulses:
        parts.append(f"centre {_us(actuator.centre)}")
    ends = [pulse for pulse in (actuator.lowest, actuator.highest) if pulse is not None]
    if ends and pulses:
        parts.append(" to ".join(map(_us, ends)))
    return ", ".join(parts)


def _link(airframe: Airframe, results: Given) -> Iterator[Row]:
    if not airframe.actuators or results.measurement("link") is not None:
        return
    loss = airframe.link_loss
    if loss is None:
        yield Row("all actuators go to", NOT_DECLARED, "", None)
        return
    if loss.after is not None:
        yield Row("at the latest after", number(loss.after, "s"), "", None)
    for name, pulse in loss.goes_to.items():
        yield Row(f"{name} goes to", "stays" if pulse is None else _us(pulse), "", None)


def _rotor(airframe: Airframe) -> Iterator[Row]:
    rotor = airframe.rotor
    if rotor is None:
        return
    yield Row("turns, seen from above", rotor.turns, "", None)
    yield Row("lead of the plate", number(degrees(rotor.plate_lead), "deg", 4), "", None)
    known: Sequence[tuple[str, str]] = (
        ("motor", _declared(rotor.motor_rate, 30 / np.pi, "rpm")),
        ("turns of the motor to one", _declared(rotor.gear_ratio, 1.0, "")),
        ("blades", _declared(rotor.blades, 1.0, "")),
    )
    yield from (Row(name, text, "", None) for name, text in known if text)


def _declared(value: float | None, factor: float, unit: str) -> str:
    return "" if value is None else number(value * factor, unit, 5)
