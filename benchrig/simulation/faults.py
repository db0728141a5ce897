"""The mistakes chosen for a simulated bench: read from text, and asked by name."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from benchrig.declaration.airframe import Airframe
from benchrig.errors import Problem, UsageError
from benchrig.geometry.directions import DIRECTIONS
from benchrig.geometry.turns import AXIS_NAMES
from benchrig.simulation.fault_list import FAULTS, HAND_TURNS, FaultKind, Number

_LINE_HZ: Final = Number(0, 0.5, 5000, "Hz")
_LINE_G: Final = Number(0, 0, 50, "g")
_OF_A_MAGNETOMETER: Final = ("magnetometer-", "iron")


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
        "line": f"{_LINE_HZ.low:g} to {_LINE_HZ.high:g} Hz and {_LINE_G.low:g} to {_LINE_G.high:g} g, such as 80,0.2",
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
    if kind.value == "line":
        return "=HZ,G"
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
    if name.startswith(_OF_A_MAGNETOMETER) and airframe.magnetometer is None:
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
        "line": len(parts) == 2 and not _number_misfit(_LINE_HZ, parts[0]) and not _number_misfit(_LINE_G, parts[-1]),  # noqa: PLR2004 - its frequency and its size
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


def refuse_idle(faults: Faults, motions: tuple[str, ...]) -> None:
    """Refuse faults that would change nothing because the motion they are about is not made.

    Raises
    ------
    UsageError
        If there is one, or if no motion is left.
    """
    problems = []
    for fault in faults.chosen:
        kind = FAULTS[fault.name]
        if kind.value == "motion" and fault.value not in motions:
            finding = f'"{fault.value}" is not among the motions'
            problems.append(Problem(f"--fault {fault}", finding, act="ask for it with --motion"))
        elif kind.needs and not set(kind.needs) & set(motions):
            finding = "could not show in any of these motions"
            expected = f"one of: {', '.join(kind.needs)}"
            problems.append(Problem(f"--fault {fault}", finding, expected, act="ask for one with --motion"))
    if set(motions) <= set(faults.values("motion-missing")):
        problems.append(Problem("--fault motion-missing", "no motion is left", act="leave at least one"))
    if problems:
        raise UsageError(*problems)
