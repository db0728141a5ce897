"""Airframes and stored results for the tests of the sheet."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import measurements
import records
from measurements import FAIL, NONE, OPEN, PASS, quantity

from benchrig.measure.measurement import Evidence
from benchrig.report.measurement_result import measurement_json
from benchrig.report.result import result_json
from benchrig.report.sheet import bench_sheet
from benchrig.report.stored_result import read_result

AXES = ("x", "y", "z")


def stored(text, name):
    """Read a result back from a file of that name."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_text(text, encoding="utf-8")
        return replace(read_result(path), file=Path(name))


def check(record, airframe=None):
    """Store a check of a record, made for the airframe given."""
    made = record if airframe is None else replace(record, airframe=airframe)
    return stored(result_json(made), "check.json")


def measured(airframe, kind, quantities, **changes):
    """Store a measurement made for an airframe."""
    made = replace(
        measurements.lever(),
        kind=kind,
        title=f"Measured {kind}",
        airframe_name=airframe.name,
        airframe=Evidence(airframe.source.file, airframe.source.sha256),
        quantities=tuple(quantities),
        findings=(),
        figures=(),
        entries=(),
        **changes,
    )
    return stored(measurement_json(made), f"{kind}.json")


def places(outcome=PASS):
    return [quantity(f"sensor from CG, {way}", 1.0, 0.7, 1.0, outcome, limit="5 mm") for way in ("aft", "right", "up")]


def pulses(airframe):
    return [
        quantity(f"{actuator.name}, {what}", value, 1.0, value, PASS, unit="us", limit="5 µs")
        for actuator in airframe.actuators
        for what, value in (("centre", 1520.0), ("lowest", 1100.0), ("highest", 1900.0))
    ]


def ways(airframe):
    return [
        quantity(f"{actuator.name} goes to", 1520.0, 1.0, 1520.0, PASS, unit="us", limit="5 µs")
        for actuator in airframe.actuators
    ]


def errors():
    scales = [
        quantity(f"{sensor} scale, {axis}", 1.002, 0.001, 1.0, PASS, unit="", limit="1 %")
        for sensor in ("gyro", "accelerometer")
        for axis in AXES
    ]
    noise = [quantity(f"gyro noise density, {axis}", 0.0075, 0.0003, unit="deg/s/√Hz") for axis in AXES]
    return [*scales, *noise]


def iron():
    found = [quantity(f"hard iron, {axis}", 18.4, 0.35, unit="uT") for axis in AXES]
    return [*found, quantity("dip of the field", 65.8, 0.2, 66.0, PASS, unit="deg", limit="within 5°")]


def everything(airframe, record):
    """Store a result of every kind that the airframe is asked for, all of them passed if the check is."""
    results = [
        check(record, airframe),
        measured(airframe, "lever", places()),
        measured(airframe, "cg", places()),
        measured(airframe, "sensor", errors()),
    ]
    if airframe.magnetometer is not None:
        results.append(measured(airframe, "magnetometer", iron()))
    if airframe.actuators:
        results += [measured(airframe, "actuators", pulses(airframe)), measured(airframe, "link", ways(airframe))]
    return results


def bare():
    """Lay out a sheet of an airframe without any result."""
    return bench_sheet(records.helicopter(), ())


def whole():
    record = records.right_helicopter()
    return bench_sheet(record.airframe, everything(record.airframe, record))


def failing():
    record = records.failing_helicopter()
    return bench_sheet(record.airframe, [check(record), measured(record.airframe, "lever", places(FAIL))])


def doubtful():
    record = records.doubtful_helicopter()
    return bench_sheet(record.airframe, [check(record), measured(record.airframe, "lever", places(OPEN))])


def stale():
    record = records.right_helicopter()
    older = replace(record.airframe, source=replace(record.airframe.source, sha256="0" * 64))
    return bench_sheet(record.airframe, everything(older, record))


def many():
    """Lay out a sheet that no single page holds: sixty actuators with long names."""
    frame = records.airframe(
        "Albatross", "other", tuple(records.servo(f"servo of the {n}th link", n) for n in range(60))
    )
    record = records.record(frame, records.matrix(frame))
    return bench_sheet(frame, [check(record), measured(frame, "actuators", pulses(frame))])


def hostile():
    record = records.hostile()
    frame = record.airframe
    bad = [quantity(records.HOSTILE, 1.0, 0.1, 2.0, FAIL, unit=records.HOSTILE, reason=records.HOSTILE, limit="x")]
    result = measured(frame, "lever", bad)
    return bench_sheet(frame, [result, replace(result, file=Path(records.HOSTILE.replace("\0", "")))])


ALL = {
    "bare": bare,
    "whole": whole,
    "failing": failing,
    "doubtful": doubtful,
    "stale": stale,
    "many": many,
    "hostile": hostile,
}
UNJUDGED = NONE
