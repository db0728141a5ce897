"""What hangs and weighings have in common on a worksheet: places, and how the airframe stood."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Final

import numpy as np

from benchrig.declaration.airframe_tables import PositionTable
from benchrig.declaration.mounting import read_position
from benchrig.declaration.quotation import listed, nearest, quote
from benchrig.declaration.table_faults import Faults, Keys
from benchrig.measure.cg.worksheet import Angles, Spot
from benchrig.measure.cg.worksheet_form import StandTable

DEGREES: Final = float(np.radians(1.0))

STEEPEST_ALONE: Final = 60.0
"""Degrees: further up or down, even a small lean across that nobody measured spoils an inclinometer's slope."""

LARGEST_GAIN: Final = 3.0
"""By which two slopes may enlarge their errors, as they do where the airframe's own down lies nearly level."""

_FLATTEST: Final = 90.0
_ROUNDING: Final = 1e-9
_PAIRS: Final = (("nose_down_deg", "nose_up_deg"), ("right_down_deg", "left_down_deg"))
_HAND_KEYS: Final = ("angles_by", "way_up", *(key for pair in _PAIRS for key in pair))


def read_spot(
    table: PositionTable, origin: str | None, keys: Keys, names: Collection[str], faults: Faults
) -> Spot | None:
    """Read a place and the point it was measured from, or note what is wrong with it."""
    offset = read_position(table, keys, faults)
    if origin is not None and origin not in names:
        _note_origin(origin, (*keys[:-1], "measured_from"), names, faults)
        return None
    return None if offset is None else Spot(offset, origin)


def _note_origin(origin: str, keys: Keys, names: Collection[str], faults: Faults) -> None:
    finding = f"{faults.named(keys)} = {quote(origin)} is no [[point]] above it"
    meant = nearest(origin, names)
    act = "leave measured_from out for the reference; for another point, write a [[point]] of that name first"
    faults.add(keys, finding, listed(names) if names else "a [[point]]", f'a misspelt "{meant}"' if meant else "", act)


def says_angles(table: StandTable) -> bool:
    """Say whether any key about angles taken by hand is there."""
    return any(getattr(table, key) is not None for key in _HAND_KEYS)


def read_angles(table: StandTable, keys: Keys, faults: Faults) -> Angles | None:
    """Read how the airframe hung or stood, or note what is wrong with it."""
    known = len(faults.found)
    for one, other in _PAIRS:
        if getattr(table, one) is not None and getattr(table, other) is not None:
            finding = f"{faults.named(keys)} has {one} and {other}"
            faults.add((*keys, other), finding, "one of the two", "both ends of one angle", "keep the one that holds")
    nose, across = (_signed(table, *pair) for pair in _PAIRS)
    if nose is None:
        act = "add nose_down_deg or nose_up_deg; of a level airframe it is 0"
        faults.add(keys, f"{faults.named(keys)} does not say how far its nose was down or up", act=act)
    if table.angles_by is None:
        act = 'add angles_by = "pictures" or "inclinometer": past a few degrees across they differ'
        faults.add(keys, f"{faults.named(keys)} does not say how its angles were measured", act=act)
    if nose is None or table.angles_by is None or len(faults.found) > known:
        return None
    angles = Angles(nose * DEGREES, None if across is None else across * DEGREES, table.angles_by)
    if table.angles_by == "inclinometer":
        return _by_inclinometer(angles, table, keys, faults)
    if table.way_up is not None:
        finding = f"{faults.named(keys)} has way_up beside angles from pictures"
        act = "leave it out: an angle over 90° says that the airframe hung upside down"
        faults.add((*keys, "way_up"), finding, 'way_up beside angles_by = "inclinometer" only', act=act)
        return None
    return angles


def _by_inclinometer(angles: Angles, table: StandTable, keys: Keys, faults: Faults) -> Angles | None:
    """Take two slopes, if they can be those of one airframe and tell well enough how it hung."""
    key = "nose_down_deg" if table.nose_down_deg is not None else "nose_up_deg"
    steep = float(np.degrees(abs(angles.nose)))
    if steep > _FLATTEST:
        finding = f"{faults.named((*keys, key))} = {steep:g}"
        act = 'give the slope, and way_up = "upside down" if it hung so'
        faults.add((*keys, key), finding, "at most 90: an inclinometer reads slopes", "an angle from a picture", act)
        return None
    if angles.across is None:
        if steep > STEEPEST_ALONE:
            finding = f"{faults.named((*keys, key))} = {steep:g} stands alone"
            act = "measure across as well, and write right_down_deg or left_down_deg; or take pictures"
            faults.add((*keys, key), finding, f"at most {STEEPEST_ALONE:g} without a slope across", act=act)
            return None
    elif not _tells(angles.nose, angles.across):
        both = f"nose {steep:g}° and side {np.degrees(abs(angles.across)):g}° from the horizontal"
        cause = "both cannot be so steep at once, or the airframe's own down lay nearly level"
        act = 'measure both again; or take pictures from the side: angles_by = "pictures"'
        faults.add(keys, f"{faults.named(keys)}: {both}", "slopes that tell how it hung", cause, act)
        return None
    return replace(angles, upside_down=table.way_up == "upside down")


def _tells(nose: float, across: float) -> bool:
    """Say whether an error of a slope stays within `LARGEST_GAIN` of itself in the direction down."""
    height = np.sqrt(max(1.0 - np.sin(nose) ** 2 - np.sin(across) ** 2, 0.0))
    return bool(np.hypot(np.sin(2 * nose), np.sin(2 * across)) / 2 <= LARGEST_GAIN * height + _ROUNDING)


def _signed(table: StandTable, positive: str, negative: str) -> float | None:
    if getattr(table, positive) is not None:
        return float(getattr(table, positive))
    value = getattr(table, negative)
    return None if value is None else -float(value)
