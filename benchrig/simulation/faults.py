"""The mistakes that can be put into a simulated bench, by name, each with one line of text."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from benchrig.declaration.airframe import Airframe
from benchrig.errors import Problem, UsageError
from benchrig.geometry.directions import DIRECTIONS
from benchrig.geometry.turns import AXIS_NAMES, TURNS

HAND_TURNS: Final = tuple(word for word in TURNS if not word.startswith("turntable"))
MAGNETOMETER: Final = "magnetometer-"


@dataclass(frozen=True, slots=True)
class Number:
    """A value that is a number: the one taken when none is written, and the range allowed."""

    default: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class FaultKind:
    """One mistake: what it is, and what may stand behind ``NAME=``.

    Attributes
    ----------
    text : str
    value : Number or str
        ``axes`` (of x, y, z), ``two axes``, ``words`` (of direction), ``body axis``, ``motion``, ``actuator``,
        ``two actuators``, or ``none``.
    """

    text: str
    value: Number | str


FAULTS: Final[Mapping[str, FaultKind]] = {
    # how the sensor sits and is wired
    "mounting": FaultKind("the unit's x, y, z really point along these words, such as forward,right,down", "words"),
    "misaligned": FaultKind(
        "the unit is turned about the vertical against its declared mounting", Number(15, -60, 60, "deg")
    ),
    "lever": FaultKind("the unit sits this much further forward than declared", Number(100, -2000, 2000, "mm")),
    "gyro-sign": FaultKind("these axes of the gyro have the wrong sign", "axes"),
    "gyro-swap": FaultKind("two axes of the gyro are swapped", "two axes"),
    "accelerometer-sign": FaultKind("these axes of the accelerometer have the wrong sign", "axes"),
    "accelerometer-swap": FaultKind("two axes of the accelerometer are swapped", "two axes"),
    "accelerometer-gravity": FaultKind("the accelerometer reads the negative of what is declared", "none"),
    "both-sign": FaultKind("these axes of gyro and accelerometer alike have the wrong sign: a left-handed set", "axes"),
    "both-swap": FaultKind("two axes of gyro and accelerometer alike are swapped: a left-handed set", "two axes"),
    "magnetometer-sign": FaultKind("these axes of the compass have the wrong sign", "axes"),
    "magnetometer-mounting": FaultKind("the compass's x, y, z really point along these words", "words"),
    # size, units and channels
    "gyro-scale": FaultKind("the gyro reads this many times the rate", Number(2, 0.05, 20, "")),
    "gyro-radians": FaultKind("the columns declared deg/s hold rad/s", "none"),
    "gyro-degrees": FaultKind("the columns declared rad/s hold deg/s", "none"),
    "gyro-bias": FaultKind("every axis of the gyro is off by this much", Number(25, -200, 200, "deg/s")),
    "accelerometer-scale": FaultKind("the accelerometer reads this many times the force", Number(2, 0.05, 20, "")),
    "accelerometer-m-s2": FaultKind("the columns declared g hold m/s²", "none"),
    "accelerometer-bias": FaultKind(
        "every axis of the accelerometer is off by this much", Number(200, -2000, 2000, "mg")
    ),
    "gyro-dead": FaultKind("these axes of the gyro read nothing but zero", "axes"),
    "gyro-frozen": FaultKind("these axes of the gyro hold their first value", "axes"),
    "accelerometer-dead": FaultKind("these axes of the accelerometer read nothing but zero", "axes"),
    "accelerometer-frozen": FaultKind("these axes of the accelerometer hold their first value", "axes"),
    "frozen-stream": FaultKind("from here on every column but the time holds its value", Number(10, 0, 3600, "s")),
    "gyro-clip": FaultKind("the gyro's range ends here", Number(40, 1, 4000, "deg/s")),
    "accelerometer-clip": FaultKind("the accelerometer's range ends here", Number(1, 0.1, 50, "g")),
    "noise": FaultKind("the sensors are this many times as noisy", Number(10, 0, 1000, "")),
    # time
    "gaps": FaultKind("this many stretches of 0.2 s are missing, each inside a move", Number(3, 1, 50, "")),
    "accelerometer-late": FaultKind(
        "the accelerometer comes this much later than the gyro", Number(60, -500, 500, "ms")
    ),
    "clock": FaultKind("the time column runs at this many times the true speed", Number(0.8, 0.2, 5, "")),
    "time-backwards": FaultKind("one row is stamped earlier than the row before it", "none"),
    # the operator
    "operator-wrong": FaultKind("this motion was made the other way round", "motion"),
    "operator-wrong-pair": FaultKind("both motions about this axis were made the other way round", "body axis"),
    "operator-other": FaultKind("another motion was made in place of this one", "motion"),
    "operator-reversed": FaultKind("the nose was taken for the tail: every tilt is reversed", "none"),
    "operator-nose": FaultKind(
        "the nose was thought to be this far clockwise of where it is", Number(25, -180, 180, "deg")
    ),
    "motion-missing": FaultKind("this motion was neither asked for nor made", "motion"),
    "unlevel-start": FaultKind("the bench is tilted by this much", Number(8, 0, 60, "deg")),
    "no-rest": FaultKind("the moves follow one another without a rest or a hold", "none"),
    "hand-rests": FaultKind("the airframe is never put down between the motions", "none"),
    "short-tilts": FaultKind("every motion is only about this large", Number(12, 1, 90, "deg")),
    "too-slow": FaultKind("every move takes this long", Number(8, 0.1, 60, "s")),
    "shaky": FaultKind("the hand shakes this many times as much", Number(5, 0, 50, "")),
    "prompts-late": FaultKind("the prompts are stamped late by this much", Number(0.5, -2, 2, "s")),
    # what answers
    "servo-reversed": FaultKind("this actuator moves the wrong way", "actuator"),
    "servo-still": FaultKind("this actuator never moves", "actuator"),
    "servo-weak": FaultKind("this actuator moves by a fiftieth of what it should", "actuator"),
    "servos-swapped": FaultKind("these two are plugged in each other's place", "two actuators"),
    "servos-late": FaultKind("the pulses answer after this long", Number(150, 0, 2000, "ms")),
    "servo-stops": FaultKind("the pulses end this far from the centre", Number(15, 1, 1000, "us")),
    "axis-reversed": FaultKind("the unit corrects the wrong way about this axis", "body axis"),
    "hold-reversed": FaultKind(
        "the part that answers the angle (not the rate) is reversed about this axis", "body axis"
    ),
    "plate-turned": FaultKind("the unit mixes for a plate turned clockwise by this much", Number(30, -180, 180, "deg")),
    "linkage-reversed": FaultKind("right pulses, but the linkage turns them round: only `seen` shows it", "actuator"),
    "unit-attitude-sign": FaultKind(
        "the unit reports its own attitude about this axis with the wrong sign", "body axis"
    ),
}
"""Every fault; `benchrig simulate --list-faults` prints this."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A chosen fault; `value` is empty, a number, or words parted by commas, as `FAULTS` says."""

    name: str
    value: str = ""

    def __str__(self) -> str:
        """Write it as on the command line."""
        return f"{self.name}={self.value}" if self.value else self.name


@dataclass(frozen=True, slots=True)
class Faults:
    """The chosen faults, asked by name."""

    chosen: tuple[Fault, ...]

    def has(self, name: str) -> bool:
        """Tell whether the fault `name` was chosen."""
        return any(fault.name == name for fault in self.chosen)

    def values(self, name: str) -> tuple[str, ...]:
        """Give the values of every fault of this name."""
        return tuple(fault.value for fault in self.chosen if fault.name == name)

    def number(self, name: str, otherwise: float) -> float:
        """Give the last number chosen for `name`, or `otherwise` where the fault was not chosen."""
        values = self.values(name)
        return float(values[-1]) if values else otherwise


def allowed(kind: FaultKind, airframe: Airframe) -> str:
    """Say in words what may stand behind ``NAME=`` for this airframe."""
    if isinstance(kind.value, Number):
        number = kind.value
        return f"a number from {number.low:g} to {number.high:g} {number.unit}".rstrip()
    names = ", ".join(f'"{a.name}"' for a in airframe.actuators) or "(this airframe declares none)"
    return {
        "axes": "one or more of the sensor's axes: x, y, z, xy, xyz …",
        "two axes": "two of the sensor's axes: xy, xz or yz",
        "words": f"two or three direction words for x, y (and z): {', '.join(DIRECTIONS)}",
        "body axis": "roll, pitch or yaw",
        "motion": f"one of: {', '.join(HAND_TURNS)}",
        "actuator": f"an actuator of the airframe: {names}",
        "two actuators": f"two actuators of the airframe, parted by a comma: {names}",
        "none": "no value",
    }[kind.value]


def usual_value(kind: FaultKind) -> str:
    """Show in brief what follows a fault's name, such as ``=2`` or ``=MOTION``; empty where nothing does.

    Examples
    --------
    >>> usual_value(FAULTS["gyro-scale"]), usual_value(FAULTS["gyro-sign"])
    ('[=2]', '=AXES')
    """
    if isinstance(kind.value, Number):
        return f"[={kind.value.default:g}{' ' if kind.value.unit else ''}{kind.value.unit}]"
    return "" if kind.value == "none" else f"={kind.value.upper().replace(' ', '-')}"


def parse_faults(texts: Iterable[str], airframe: Airframe) -> tuple[Fault, ...]:
    """Read faults as they stand on the command line: ``NAME`` or ``NAME=VALUE``.

    Raises
    ------
    UsageError
        With every fault that is not known, or whose value does not fit the airframe.
    """
    faults, problems = [], []
    for text in texts:
        name, _, value = (part.strip() for part in text.partition("="))
        kind = FAULTS.get(name)
        if kind is None:
            near = difflib.get_close_matches(name, FAULTS, n=1)
            hint = f"did you mean {near[0]}? " if near else ""
            act = f"{hint}`benchrig simulate --list-faults` lists them all"
            problems.append(Problem(f"--fault {text}", f'there is no fault "{name}"', act=act))
            continue
        if isinstance(kind.value, Number) and not value:
            value = f"{kind.value.default:g}"
        finding = _misfit(name, kind, value, airframe)
        if finding:
            problems.append(Problem(f"--fault {text}", finding, allowed(kind, airframe), act="write another value"))
        faults.append(Fault(name, value))
    if problems:
        raise UsageError(*problems)
    return tuple(faults)


def _misfit(name: str, kind: FaultKind, value: str, airframe: Airframe) -> str:
    """Say what is wrong with a value, or give an empty string."""
    if name.startswith(MAGNETOMETER) and airframe.magnetometer is None:
        return "the airframe declares no magnetometer"
    if isinstance(kind.value, Number):
        return _number_misfit(kind.value, value)
    parts = [part.strip() for part in value.split(",")]
    fits = {
        "axes": bool(value) and set(value) <= set("xyz") and len(set(value)) == len(value),
        "two axes": len(value) == len(set(value)) == 2 and set(value) <= set("xyz"),  # noqa: PLR2004 - two are swapped
        "words": _are_mounting_words(parts),
        "body axis": value in AXIS_NAMES,
        "motion": value in HAND_TURNS,
        "actuator": value in {a.name for a in airframe.actuators},
        "two actuators": len(set(parts)) == 2 and set(parts) <= {a.name for a in airframe.actuators},  # noqa: PLR2004 - the same
        "none": not value,
    }[kind.value]
    return "" if fits else f'the value "{value}" does not fit'


def _number_misfit(number: Number, value: str) -> str:
    try:
        read = float(value)
    except ValueError:
        return f'"{value}" is no number'
    return "" if number.low <= read <= number.high else f"{value} is out of range"


def _are_mounting_words(words: list[str]) -> bool:
    """Tell whether two or three words name axes that are square to one another (a left-handed set is allowed)."""
    known = all(word in DIRECTIONS for word in words)
    return known and len(words) in (2, 3) and len({DIRECTIONS[word][0] for word in words}) == len(words)
