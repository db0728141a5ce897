"""Stored results for tests of the bench book: one real check, told again with other dates, verdicts and figures."""

from __future__ import annotations

import copy
import functools
import hashlib
import json
import os
from datetime import datetime
from pathlib import Path

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.job import judge
from benchrig.report.result import report_result
from benchrig.report.seal import sealed

CAPTURES = Path(__file__).resolve().parents[2] / "captures"


@functools.cache
def _checked(name="dunlin-ok"):
    airframe = read_airframe(CAPTURES / f"{name.partition('-')[0]}.toml")
    return judge(airframe, read_capture(CAPTURES / f"{name}.toml", airframe))


def record(name="dunlin-ok"):
    """Give the record of a demo capture."""
    return _checked(name)


def result(
    path,
    day="2026-03-01",
    *,
    verdict="pass",
    bias=0.0,
    airframe=None,
    declared=None,
    judged=None,
    capture=None,
    file=None,
    sha256=None,
):
    """Write a result: of a day, with a verdict, and a gyro bias of x moved by `bias` °/s; give its path.

    `declared` changes keys of the declaration, `capture` tells recordings apart (else the day does), `judged` is when
    the file was written (else a minute after it was recorded).
    """
    data = copy.deepcopy(report_result(_checked()))
    moment = f"{day}T10:00:00+00:00" if len(day) == len("2026-03-01") else day
    data["capture"]["recorded"] = moment
    data["capture"]["file"] = f"{capture or day}.toml"
    data["capture"]["sha256"] = hashlib.sha256((capture or day).encode()).hexdigest()
    data["verdict"], data["parts"]["sensing"] = verdict, verdict
    data["sensor"]["gyro_bias_deg_s"]["x"] += bias
    data["airframe"]["file"] = str(file or CAPTURES / "dunlin.toml")
    if airframe:
        data["airframe"]["name"] = airframe
    for (table, key), value in (declared or {}).items():
        data["declaration"][table][key] = value
    if sha256:
        data["airframe"]["sha256"] = sha256
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(sealed(data)), encoding="utf-8")
    written = datetime.fromisoformat(judged or moment).timestamp() + 60
    os.utime(path, (written, written))
    return path
