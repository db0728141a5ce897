"""What a simulated bench is asked to be, faults aside."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from benchrig.errors import Problem, UsageError
from benchrig.geometry.turns import MOTIONS, POSES, REQUIRED_TURNS
from benchrig.simulation.places import Place

_LEAST_HANG_M: Final = 0.005
_FARTHEST_M: Final = 5.0

_FIELD_UT: Final = 49.0
_DIP: Final = math.radians(66.0)
NORTHERN_FIELD_UT: Final = (_FIELD_UT * math.cos(_DIP), 0.0, _FIELD_UT * math.sin(_DIP))
"""A place in middle Europe, where the field dips down: size and dip are rounded, from memory."""
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
    rest_s : float or None
        How long the airframe lies in every ``level`` and every other pose; None for the usual 2 to 3 s.
    jitter : float
        Standard deviation of a sample's time, as a part of the step between samples.
    routine : bool
        Whether the manifest gives the motions' names alone, without times.
    seen : bool
        Whether the manifest says what the operator saw every actuator do.
    pulses, unit_attitude, temperature : bool
        Whether the stream has these columns.
    commands : bool
        Whether the stream has what was commanded of each actuator, beside its pulses.
    operator : str
    recorded : datetime
        Fixed, so that one seed always gives the same bytes.
    turntable_rpm : float
    turntable_rpm_declared, turntable_pivot_declared : bool
        Whether the manifest says them.
    turntable_pivot : tuple of float, m
        The turntable's axis from the CG, in body axes. All turning is about it where a turntable is among the motions,
        but for hangs and swings.
    turntable_tilt_deg : float
        Of the turntable against the horizontal, as a shim makes it; the way it leans is drawn.
    posture : str
        The pose in which the airframe stands on the turntable.
    spin_s : float
        How long the turntable turns, half of its ramps left out.
    hang_point : tuple of float, m
        What the airframe hangs from in a ``hang``, from the CG, in body axes.
    pivot : tuple of float, m
        The fixed point of a ``swing``, from the CG, in body axes.
    link_delay_s : float
        From a lost link to what the receiver then does.
    field_ut : tuple of float, µT
        The earth's field: north, east, down.
    unit_seed : int or None
        Of the unit alone, its errors and how it sits: two benches with the same one are two benches of one unit. None
        for the bench's own seed.

    Raises
    ------
    UsageError
        If a number is out of range or a motion is not known.
    """

    rate_hz: float = 100.0
    slop_deg: float = 8.0
    motions: tuple[str, ...] = DEFAULT_MOTIONS
    rest_s: float | None = None
    jitter: float = 0.02
    routine: bool = False
    seen: bool = False
    pulses: bool = True
    commands: bool = False
    unit_attitude: bool = True
    temperature: bool = True
    operator: str = "simulated"
    recorded: datetime = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
    turntable_rpm: float = 100.0 / 3.0
    turntable_rpm_declared: bool = True
    turntable_pivot: Place = (0.0, 0.0, 0.0)
    turntable_pivot_declared: bool = True
    turntable_tilt_deg: float = 0.3
    posture: str = "level"
    spin_s: float = 10.0
    hang_point: Place = (0.0, 0.0, -0.12)
    pivot: Place = (0.0, 0.0, -0.12)
    link_delay_s: float = 0.5
    field_ut: tuple[float, float, float] = NORTHERN_FIELD_UT
    unit_seed: int | None = None

    def __post_init__(self) -> None:
        problems = [*_out_of_range(self), *_unknown_words(self), *_bad_places(self)]
        if problems:
            raise UsageError(*problems)

    @property
    def on_turntable(self) -> bool:
        """Whether a turntable is among the motions."""
        return any(name.startswith("turntable") for name in self.motions)


def _out_of_range(options: Options) -> list[Problem]:
    bounds = (
        ("--rate", options.rate_hz, 20.0, 4000.0, "Hz"),
        ("--slop-deg", options.slop_deg, 0.0, 45.0, "deg"),
        ("--rest-s", 3.0 if options.rest_s is None else options.rest_s, 1.0, 36000.0, "s"),
        ("jitter", options.jitter, 0.0, 0.2, "of a step"),
        ("--rpm", options.turntable_rpm, 1.0, 200.0, "rpm"),
        ("--turntable-tilt-deg", options.turntable_tilt_deg, 0.0, 20.0, "deg"),
        ("--spin-s", options.spin_s, 1.0, 600.0, "s"),
        ("--link-delay-s", options.link_delay_s, 0.0, 60.0, "s"),
        ("--field-ut", math.hypot(*options.field_ut), 1.0, 1000.0, "uT"),
    )
    return [
        Problem(place, f"{value:g} {unit}", f"{low:g} to {high:g} {unit}", act="write another number")
        for place, value, low, high, unit in bounds
        if not low <= value <= high
    ]


def _unknown_words(options: Options) -> list[Problem]:
    problems = [
        Problem("--motion", f'"{name}" is no motion', f"one of: {', '.join(MOTIONS)}", act="write another word")
        for name in options.motions
        if name not in MOTIONS
    ]
    if not options.motions:
        problems.append(Problem("--motion", "no motion is asked for", act="name at least one"))
    if options.posture not in POSES:
        finding = f'"{options.posture}" is no pose'
        problems.append(Problem("--posture", finding, f"one of: {', '.join(POSES)}", act="write another word"))
    return problems


def _bad_places(options: Options) -> list[Problem]:
    places = (
        ("--turntable-pivot-mm", options.turntable_pivot, 0.0),
        ("--swing-pivot-mm", options.pivot, 0.0),
        # what hangs from its own centre of gravity hangs anyhow
        ("--hang-point-mm", options.hang_point, _LEAST_HANG_M),
    )
    problems = []
    for flag, place, least in places:
        distance = math.hypot(*place)
        if not least <= distance <= _FARTHEST_M:
            finding = f"{1e3 * distance:g} mm from the centre of gravity"
            expected = f"{1e3 * least:g} to {1e3 * _FARTHEST_M:g} mm"
            problems.append(Problem(flag, finding, expected, act="name another point"))
    return problems
