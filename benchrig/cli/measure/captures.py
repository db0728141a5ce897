"""The captures of a measurement, each read once."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from benchrig.capture.reader import read_capture
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, UsageError


def read_captures(manifests: Iterable[Path], airframe: Airframe) -> list[Recording]:
    """Read captures that are to be joined to one answer.

    Raises
    ------
    UsageError
        If one is given twice: the same evidence counted twice would look surer than it is.
    CaptureError
        If one cannot be used.
    """
    recordings: dict[str, Recording] = {}
    for manifest in manifests:
        recording = read_capture(manifest, airframe)
        if recording.sha256 in recordings:
            first = recordings[recording.sha256].manifest
            finding = f"holds what {escape(str(first))} holds: one recording counts once"
            raise UsageError(Problem(escape(str(manifest)), finding, act="name each capture once"))
        recordings[recording.sha256] = recording
    return list(recordings.values())
