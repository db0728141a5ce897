"""A rejudgement as JSON: the new result, and beside it what changed from the old one."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from benchrig.keeping.declared_changes import DeclaredChange
from benchrig.keeping.judged_changes import JudgedChange, Side
from benchrig.keeping.rejudgement import Rejudgement
from benchrig.keeping.rejudgement_text import changed_in_words
from benchrig.report.result import report_result
from benchrig.report.seal import SEAL, sealed


def rejudgement_result(again: Rejudgement) -> dict[str, Any]:
    """Give the new result with the key ``rejudgement``; its seal covers both.

    Every reader of results takes it as the result of a check.

    Returns
    -------
    dict
    """
    result = {key: value for key, value in report_result(again.record).items() if key != SEAL}
    rejudgement = {
        "of": {"file": again.stored.file.as_posix(), "seal": again.stored.seal},
        "summary": changed_in_words(again),
        "nothing_changed": again.nothing_changed,
        "same_declaration": again.same_declaration,
        "declared": None if again.declared is None else declared_in_json(again.declared),
        "software": {name: {"before": was, "after": now} for name, (was, now) in again.software.items()},
        "judged": judged_in_json(again.judged),
        "values": {path: {"before": was, "after": now} for path, (was, now) in again.values.items()},
    }
    return sealed({**result, "rejudgement": rejudgement})


def rejudgement_json(again: Rejudgement) -> str:
    r"""Write it as JSON text, letters beyond ASCII as ``\u`` escapes, without a newline at its end."""
    return json.dumps(rejudgement_result(again), indent=2, ensure_ascii=True, allow_nan=False)


def declared_in_json(changes: Iterable[DeclaredChange]) -> list[dict[str, Any]]:
    """Give what is declared otherwise."""
    return [{"key": list(change.key), "before": change.before, "after": change.after} for change in changes]


def judged_in_json(changes: Iterable[JudgedChange]) -> list[dict[str, Any]]:
    """Give what came out otherwise; None for what was not there."""
    return [
        {
            "about": change.about,
            "subject": change.subject,
            "motion": change.motion or None,
            "before": _side(change.before),
            "after": _side(change.after),
        }
        for change in changes
    ]


def _side(side: Side | None) -> dict[str, Any] | None:
    return None if side is None else {"outcome": side.outcome and side.outcome.value, "told": side.told}
