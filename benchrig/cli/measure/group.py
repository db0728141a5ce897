"""`benchrig measure`: the table of its commands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from benchrig.cli.lazy import Entry, LazyGroup

MEASUREMENTS: Final[Mapping[str, Entry]] = {
    "lever": Entry("benchrig.cli.measure.lever:lever", "The sensor's place, from a turntable spin or from swings."),
    "sensor": Entry("benchrig.cli.measure.sensor:sensor", "The unit's errors, noise and clock, from still poses."),
    "cg": Entry("benchrig.cli.measure.cg:cg", "The centre of gravity, from hangs or weighings; places from it."),
    "magnetometer": Entry("benchrig.cli.measure.magnetometer:magnetometer", "The compass: iron, axes, surroundings."),
    "actuators": Entry("benchrig.cli.measure.actuators:actuators", "Centre, ends, sense and speed, from a sweep."),
    "link": Entry("benchrig.cli.measure.link:link", "Where switches and a lost link send every actuator."),
    "rotor": Entry("benchrig.cli.measure.rotor:rotor", "Rotor frequencies, and the vibration lines that they explain."),
}

PURPOSE: Final = """Prove the numbers that the declaration rests on.

Each gives values with their uncertainty, what it cannot tell and why, and the
lines for the airframe file; --write puts them in. Take the blades or propellers
off before the unit gets power. This is bench evidence only."""

STATUSES: Final = """\b
Exit status:
  0  measured, and as declared wherever it was declared
  1  fail: not as declared
  3  not shown: the evidence is missing or too weak
  others as of `benchrig --help`"""

measure = LazyGroup("measure", MEASUREMENTS, help=PURPOSE, epilog=STATUSES)
