"""What a simulated bench is asked to be, faults aside."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from benchrig.errors import Problem, UsageError
from benchrig.geometry.turns import MOTIONS, REQUIRED_TURNS

DEFAULT_MOTIONS: Final = ("level", *REQUIRED_TURNS, "free", "level")


@dataclass(frozen=True, slots=True)
class Options:
    """The bench to simulate.

    Attributes
    ----------
    rate_hz : float
        Rows a second.
    slop_deg : float
        Standard deviation of the turns about the other two axes that come with every hand move.
    motions : tuple of str
        In order. Every hand motion goes out, holds, comes back and rests.
    jitter : float
        Standard deviation of a sample's time, as a part of the step between samples.
    routine : bool
        Whether the manifest gives the motions' names alone, without times.
    seen : bool
        Whether the manifest says what the operator saw every actuator do.
    pulses, unit_attitude, temperature : bool
        Whether the stream has these columns.
    operator : str
    recorded : datetime
        Fixed, so that one seed always gives the same bytes.
    turntable_rpm : float
    turntable_pivot : tuple of float, m
        The turntable's axis from the CG, in body axes. All turning is about it where a turntable is among the motions.

    Raises
    ------
    UsageError
        If a number is out of range or a motion is not known.
    """

    rate_hz: float = 100.0
    slop_deg: float = 8.0
    motions: tuple[str, ...] = DEFAULT_MOTIONS
    jitter: float = 0.02
    routine: bool = False
    seen: bool = False
    pulses: bool = True
    unit_attitude: bool = True
    temperature: bool = True
    operator: str = "simulated"
    recorded: datetime = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
    turntable_rpm: float = 100.0 / 3.0
    turntable_pivot: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def __post_init__(self) -> None:
        bounds = (
            ("--rate", self.rate_hz, 20.0, 4000.0, "Hz"),
            ("--slop-deg", self.slop_deg, 0.0, 45.0, "deg"),
            ("jitter", self.jitter, 0.0, 0.2, "of a step"),
            ("--rpm", self.turntable_rpm, 1.0, 200.0, "rpm"),
        )
        problems = [
            Problem(place, f"{value:g} {unit}", f"{low:g} to {high:g} {unit}", act="write another number")
            for place, value, low, high, unit in bounds
            if not low <= value <= high
        ]
        problems += [
            Problem("--motion", f'"{name}" is no motion', f"one of: {', '.join(MOTIONS)}", act="write another word")
            for name in self.motions
            if name not in MOTIONS
        ]
        if not self.motions:
            problems.append(Problem("--motion", "no motion is asked for", act="name at least one"))
        if problems:
            raise UsageError(*problems)
