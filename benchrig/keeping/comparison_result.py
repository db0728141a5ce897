"""A comparison as JSON, by the schema ``benchrig-comparison/1`` (``docs/reference/result.md``)."""

from __future__ import annotations

import json
from typing import Any, Final

from benchrig.cautions import CAUTIONS
from benchrig.keeping import comparison_wording as wording
from benchrig.keeping.comparison import Comparison
from benchrig.keeping.figures import Figure
from benchrig.keeping.moved import Moved, Weight
from benchrig.keeping.rejudgement_result import declared_in_json, judged_in_json
from benchrig.report.json_values import rounded
from benchrig.report.seal import sealed
from benchrig.report.stored_result import StoredResult

SCHEMA: Final = "benchrig-comparison/1"
_DIGITS: Final = 6


def comparison_result(compared: Comparison) -> dict[str, Any]:
    """Put a comparison into plain dicts, lists, numbers and text; None stands for what could not be told."""
    judged = judged_in_json(change for change, _ in compared.judged)
    first, second = wording.read_otherwise(compared)
    return sealed(
        {
            "schema": SCHEMA,
            "outcome": compared.outcome.value,
            "summary": wording.sentence(compared),
            "airframe": wording.airframe_name(compared),
            "first": _bench(compared.first),
            "second": _bench(compared.second),
            "second_was_recorded_first": compared.is_backwards,
            "figures": [_figure(moved) for moved in compared.moved],
            "judged": [
                {**change, "weight": weight.value} for change, (_, weight) in zip(judged, compared.judged, strict=True)
            ],
            "declared": None if compared.declared is None else declared_in_json(compared.declared),
            "software": {name: {"before": was, "after": now} for name, (was, now) in compared.software.items()},
            "history": {"first_only": first, "second_only": second},
            "cautions": list(CAUTIONS),
        }
    )


def comparison_json(compared: Comparison) -> str:
    r"""Write it as JSON text, letters beyond ASCII as ``\u`` escapes, without a newline at its end."""
    return json.dumps(comparison_result(compared), indent=2, ensure_ascii=True, allow_nan=False)


def _bench(result: StoredResult) -> dict[str, Any]:
    capture = result.data["capture"]
    return {
        "file": result.file.as_posix(),
        "seal": result.seal,
        "verdict": result.outcome.value,
        "recorded": capture["recorded"],
        "operator": capture["operator"],
    }


def _figure(moved: Moved) -> dict[str, Any]:
    matters = moved.weight is Weight.MATTERS and moved.allowed is not None
    return {
        "kind": moved.first.kind,
        "name": moved.first.name,
        "unit": moved.first.unit,
        "first": _value(moved.first),
        "second": _value(moved.second),
        "measure": "ratio" if moved.allowed is not None and moved.allowed.measure == "ratio" else "difference",
        "change": rounded(moved.change, _DIGITS),
        "uncertainty": rounded(moved.uncertainty, _DIGITS),
        "limit": rounded(moved.limit, _DIGITS),
        "weight": moved.weight.value,
        "coarse": moved.is_coarse,
        "reason": (moved.allowed.why if matters and moved.allowed else moved.reason) or None,
        "act": moved.allowed.act if matters and moved.allowed else None,
    }


def _value(figure: Figure) -> dict[str, float | None] | None:
    if figure.value is None:
        return None
    return {"value": rounded(figure.value, _DIGITS), "uncertainty": rounded(figure.uncertainty, _DIGITS)}
