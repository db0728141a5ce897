"""From a ``[[hang]]`` table to where the airframe hung and what was read there."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import PurePosixPath
from typing import Any, Final

import numpy as np

from benchrig.capture.reader import read_capture
from benchrig.capture.recording import Prompt, Recording
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.airframe_checks import check_name
from benchrig.declaration.mounting import read_position
from benchrig.declaration.quotation import escape, listed, quote
from benchrig.declaration.table_faults import Faults, Keys, read_table
from benchrig.measure.cg.worksheet import Angles, Hang, Hung, Mark, Spot
from benchrig.measure.cg.worksheet_form import HangTable
from benchrig.measure.cg.worksheet_parts import read_angles, read_spot, says_angles

HANG: Final = "hang"
"""The word of a manifest for what was done."""

NEAREST_MARK: Final = 0.030
"""m: a mark nearer to the point than this shows the plumb line's direction badly."""

_WAYS: Final = "its angles, plumb_mark_mm or capture"


def read_hang(
    data: dict[str, Any], keys: Keys, names: Collection[str], airframe: Airframe, faults: Faults
) -> Hang | None:
    """Read one hang, or note what is wrong with it.

    Parameters
    ----------
    data : dict
    keys : tuple
        Where it stands in the file.
    names : collection of str
        Of the points to measure from.
    airframe : Airframe
        For the captures that it names.
    faults : Faults
    """
    table = read_table(data, HangTable, keys, faults)
    if table is None:
        return None
    check_name(table.name, (*keys, "name"), faults)
    spot = read_spot(table.point_mm, table.measured_from, (*keys, "point_mm"), names, faults)
    reading = _reading(table, spot, keys, airframe, faults)
    if spot is None or reading is None:
        return None
    return Hang(table.name, spot, reading, faults.file.place(*keys))


def _reading(
    table: HangTable, spot: Spot | None, keys: Keys, airframe: Airframe, faults: Faults
) -> Angles | Mark | Hung | None:
    ways = [table.plumb_mark_mm is not None, table.capture is not None, says_angles(table)]
    if sum(ways) > 1:
        cause = "one hang was measured twice"
        act = "keep one; or make it two hangs from one point"
        faults.add(keys, f"{faults.named(keys)} gives more than one of {_WAYS}", "one of them", cause, act)
        return None
    if table.label is not None and table.capture is None:
        faults.add((*keys, "label"), f"{faults.named(keys)} has label and no capture", act="name the capture it is in")
    if table.plumb_mark_mm is not None:
        return _mark(table, spot, keys, faults)
    if table.capture is not None:
        return _hung(table.capture, table.label, keys, airframe, faults)
    if says_angles(table):
        return read_angles(table, keys, faults)
    if not set(faults.file.data["hang"][keys[1]]) - HangTable.model_fields.keys():
        faults.add(keys, f"{faults.named(keys)} does not say where the vertical lay", _WAYS)
    return None


def _mark(table: HangTable, spot: Spot | None, keys: Keys, faults: Faults) -> Mark | None:
    keys = (*keys, "plumb_mark_mm")
    if table.plumb_mark_mm is None or spot is None:
        return None
    offset = read_position(table.plumb_mark_mm, keys, faults)
    if offset is None:
        return None
    across = table.plumb_mark_mm.right is not None or table.plumb_mark_mm.left is not None
    apart = offset - spot.offset if across else (offset - spot.offset)[[0, 2]]
    if np.linalg.norm(apart) < NEAREST_MARK:
        finding = f"{faults.named(keys)} lies {np.linalg.norm(apart) * 1e3:.0f} mm from the point it hung from"
        cause = "the point itself was written there, or one of the two starts from another point"
        act = "mark the plumb line further down"
        faults.add(keys, finding, f"{NEAREST_MARK * 1e3:.0f} mm or more", cause, act)
        return None
    return Mark(Spot(offset, spot.origin), across)


def _hung(named: str, label: str | None, keys: Keys, airframe: Airframe, faults: Faults) -> Hung | None:
    path = faults.file.path.parent / named
    pure = PurePosixPath(named)
    place = (*keys, "capture")
    if pure.is_absolute() or ".." in pure.parts or "\\" in named:
        finding = f"{faults.named(place)} = {quote(named)} leads out of the worksheet's folder"
        faults.add(
            place, finding, "a manifest beside the worksheet, or in a folder below", act="put the files together"
        )
        return None
    if not path.is_file():
        finding = f"{faults.named(place)} = {quote(named)} is not there"
        faults.add(place, finding, "a manifest, NAME.toml, beside the worksheet", act="correct the name")
        return None
    recording = read_capture(path, airframe)
    prompt = _prompt(recording, label, keys, faults)
    return None if prompt is None else Hung(recording, prompt)


def _prompt(recording: Recording, label: str | None, keys: Keys, faults: Faults) -> Prompt | None:
    """Find the motion of this hang: the only one of the capture, or the one with the label."""
    hangs = [p for p in recording.prompts if p.name == HANG and p.start is not None]
    found = hangs if label is None else [p for p in hangs if p.label == label]
    if len(found) == 1:
        return found[0]
    name = escape(recording.manifest.name)
    where = (*keys, "capture" if label is None else "label")
    labels = [p.label for p in hangs if p.label]
    if not hangs:
        act = 'add to that manifest a [[motion]] with name = "hang" and the times in which it hung still'
        finding = f'{name} has no [[motion]] "hang" with times'
        faults.add(where, finding, "the motion that says when it hung", act=act)
    elif label is None:
        act = "add label = … to say which one; each hang of that manifest needs a label"
        faults.add(where, f'{name} has {len(hangs)} motions "hang"', listed(labels) if labels else "one", act=act)
    else:
        finding = f'{name} has {len(found)} motions "hang" with label {quote(label)}'
        faults.add(where, finding, listed(labels) if labels else "a hang with that label", act="correct the label")
    return None
