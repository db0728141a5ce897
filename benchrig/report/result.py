"""The result: the record as JSON, by the schema ``benchrig-result/1`` (``docs/reference/result.md``)."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, Final

from benchrig.declaration.airframe import Airframe
from benchrig.declaration.content import declared_content
from benchrig.geometry.directions import Matrix, axis_words
from benchrig.geometry.turns import AXIS_NAMES
from benchrig.report.json_values import exact, findings_in_json, rounded
from benchrig.report.seal import sealed
from benchrig.report.unit_values import unit_values
from benchrig.report.wording import is_mirrored, wirings
from benchrig.verdict.record import ActuatorJudgement, BenchRecord, Cell, Health, LeverArm, Misalignment, WiringFound

SCHEMA: Final = "benchrig-result/1"
_ALONG: Final = ("forward", "right", "down")
_DIGITS: Final = 6
"""Significant digits of a measured number: more than any of them deserves."""


def report_result(record: BenchRecord) -> dict[str, Any]:
    """Put the record into plain dicts, lists, numbers and text.

    Returns
    -------
    dict
        In the order of the schema. None stands for what cannot be told from these motions, and for a number that
        is not finite. The seal comes last.
    """
    return sealed(
        {
            "schema": SCHEMA,
            "verdict": record.verdict.value,
            "scope": record.scope,
            "parts": {"sensing": record.sensing.value, "correction": record.correction.value},
            "wrong_pass_bound": exact(record.wrong_pass_bound),
            "airframe": _airframe(record.airframe),
            "capture": _capture(record),
            "matrix": [_cell(cell) for cell in record.matrix],
            "mounting": _mounting(record),
            "lever_arm": _lever_arm(record.lever_arm),
            "actuators": [_actuator(judgement) for judgement in record.actuators],
            "health": [_health(check) for check in record.health],
            "findings": findings_in_json(record.findings),
            "cautions": list(record.cautions),
            "software": _software(record.software),
            "next_motion": record.next_motion,
            "limits": dict(record.limits),
            "sensor": unit_values(record.unit),
            "declaration": declared_content(record.airframe),
        }
    )


def result_json(record: BenchRecord, *, indent: int | None = 2) -> str:
    r"""Write the result as JSON text, without a newline at its end.

    Letters beyond ASCII are written as ``\u`` escapes, so that text from files cannot steer a terminal.

    Parameters
    ----------
    record : BenchRecord
    indent : int or None
        None for one line.
    """
    return json.dumps(report_result(record), indent=indent, ensure_ascii=True, allow_nan=False)


def _number(value: float | None) -> float | None:
    return rounded(value, _DIGITS)


def _named(names: Iterable[str], values: Iterable[float | None]) -> dict[str, float | None]:
    return {name: _number(value) for name, value in zip(names, values, strict=True)}


def _airframe(airframe: Airframe) -> dict[str, Any]:
    source = airframe.source
    return {
        "name": airframe.name,
        "kind": airframe.kind,
        "file": source.file.as_posix(),
        "sha256": source.sha256,
    }


def _capture(record: BenchRecord) -> dict[str, Any]:
    recording = record.recording
    samples = len(recording.time)
    timed = samples > 1
    return {
        "file": recording.manifest.as_posix(),
        "sha256": recording.sha256,
        "samples": samples,
        "duration_s": _number(float(recording.time[-1] - recording.time[0])) if timed else 0.0,
        "rate_hz": _number(recording.rate) if timed else None,
        "recorded": _moment(recording.recorded),
        "operator": recording.operator,
        "stream": recording.stream.as_posix(),
        "history": list(recording.history),
        "stream_sha256": recording.stream_sha256 or None,
        "manifest_sha256": recording.manifest_sha256 or None,
    }


def _moment(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat().replace("+00:00", "Z")


def _cell(cell: Cell) -> dict[str, Any]:
    return {
        "motion": cell.motion,
        "check": cell.check,
        "outcome": cell.outcome.value,
        "evidence": cell.evidence,
        "expected": cell.expected,
        "observed": cell.observed,
        "size": _number(cell.size),
        "unit": cell.unit,
        "uncertainty": _number(cell.uncertainty),
        "wrong_pass_bound": exact(cell.wrong_pass_bound),
        "reason": cell.reason,
        "required": cell.required,
    }


def _axes(matrix: Matrix | None) -> dict[str, Any] | None:
    if matrix is None:
        return None
    words = axis_words(matrix)
    return dict(words) if words is not None else {"rotation": matrix.tolist()}


def _wiring(wiring: WiringFound) -> dict[str, Any]:
    entry: dict[str, Any] = {"outcome": wiring.outcome.value, "found": _axes(wiring.found)}
    if wiring.found is not None and is_mirrored(wiring.found):
        entry["mirrored"] = True
    entry["probability"] = exact(wiring.probability)
    entry["also_possible"] = [_axes(other) for other in wiring.also_possible]
    return entry


def _mounting(record: BenchRecord) -> dict[str, Any]:
    entry: dict[str, Any] = {"declared": _axes(record.airframe.sensor.body_from_sensor)}
    entry |= {sensor: _wiring(wiring) for sensor, wiring, _ in wirings(record)}
    entry["misalignment_deg"] = _misalignment(record.misalignment)
    return entry


def _misalignment(small: Misalignment | None) -> dict[str, Any] | None:
    if small is None:
        return None
    angles: dict[str, Any] = _named(AXIS_NAMES, (small.roll, small.pitch, small.yaw))
    spreads = (small.roll_uncertainty, small.pitch_uncertainty, small.yaw_uncertainty)
    return angles | {"uncertainty": _named(AXIS_NAMES, spreads)}


def _lever_arm(arm: LeverArm) -> dict[str, Any]:
    return {
        "outcome": arm.outcome.value,
        "declared_mm": _named(_ALONG, arm.declared_mm.tolist()),
        "measured_mm": _named(_ALONG, arm.measured_mm),
        "uncertainty_mm": _named(_ALONG, arm.uncertainty_mm),
        "reason": arm.reason,
    }


def _by_axis(values: Mapping[str, float] | None) -> dict[str, float | None] | None:
    return None if values is None else {name: _number(values.get(name)) for name in AXIS_NAMES}


def _actuator(judgement: ActuatorJudgement) -> dict[str, Any]:
    return {
        "name": judgement.name,
        "outcome": judgement.outcome.value,
        "finding": judgement.finding,
        "latency_ms": _number(judgement.latency_ms),
        "swapped_with": judgement.swapped_with,
        "response": _by_axis(judgement.response),
        "latency_uncertainty_ms": _number(judgement.latency_uncertainty_ms),
        "response_uncertainty": _by_axis(judgement.response_uncertainty),
        "probability": _number(judgement.probability),
        "trouble": judgement.trouble or None,
        "reason": judgement.reason,
    }


def _health(check: Health) -> dict[str, Any]:
    return {
        "check": check.check,
        "outcome": check.outcome.value,
        "value": _number(check.value),
        "unit": check.unit,
        "limit": _number(check.limit),
        "reason": check.reason,
    }


def _software(software: Mapping[str, str]) -> dict[str, Any]:
    named = {name: software.get(name) for name in ("benchrig", "ahrs", "reference_filter")}
    return named | {name: version for name, version in software.items() if name not in named}
