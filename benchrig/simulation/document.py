"""The two files beside a simulated stream: its manifest, and the truth it was made from."""

from __future__ import annotations

from typing import Any

import numpy as np
import tomlkit
from tomlkit.items import InlineTable

from benchrig.geometry.directions import Vector, axis_words
from benchrig.simulation.bench import Simulated
from benchrig.simulation.sensors import Triad
from benchrig.simulation.sight import sights
from benchrig.simulation.stream import Group
from benchrig.simulation.trajectory import STANDARD_GRAVITY
from benchrig.simulation.unit import ANGLE_GAIN_US, FRAME_S, LATENCY_S, RATE_GAIN_US

MADE_BY = "benchrig simulate"


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
        prompts = [{"name": name, "start_s": start, "end_s": end} for name, start, end in simulated.prompts]
        document.add("motion", tomlkit.item(prompts))
    looks = sights(simulated) if options.seen else ()
    if looks:
        seen = [{"motion": look.motion, "actuator": look.actuator, "moved": look.moved} for look in looks]
        document.add("seen", tomlkit.item(seen))
    if any(name.startswith("turntable") for name, _, _ in simulated.prompts):
        document.add("turntable", tomlkit.item(_turntable(simulated)))
    return tomlkit.dumps(document)


def _columns(groups: tuple[Group, ...]) -> tomlkit.items.Table:
    table, actuators = tomlkit.table(), tomlkit.table()
    for group in groups:
        role, _, name = group.role.partition(":")
        if name:
            actuators.add(name, _inline(group))
        else:
            table.add(role, _inline(group))
    if len(actuators):
        table.add("actuators", actuators)
    return table


def _inline(group: Group) -> InlineTable:
    inline = tomlkit.inline_table()
    inline.update({"names": list(group.names), "unit": group.unit})
    return inline


def _turntable(simulated: Simulated) -> dict[str, Any]:
    forward, right, down = (round(1e3 * part, 3) for part in simulated.options.turntable_pivot)
    words = {
        "forward" if forward >= 0 else "aft": abs(forward),
        "right" if right >= 0 else "left": abs(right),
        "down" if down >= 0 else "up": abs(down),
    }
    return {"rpm": round(simulated.options.turntable_rpm, 4), "pivot_mm": words}


def truth_text(simulated: Simulated, command: str, digests: dict[str, str]) -> str:
    """Write down everything that the capture was made from.

    Parameters
    ----------
    command : str
        That makes the same files again.
    digests : dict of file name to SHA-256
        Of the stream and the manifest as they were written.
    """
    truth: dict[str, Any] = {
        "made_by": MADE_BY,
        "command": command,
        "seed": simulated.seed,
        "faults": [str(fault) for fault in simulated.faults.chosen],
        "files": digests,
        "airframe": {"name": simulated.airframe.name, "sha256": simulated.airframe.source.sha256},
        "gyro": _sensor(simulated.gyro_model, simulated.wiring.gyro, np.degrees(1.0), "bias_deg_s"),
        "accelerometer": _sensor(
            simulated.accelerometer_model, simulated.wiring.accelerometer, 1e3 / STANDARD_GRAVITY, "bias_mg"
        ),
        "bench": {
            "misalignment_deg": _rounded(np.degrees(simulated.wiring.misalignment.as_rotvec())),
            "lever_arm_mm": _rounded(1e3 * simulated.truth.lever_arm),
            "pivot_mm": _rounded(1e3 * simulated.plan.pivot),
            "rate_hz": simulated.options.rate_hz,
            "slop_deg": simulated.options.slop_deg,
        },
    }
    if simulated.compass_model is not None and simulated.wiring.magnetometer is not None:
        truth["magnetometer"] = _sensor(simulated.compass_model, simulated.wiring.magnetometer, 1e6, "bias_ut")
    if simulated.pulses:
        truth["correction"] = _correction(simulated)
    truth["motion"] = [
        {
            "asked": made.asked, "done": made.done, "start_s": round(made.start, 4), "held_s": round(made.held, 4),
            "released_s": round(made.released, 4), "back_s": round(made.back, 4),
            "turn_deg": _rounded(np.degrees(made.turn)),
        }
        for made in simulated.plan.motions
    ]  # fmt: skip
    return tomlkit.dumps(truth)


def _sensor(model: Triad, wiring: Vector, unit: float, bias_key: str) -> dict[str, Any]:
    """Describe a sensor; `unit` turns its SI bias into that of `bias_key`."""
    sensor: dict[str, Any] = {"body_from_sensor": _rounded(wiring)}
    words = axis_words(wiring)
    if words is not None:
        sensor["axes"] = words
    sensor["mirrored"] = bool(np.linalg.det(wiring) < 0)
    return sensor | {"gain": _rounded(model.gain, 6), bias_key: _rounded(unit * model.bias)}


def _correction(simulated: Simulated) -> dict[str, Any]:
    return {
        "latency_ms": simulated.faults.number("servos-late", 1e3 * LATENCY_S),
        "frame_ms": 1e3 * FRAME_S,
        "rate_gain_us_per_deg_s": list(RATE_GAIN_US),
        "angle_gain_us_per_deg": list(ANGLE_GAIN_US),
        "actuators": list(simulated.pulses),
    }


def _rounded(values: Vector, decimals: int = 4) -> list[Any]:
    result: list[Any] = (np.round(values, decimals) + 0.0).tolist()
    return result
