"""Declared actuators without recorded pulses: columns that are not named, and columns that hold nothing."""

from __future__ import annotations

from collections.abc import Iterator

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.outcome import Finding


def missing_pulses(airframe: Airframe, recording: Recording) -> Iterator[Finding]:
    """Name the actuators of which no pulse was recorded, apart for the two reasons."""
    missing = [a.name for a in airframe.actuators if a.name not in recording.pulses]
    blank = [name for name in missing if name in recording.blank_pulses]
    unnamed = [name for name in missing if name not in recording.blank_pulses]
    if blank:
        text = f"The columns of {', '.join(blank)} are named, and blank or zero in every row."
        fix = "Look at the wire from the output to the logger, and at the logger; or name the columns that hold them."
        yield Finding("pulses-missing", "not shown", text, fix)
    if unnamed:
        fix = "Name the column of each under [columns.actuators] in the manifest."
        yield Finding("pulses-missing", "not shown", f"No pulses of {', '.join(unnamed)} were recorded.", fix)
