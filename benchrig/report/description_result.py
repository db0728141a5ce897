"""A description of an unknown stream as JSON, by the schema ``benchrig-description/1``."""

from __future__ import annotations

import json
from typing import Any, Final

from benchrig.measure.describe.description import Description, Proposed
from benchrig.measure.describe.manifest_text import manifest_text
from benchrig.report.json_values import rounded

SCHEMA: Final = "benchrig-description/1"
_DIGITS: Final = 6


def description_result(description: Description) -> dict[str, Any]:
    """Put a description into plain dicts, lists, numbers and text.

    Returns
    -------
    dict
        In the order of the schema; None stands for what cannot be told.
    """
    unknown, clock = description.unknown, description.clock
    return {
        "schema": SCHEMA,
        "stream": unknown.path.name,
        "sure": description.is_sure,
        "rows": len(clock.time),
        "rate_hz": rounded(clock.rate, _DIGITS),
        "has_names": unknown.has_names,
        "groups": [_group(group) for group in description.groups],
        "gyro_and_accelerometer": {"agree": description.agree, "text": description.agreement},
        "pulses": list(description.pulses),
        "others": dict(description.others),
        "notes": list(description.notes),
        "manifest": manifest_text(description),
    }


def _group(group: Proposed) -> dict[str, Any]:
    return {
        "group": group.group,
        "names": list(group.names),
        "unit": group.unit,
        "count": group.count,
        "sure": group.is_sure,
        "lead": rounded(group.lead, _DIGITS),
        "next": list(group.next_names),
        "why": group.why,
        "surer": group.surer,
    }


def description_json(description: Description) -> str:
    r"""Write a description as JSON text; letters beyond ASCII as ``\u`` escapes, which steer no terminal."""
    return json.dumps(description_result(description), indent=2, ensure_ascii=True, allow_nan=False)
