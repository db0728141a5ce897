"""From an ``[[actuator]]`` table to what the actuator does to the airframe."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any, Final

import numpy as np

from benchrig.declaration.actuators import (
    DRIVES,
    DRIVES_OF_KIND,
    PLATE_WORDS,
    ROTOR_WORDS,
    SURFACES,
    TAIL_WORDS,
    Actuator,
    plate_effect,
    rotor_effect,
    scaled,
    surface_effect,
    tail_effect,
)
from benchrig.declaration.airframe import Rotor
from benchrig.declaration.airframe_tables import (
    ActuatorTable,
    EffectTable,
    LiftTable,
    MovingTable,
    OtherTable,
    PlateTable,
    actuator_table,
)
from benchrig.declaration.mounting import read_position
from benchrig.declaration.table_faults import Faults, Keys, read_table
from benchrig.geometry.directions import Vector

OTHER_WORDS: Final = ("as declared", "opposite")
"""How the ways of ``drives = "other"`` are called: its `effect`, as a longer pulse does it, and the reverse."""

LONGER_PULSE_WORDS: Final[Mapping[str, tuple[str, ...]]] = {**DRIVES, "rotor": ("more thrust",)}
"""The words that a longer pulse may be declared by. A motor gives more thrust with it, or is declared by its effect."""

_SIGNS: Final = {"right": 1.0, "up": 1.0, "left": -1.0, "down": -1.0, "none": 0.0}
_NOTHING: Final = 1e-9
_ROTOR_NEEDED: Final = "a table [rotor] with turns"
_PULSES: Final = ("centre_us", "lowest_us", "highest_us")
_USUAL: Final = (*_PULSES, "name", "drives", "longer_pulse", "azimuth_deg", "position_mm", "turns", "effect")


def read_actuator(
    data: dict[str, Any], keys: Keys, kind: str | None, rotor: Rotor | None, faults: Faults
) -> Actuator | None:
    """Read one actuator, or note what is wrong with it.

    Parameters
    ----------
    data : dict
    keys : tuple
        Where it stands in the file.
    kind : str or None
        The airframe's kind, where it is known.
    rotor : Rotor or None
        The main rotor, where it is declared.
    faults : Faults
    """
    drives = data.get("drives")
    if not isinstance(drives, str) or drives not in DRIVES:
        _note_drives(data, keys, kind, faults)
        return None
    if kind is not None and drives not in DRIVES_OF_KIND[kind]:
        article = "an" if kind[0] in "aeiou" else "a"
        finding = f'{faults.named(keys)} drives "{drives}", which {article} {kind} does not have'
        known = ", ".join(f'"{word}"' for word in DRIVES_OF_KIND[kind])
        faults.add((*keys, "drives"), finding, known, "kind or drives is wrong", 'for a mixed airframe, kind = "other"')
        return None
    table = read_table(data, actuator_table(drives), keys, faults)
    return None if table is None else _built(table, keys, rotor, faults)


def _note_drives(data: dict[str, Any], keys: Keys, kind: str | None, faults: Faults) -> None:
    """Without knowing what it drives, only the keys that no actuator has can be told."""
    for key in data:
        if key not in _USUAL:
            faults.add_key((*keys, key), _USUAL)
    drives = data.get("drives")
    allowed = DRIVES_OF_KIND[kind] if kind else tuple(DRIVES)
    if isinstance(drives, str):
        faults.add_word((*keys, "drives"), drives, allowed)
    elif drives is None:
        faults.add_missing(keys, "drives")
    else:
        read_table({"name": "", "drives": drives}, ActuatorTable, keys, faults)


def _built(table: ActuatorTable, keys: Keys, rotor: Rotor | None, faults: Faults) -> Actuator | None:
    word = table.longer_pulse if isinstance(table, MovingTable) else ""
    if isinstance(table, MovingTable) and word not in LONGER_PULSE_WORDS[table.drives]:
        faults.add_word((*keys, "longer_pulse"), word, LONGER_PULSE_WORDS[table.drives])
        return None
    _check_ends(table, keys, faults)
    where = read_position(table.position_mm, (*keys, "position_mm"), faults) if isinstance(table, LiftTable) else None
    moves = _moves(table, where, rotor, keys, faults)
    if moves is None:
        return None
    for move in moves.values():
        move.flags.writeable = False
    return Actuator(
        name=table.name,
        drives=table.drives,
        longer_pulse=word,
        effect=moves[word or OTHER_WORDS[0]],
        centre=_seconds(table.centre_us),
        azimuth=float(np.radians(table.azimuth_deg)) if isinstance(table, PlateTable) else None,
        position=where,
        turns=table.turns if isinstance(table, LiftTable) else None,
        moves=moves,
        lowest=_seconds(table.lowest_us),
        highest=_seconds(table.highest_us),
    )


def _seconds(pulse_us: float | None) -> float | None:
    return None if pulse_us is None else pulse_us / 1e6


def _check_ends(table: ActuatorTable, keys: Keys, faults: Faults) -> None:
    """Note ends of travel that are out of order: lowest, centre, highest."""
    given = [(key, getattr(table, key)) for key in ("lowest_us", "centre_us", "highest_us")]
    known = [(key, value) for key, value in given if value is not None]
    for (low, small), (high, large) in pairwise(known):
        if small >= large:
            finding = f"{faults.named(keys)} has {low} = {small:g} and {high} = {large:g}"
            faults.add((*keys, high), finding, f"{low} below {high}", "the two are exchanged", "correct them")


def _moves(
    table: ActuatorTable, where: Vector | None, rotor: Rotor | None, keys: Keys, faults: Faults
) -> dict[str, Vector] | None:
    """Give every way the actuator moves with its effect; None where the file does not tell."""
    if isinstance(table, OtherTable):
        return _both_ways(_declared(table.effect, keys, faults), OTHER_WORDS)
    if isinstance(table, LiftTable):
        return _both_ways(None if where is None else rotor_effect(where, table.turns), ROTOR_WORDS)
    if isinstance(table, PlateTable):
        if rotor is None:
            _note_rotor(keys, f"{faults.named(keys)} drives the swashplate", faults)
            return None
        azimuth = float(np.radians(table.azimuth_deg))
        return _both_ways(plate_effect(azimuth, rotor.plate_lead, rotor.turns), PLATE_WORDS)
    if table.drives in SURFACES:
        return {way: _tidy(surface_effect(table.drives, way)) for way in DRIVES[table.drives]}
    longer_pulse = table.longer_pulse if isinstance(table, MovingTable) else ""
    return _tail_moves(longer_pulse, rotor, keys, faults)


def _tail_moves(longer_pulse: str, rotor: Rotor | None, keys: Keys, faults: Faults) -> dict[str, Vector] | None:
    words = [word for word in TAIL_WORDS if rotor is not None or word.startswith("nose")]
    if longer_pulse not in words:
        _note_rotor((*keys, "longer_pulse"), f'{faults.named(keys)} says "{longer_pulse}"', faults)
        return None
    # without the main rotor's sense the words about the nose need none
    return {word: _tidy(tail_effect(word, rotor.turns if rotor else "clockwise")) for word in words}


def _note_rotor(keys: Keys, finding: str, faults: Faults) -> None:
    """Note that the main rotor is missing: once, and not where a [rotor] is there and has been found wrong."""
    noted = any(problem.expectation == _ROTOR_NEEDED for _, problem in faults.found)
    if not noted and "rotor" not in faults.file.data:
        cause, act = (
            "the main rotor's sense decides which way this acts",
            'add [rotor] with turns = "clockwise" or "counter-clockwise", as seen from above',
        )
        faults.add(keys, f"{finding}, but there is no [rotor]", _ROTOR_NEEDED, cause, act)


def _both_ways(effect: Vector | None, words: tuple[str, str]) -> dict[str, Vector] | None:
    return None if effect is None else {words[0]: _tidy(effect), words[1]: _tidy(-effect)}


def _tidy(effect: Vector) -> Vector:
    """Scale, and make exactly zero what is zero but for rounding: an actuator must stay still there."""
    whole = scaled(effect)
    result: Vector = np.where(np.abs(whole) < _NOTHING, 0.0, whole)
    return result


def _declared(effect: EffectTable, keys: Keys, faults: Faults) -> Vector | None:
    words = (effect.roll, effect.pitch, effect.yaw)
    if all(word == "none" for word in words):
        finding = f"{faults.named((*keys, 'effect'))} turns the airframe about no axis"
        act = "say what a longer pulse does, or leave the actuator out"
        faults.add((*keys, "effect"), finding, 'at least one of roll, pitch and yaw other than "none"', act=act)
        return None
    return np.array([_SIGNS[word.removeprefix("nose ")] for word in words])
