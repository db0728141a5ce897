"""A measurement as JSON, by the schema ``benchrig-measurement/1`` (``docs/reference/result.md``)."""

from __future__ import annotations

import json
from typing import Any, Final

from benchrig.measure.measurement import Entry, Evidence, Measurement, Quantity
from benchrig.report.json_values import findings_in_json, rounded
from benchrig.report.measurement_wording import cautions_of
from benchrig.report.seal import sealed

SCHEMA: Final = "benchrig-measurement/1"
_DIGITS: Final = 9
"""Significant digits: enough that a value and what it was declared as stay apart as they were."""


def measurement_result(measurement: Measurement) -> dict[str, Any]:
    """Put a measurement into plain dicts, lists, numbers and text.

    Returns
    -------
    dict
        In the order of the schema. None stands for what cannot be told, and for a number that is not finite. The
        seal comes last.
    """
    return sealed(
        {
            "schema": SCHEMA,
            "kind": measurement.kind,
            "title": measurement.title,
            "outcome": measurement.outcome.value,
            "airframe": {"name": measurement.airframe_name, **_evidence(measurement.airframe)},
            "evidence": [_evidence(evidence) for evidence in measurement.evidence],
            "quantities": [_quantity(quantity) for quantity in measurement.quantities],
            "findings": findings_in_json(measurement.findings),
            "figures": [{"title": figure.title, "description": figure.description} for figure in measurement.figures],
            "entries": [_entry(entry) for entry in measurement.entries],
            "unknown": list(measurement.unknown),
            "method": list(measurement.method),
            "cautions": list(cautions_of(measurement)),
            "software": dict(measurement.software),
        }
    )


def measurement_json(measurement: Measurement, *, indent: int | None = 2) -> str:
    r"""Write a measurement as JSON text, without a newline at its end.

    Letters beyond ASCII are written as ``\u`` escapes, so that text from files cannot steer a terminal.

    Parameters
    ----------
    measurement : Measurement
    indent : int or None
        None for one line.
    """
    return json.dumps(measurement_result(measurement), indent=indent, ensure_ascii=True, allow_nan=False)


def _number(value: float | None) -> float | None:
    return rounded(value, _DIGITS)


def _evidence(evidence: Evidence) -> dict[str, Any]:
    return {"file": evidence.file.as_posix(), "sha256": evidence.sha256}


def _quantity(quantity: Quantity) -> dict[str, Any]:
    return {
        "name": quantity.name,
        "value": _number(quantity.value),
        "uncertainty": _number(quantity.uncertainty),
        "unit": quantity.unit,
        "declared": _number(quantity.declared),
        "outcome": quantity.outcome.value,
        "limit": quantity.limit,
        "reason": quantity.reason,
    }


def _entry(entry: Entry) -> dict[str, Any]:
    return {"table": list(entry.table), "key": entry.key, "value": entry.value, "comment": entry.comment}
