"""The manifest of a session as it stands: what `check` reads, at whatever moment the program is killed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import InlineTable, Table

from benchrig.capture.form import LONGEST_NOTE
from benchrig.capture.store.mark import TIME_COLUMN
from benchrig.live.evidence import Entry, Evidence
from benchrig.live.occasion import Occasion

COMMENT: Final = "Written by `benchrig record`, anew after each motion; `benchrig check AIRFRAME` takes it as it is."

_GROUPS_OF_GROUPS: Final = ("actuators", "commands")


def manifest_document(
    occasion: Occasion,
    evidence: Evidence,
    stream: str,
    *,
    routine: tuple[str, ...] = (),
    second: Mapping[str, Any] | None = None,
    pulses: Mapping[str, Any] | None = None,
) -> TOMLDocument:
    """Give the manifest of all that was asked for and seen so far.

    Parameters
    ----------
    occasion : Occasion
    evidence : Evidence
    stream : str
        The name of the store beside the manifest.
    routine : tuple of str
        Motions without times, in place of those of the evidence.
    second : mapping, optional
        What ``[columns]`` holds of the second source.
    pulses : mapping, optional
        The table ``[pulses]``.
    """
    document = tomlkit.document()
    document.add(tomlkit.comment(COMMENT))
    document.add("capture", tomlkit.item(_capture(occasion, stream, routine)))
    both = {name: {**occasion.columns.get(name, {}), **(second or {}).get(name, {})} for name in _GROUPS_OF_GROUPS}
    document.add("columns", _columns({**occasion.columns, **both}))
    if evidence.entries and not routine:
        document.add("motion", tomlkit.item([_motion(entry) for entry in evidence.entries]))
    looks = [_seen(entry, k) for entry in evidence.entries for k in range(len(entry.looks))]
    if looks:
        document.add("seen", tomlkit.item(looks))
    if evidence.taken_back:
        document.add("taken_back", tomlkit.item([_motion(entry) for entry in evidence.taken_back]))
    for name, table in {**occasion.tables, **({"pulses": pulses} if pulses else {})}.items():
        document.add(name, tomlkit.item(dict(table)))
    return document


def _capture(occasion: Occasion, stream: str, routine: tuple[str, ...]) -> dict[str, Any]:
    capture: dict[str, Any] = {"stream": stream, "recorded": occasion.when}
    if occasion.operator:
        capture["operator"] = occasion.operator
    if occasion.temperature_c is not None:
        capture["temperature_c"] = occasion.temperature_c
    if occasion.notes:
        capture["notes"] = [note[:LONGEST_NOTE] for note in occasion.notes]
    if routine:
        capture["routine"] = list(routine)
    return capture


def _columns(columns: Mapping[str, Any]) -> Table:
    """Write the groups as they were declared, with the store's own time in place of whatever the source has."""
    table = tomlkit.table()
    table.add("time", _inline({"names": [TIME_COLUMN], "unit": "s"}))
    for name, group in columns.items():
        if name not in {"time", *_GROUPS_OF_GROUPS}:
            table.add(name, _inline(group))
    for name in _GROUPS_OF_GROUPS:
        if columns.get(name):
            inner = tomlkit.table()
            for key, group in columns[name].items():
                inner.add(key, _inline(group))
            table.add(name, inner)
    return table


def _inline(group: Mapping[str, Any]) -> InlineTable:
    inline = tomlkit.inline_table()
    for key, value in group.items():
        inline.update({key: _inline(value) if isinstance(value, Mapping) else value})
    return inline


def _motion(entry: Entry) -> dict[str, Any]:
    label = {"label": entry.label} if entry.label else {}
    return {"name": entry.name} | label | {"start_s": entry.start, "end_s": entry.end}


def _seen(entry: Entry, k: int) -> dict[str, Any]:
    look = entry.looks[k]
    return {"motion": entry.name, "actuator": look.actuator, "moved": look.moved}
