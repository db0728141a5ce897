"""The bench book as JSON, for other programs."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any, Final

from benchrig.keeping.book_due import Reason
from benchrig.keeping.book_entry import BenchEntry
from benchrig.keeping.book_history import History, Series

SCHEMA: Final = "benchrig-book/1"


def book_json(told: Sequence[tuple[History, tuple[Reason, ...]]], *, benches: bool = False) -> str:
    """Write what is due of each airframe; with every bench and every figure, where asked for.

    Parameters
    ----------
    told : sequence of (History, tuple of Reason)
    benches : bool
    """
    airframes = [_airframe(history, reasons, benches=benches) for history, reasons in told]
    return json.dumps({"schema": SCHEMA, "airframes": airframes}, indent=2, ensure_ascii=False)


def _airframe(history: History, reasons: Sequence[Reason], *, benches: bool) -> dict[str, Any]:
    said: dict[str, Any] = {
        "name": history.airframe,
        "due": bool(reasons),
        "reasons": [{"code": reason.code, "text": reason.text, "more": reason.more} for reason in reasons],
        "last_bench": _bench(history.last),
        "last_pass": _bench(history.last_pass),
        "changes": [{"when": change.when.isoformat(), "what": change.what} for change in history.changes],
    }
    if benches:
        build = {bench.seal for bench in history.build}
        said["benches"] = [{**(_bench(one) or {}), "of_present_build": one.seal in build} for one in history.benches]
        said["figures"] = [_series(series) for series in history.series()]
    return said


def _bench(bench: BenchEntry | None) -> dict[str, Any] | None:
    if bench is None:
        return None
    return {
        "when": bench.when.isoformat(),
        "verdict": bench.verdict.value,
        "sensing": bench.sensing.value,
        "correction": bench.correction.value,
        "operator": bench.operator,
        "result": bench.result_file,
        "capture": bench.capture_file,
        "airframe": bench.airframe_file,
        "benchrig": bench.version,
        "finding": bench.finding,
    }


def _series(series: Series) -> dict[str, Any]:
    moved = series.moved
    return {
        "name": series.name,
        "unit": series.unit,
        "points": [
            {"when": bench.when.isoformat(), "value": figure.value, "uncertainty": figure.uncertainty}
            for bench, figure in series.points
        ],
        "change": None if moved is None else moved.change,
        "change_uncertainty": None if moved is None else moved.uncertainty,
        "limit": None if moved is None else moved.limit,
        "told": None if moved is None else moved.weight.value,
    }
