"""The manifest beside a simulated stream: what its operator would have written."""

from __future__ import annotations

from typing import Any

import numpy as np
import tomlkit
from tomlkit.items import InlineTable

from benchrig.simulation.bench import Simulated
from benchrig.simulation.places import Place, place_words
from benchrig.simulation.sight import sights
from benchrig.simulation.stream import Group

MADE_BY = "benchrig simulate"
"""How the first line of the manifest begins."""


def manifest_text(simulated: Simulated, groups: tuple[Group, ...], stream_name: str) -> str:
    """Write the manifest of a simulated capture.

    Parameters
    ----------
    stream_name : str
        Of the stream's file, which lies beside the manifest.
    """
    options = simulated.options
    document = tomlkit.document()
    document.add(
        tomlkit.comment(f"Simulated by `{MADE_BY}`: no airframe was moved. The truth file beside it says how.")
    )
    capture: dict[str, Any] = {"stream": stream_name, "recorded": options.recorded, "operator": options.operator}
    capture["temperature_c"] = 24.0
    if options.routine:
        capture["routine"] = [name for name, _, _ in simulated.prompts if name != "level"]
    document.add("capture", tomlkit.item(capture))
    document.add("columns", _columns(groups))
    if not options.routine:
        document.add("motion", tomlkit.item(_prompts(simulated)))
    looks = sights(simulated) if options.seen else ()
    if looks:
        seen = [{"motion": look.motion, "actuator": look.actuator, "moved": look.moved} for look in looks]
        document.add("seen", tomlkit.item(seen))
    if options.on_turntable:
        document.add("turntable", tomlkit.item(_turntable(simulated)))
    if "swing" in options.motions:
        document.add("swing", tomlkit.item({"pivot_mm": _said_place(simulated, options.pivot)}))
    return tomlkit.dumps(document)


def _prompts(simulated: Simulated) -> list[dict[str, Any]]:
    prompts = []
    for (name, start, end), made in zip(simulated.prompts, simulated.plan.motions, strict=True):
        label = {"label": made.label} if made.label else {}
        prompts.append({"name": name} | label | {"start_s": start, "end_s": end})
    return prompts


def _columns(groups: tuple[Group, ...]) -> tomlkit.items.Table:
    table, actuators, commands = tomlkit.table(), tomlkit.table(), tomlkit.table()
    for group in groups:
        role, _, name = group.role.partition(":")
        if name:
            (actuators if role == "actuator" else commands).add(name, _inline(group))
        else:
            table.add(role, _inline(group))
    if len(actuators):
        table.add("actuators", actuators)
    if len(commands):
        table.add("commands", commands)
    return table


def _inline(group: Group) -> InlineTable:
    inline = tomlkit.inline_table()
    inline.update({"names": list(group.names), "unit": group.unit})
    return inline


def _turntable(simulated: Simulated) -> dict[str, Any]:
    options = simulated.options
    said: dict[str, Any] = {}
    if options.turntable_rpm_declared:
        said["rpm"] = round(options.turntable_rpm, 4)
    if options.turntable_pivot_declared:
        said["pivot_mm"] = _said_place(simulated, options.turntable_pivot)
    return said


def _said_place(simulated: Simulated, real: Place) -> dict[str, float]:
    """Say in direction words where a pivot is, as far off as a fault has it."""
    wrong = np.array([simulated.faults.number("pivot-wrong", 0.0), 0.0, 0.0])
    return place_words(1e3 * np.array(real) + wrong)
