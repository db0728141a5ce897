"""A proposal from the names of columns alone, for streams in which nothing turns; never a sure one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from benchrig.measure.describe.bins import Bins
from benchrig.measure.describe.description import Proposed
from benchrig.measure.describe.hints import gyro_unit_by_name, triple_by_name
from benchrig.measure.describe.sensors import MOVE_IT, Sensors
from benchrig.measure.describe.sizes import accelerometer_unit
from benchrig.measure.describe.unknown import Unknown

BY_NAME: Final = "by its names alone: the stream does not show it"


def propose_by_name(sensors: Sensors, unknown: Unknown, bins: Bins, columns: Sequence[int]) -> Sensors:
    """Propose what the names say in the place of what the physics could not settle.

    Parameters
    ----------
    sensors : Sensors
        What the physics gave, not surely.
    unknown : Unknown
    bins : Bins
    columns : sequence of int
        Among which to look.
    """
    gyro = triple_by_name(unknown.names, columns, "gyro")
    accelerometer = triple_by_name(unknown.names, columns, "accelerometer")
    if gyro is None and accelerometer is None:
        return sensors
    found = {p.group: p for p in sensors.proposed}
    if gyro is not None and not _same(found.get("gyro"), unknown, gyro):
        found["gyro"] = _gyro(unknown, gyro)
    if accelerometer is not None and not _same(found.get("accelerometer"), unknown, accelerometer):
        found["accelerometer"] = _accelerometer(unknown, bins, accelerometer)
    named = {name for triple in (gyro, accelerometer) if triple is not None for name in _names(unknown, triple)}
    kept = {
        group: p
        for group, p in found.items()
        if p.why.startswith(BY_NAME) or not named & set(p.names) or set(p.names) <= named
    }
    proposed = tuple(kept[group] for group in ("gyro", "accelerometer") if group in kept)
    agreement = "whether the signs of gyro and accelerometer agree cannot be told from this stream"
    return replace(sensors, proposed=proposed, axes=None, agreement=agreement, copies={})


def _names(unknown: Unknown, columns: Sequence[int]) -> tuple[str, ...]:
    return tuple(unknown.names[c] for c in columns)


def _same(proposed: Proposed | None, unknown: Unknown, columns: Sequence[int]) -> bool:
    return proposed is not None and set(proposed.names) == set(_names(unknown, columns))


def _gyro(unknown: Unknown, columns: tuple[int, int, int]) -> Proposed:
    names = _names(unknown, columns)
    words = " ".join((*names, *(unknown.unit_words.get(name, "") for name in names)))
    unit = gyro_unit_by_name(words)
    why = f"{BY_NAME}; {'so is the unit' if unit else 'the unit is a guess'}"
    return Proposed("gyro", names, unit or "deg/s", None, False, why, surer=MOVE_IT)


def _accelerometer(unknown: Unknown, bins: Bins, columns: tuple[int, int, int]) -> Proposed:
    values = bins.values[bins.calm][:, columns]
    whole = bool(np.all(unknown.values[:, columns] == np.rint(unknown.values[:, columns])))
    unit = accelerometer_unit(float(np.median(np.linalg.norm(values, axis=1))), is_whole=whole)
    why = f"{BY_NAME}; {unit.why}"
    return Proposed("accelerometer", _names(unknown, columns), unit.word, unit.count, False, why, surer=MOVE_IT)
