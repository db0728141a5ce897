"""Stored results made of the records that the reports are tested with."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import records

from benchrig.report.result import report_result, result_json
from benchrig.report.seal import sealed
from benchrig.report.stored_result import check_in, read_result
from benchrig.verdict.figures import Reading, UnitFigures

UNIT = UnitFigures(
    gyro_bias=np.radians([1.0, -0.5, 0.2]),
    gyro_bias_uncertainty=np.radians([0.02, 0.02, 0.03]),
    gyro_over_gravity=Reading(1.01, 0.004),
    accelerometer_size=Reading(0.99, 0.002),
    gyro_noise=Reading(float(np.radians(0.006)), float(np.radians(0.0005))),
    accelerometer_delay=Reading(0.004, 0.003),
    temperature=Reading(24.5, 0.2),
)


def record(name="right", **unit):
    """Give a record whose unit shows figures; any of them may be replaced."""
    made = records.ALL[name]()
    return replace(made, unit=replace(UNIT, **unit))


def check(made):
    return check_in(report_result(made), "made.json")


def of_another_time(made, sha256="ab" * 32):
    """Give the record as another recording would have it: a last digit of it is another one."""
    unit = replace(made.unit, gyro_bias=made.unit.gyro_bias + np.radians([0.0, 0.0, 1e-4]))
    return replace(made, unit=unit, recording=replace(made.recording, sha256=sha256, recorded=None))


def stored(folder, name, made, spoil=None):
    """Write a result as an earlier or later version would, and read it back."""
    path = folder / name
    text = result_json(made)
    if spoil is not None:
        data = json.loads(text)
        spoil(data)
        text = json.dumps(sealed(data))
    path.write_text(text, encoding="utf-8")
    return read_result(path)


def as_first_written(data):
    """Take out what the first version of the result did not hold."""
    for key in ("sensor", "declaration"):
        del data[key]
    for key in ("stream_sha256", "manifest_sha256"):
        del data["capture"][key]
