"""What is checked across the actuators of an airframe file: names, places, and whether they can control it at all."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe_tables import LONGEST_NAME
from benchrig.declaration.quotation import escape
from benchrig.declaration.table_faults import Faults, Keys

_SAME_ANGLE: Final = np.radians(1.0)
_SAME_PLACE: Final = 1e-3
_RANK_TOLERANCE: Final = 1e-6
_ROTORS_FOR_CONTROL: Final = 4

Placed = tuple[Keys, Actuator]


def check_name(name: str, keys: Keys, faults: Faults) -> None:
    """Note a name that a report could not show, or that a column could not bear."""
    shown = faults.named(keys)
    if not name.strip():
        faults.add(keys, f"{shown} is empty", "a name")
    elif len(name) > LONGEST_NAME:
        faults.add(keys, f"{shown} has {len(name)} characters", f"at most {LONGEST_NAME}")
    elif not name.isprintable():
        cause = "a line break, a tab or an invisible sign in it"
        faults.add(keys, f'{shown} = "{escape(name)}" does not print', "letters, digits, blanks and signs", cause)
    elif name != name.strip():
        faults.add(keys, f'{shown} = "{name}" begins or ends with a blank', f'"{name.strip()}"')


def check_unique(names: Sequence[tuple[Keys, str]], faults: Faults) -> None:
    """Note names that differ by capitals at most: the columns of a capture are found by them."""
    first: dict[str, Keys] = {}
    for keys, name in names:
        folded = name.strip().casefold()
        if folded and folded in first:
            line = faults.file.place(*first[folded])
            faults.add(keys, f'a second actuator is called "{escape(name)}" (the first: {line})', act="give it another")
        first.setdefault(folded, keys)


def check_control(placed: Sequence[Placed], kind: str, faults: Faults) -> None:
    """Note sets of actuators that cannot control the airframe, which shows that one of them is declared wrongly."""
    _check_azimuths(placed, faults)
    _check_places(placed, faults)
    plates = [entry for entry in placed if entry[1].drives == "swashplate"]
    roll_and_pitch = np.array([actuator.effect[:2] for _, actuator in placed])
    if len(plates) > 1 and _rank(roll_and_pitch) < 2:  # noqa: PLR2004 - roll and pitch
        cause = "an azimuth is wrong, or a servo is left out"
        finding = "the servos of the swashplate lie on one line through the shaft, so they tilt it one way only"
        faults.add(plates[-1][0], finding, "servos that tilt the plate both ways", cause, "check each azimuth_deg")
    if kind == "multirotor":
        _check_lift(placed, faults)


def _check_azimuths(placed: Sequence[Placed], faults: Faults) -> None:
    seen: list[tuple[float, str]] = []
    for keys, actuator in placed:
        if actuator.azimuth is None:
            continue
        for azimuth, name in seen:
            if abs(np.angle(np.exp(1j * (azimuth - actuator.azimuth)))) < _SAME_ANGLE:
                finding = f'"{escape(actuator.name)}" moves the plate at the same azimuth as "{name}"'
                faults.add((*keys, "azimuth_deg"), finding, "an azimuth of its own", "a copied table", "correct it")
        seen.append((actuator.azimuth, escape(actuator.name)))


def _check_places(placed: Sequence[Placed], faults: Faults) -> None:
    seen: list[Actuator] = []
    for keys, actuator in placed:
        if actuator.position is None:
            continue
        for other in seen:
            near = other.position is not None and np.abs(other.position - actuator.position).max() < _SAME_PLACE
            if near and other.turns == actuator.turns:
                finding = f'"{escape(actuator.name)}" has the place and the sense of "{escape(other.name)}"'
                act = "correct position_mm; of two rotors on one axis, give both heights"
                faults.add((*keys, "position_mm"), finding, "a place of its own", "a copied table", act)
        seen.append(actuator)


def _check_lift(placed: Sequence[Placed], faults: Faults) -> None:
    """Four rotors or more and nothing else have to command thrust, roll, pitch and yaw, each by itself."""
    if len(placed) < _ROTORS_FOR_CONTROL or any(actuator.drives != "rotor" for _, actuator in placed):
        return
    commands = np.array([[1.0, *actuator.effect] for _, actuator in placed])
    if _rank(commands) < commands.shape[1]:
        finding = "the rotors cannot command roll, pitch and yaw each by itself"
        cause = "turns or position_mm of one rotor is wrong"
        act = "look at each rotor from above; on four arms, neighbours turn opposite ways"
        faults.add(placed[-1][0], finding, "rotors of both senses, spread over all sides", cause, act)


def _rank(matrix: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> int:
    return int(np.linalg.matrix_rank(matrix, tol=_RANK_TOLERANCE))
