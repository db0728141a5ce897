"""The truth file beside a simulated capture: everything that it was made from."""

from __future__ import annotations

from typing import Any

import numpy as np
import tomlkit

from benchrig.declaration.actuators import Actuator
from benchrig.geometry.directions import Vector, axis_words
from benchrig.geometry.turns import PULSE_STEPS
from benchrig.simulation.answer import centre_of
from benchrig.simulation.bench import Simulated
from benchrig.simulation.document import MADE_BY
from benchrig.simulation.hanging import hung_from
from benchrig.simulation.made import Made
from benchrig.simulation.places import place_words
from benchrig.simulation.pulse_program import ends_of, lift_move, pace_of
from benchrig.simulation.pulse_steps import RESTORE_S
from benchrig.simulation.pulses import ANGLE_GAIN_US, FRAME_S, LATENCY_S, RATE_GAIN_US
from benchrig.simulation.sensors import Triad
from benchrig.simulation.trajectory import STANDARD_GRAVITY
from benchrig.simulation.vibration import Line


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
        if {"level turn", "tilted turn"} & set(simulated.options.motions):
            truth["magnetometer"]["field_ut"] = [round(part, 4) for part in simulated.options.field_ut]
    if simulated.pulses:
        truth["correction"] = _correction(simulated)
    if set(simulated.options.motions) & set(PULSE_STEPS):
        truth["actuator"] = [_actuator(actuator, simulated) for actuator in simulated.airframe.actuators]
    if simulated.truth.vibration:
        truth["vibration"] = [_line(line) for line in simulated.truth.vibration]
    truth |= _fixed_points(simulated)
    truth["motion"] = [_motion(made) for made in simulated.plan.motions]
    return tomlkit.dumps(truth)


def _actuator(actuator: Actuator, simulated: Simulated) -> dict[str, Any]:
    """Describe an actuator's channel as it was ordered to move; its faults stand among the faults."""
    lowest, highest = ends_of(actuator)
    return {
        "name": actuator.name, "centre_us": centre_of(actuator), "lowest_us": lowest, "highest_us": highest,
        "pace_us_per_s": round(pace_of(actuator, simulated.faults), 3), "lift_us": round(lift_move(actuator), 3),
    }  # fmt: skip


def _line(line: Line) -> dict[str, Any]:
    """Describe a vibration line by its peaks, in body axes."""
    return {
        "frequency_hz": line.frequency_hz,
        "peak_g": _rounded(line.force / STANDARD_GRAVITY, 6),
        "peak_deg_s": _rounded(np.degrees(line.rate), 6),
    }


def _fixed_points(simulated: Simulated) -> dict[str, Any]:
    """Describe what the airframe turned about, swung about and hung from, as it really was."""
    options, faults = simulated.options, simulated.faults
    points: dict[str, Any] = {}
    if options.on_turntable:
        lean = np.degrees(np.arccos(np.clip(simulated.plan.plane.apply([0.0, 0.0, 1.0])[2], -1.0, 1.0)))
        points["turntable"] = {
            "rpm": round(options.turntable_rpm * (1.0 + 0.01 * faults.number("table-fast", 0.0)), 6),
            "pivot_mm": place_words(1e3 * np.array(options.turntable_pivot)),
            "tilt_deg": round(float(lean), 4),
            "posture": options.posture,
        }
    if "swing" in options.motions:
        points["swing"] = {"pivot_mm": place_words(1e3 * np.array(options.pivot))}
    if "hang" in options.motions:
        point = hung_from(np.array(options.hang_point), faults.number("wrong-point", 0.0))
        points["hang"] = {"point_mm": place_words(1e3 * point)}
    return points


def _motion(made: Made) -> dict[str, Any]:
    motion: dict[str, Any] = {"asked": made.asked, "done": made.done}
    if made.label:
        motion["label"] = made.label
    motion |= {
        "start_s": round(made.start, 4), "held_s": round(made.held, 4), "released_s": round(made.released, 4),
        "back_s": round(made.back, 4), "turn_deg": _rounded(np.degrees(made.turn)),
    }  # fmt: skip
    if made.down is not None:
        motion["down"] = _rounded(made.down, 6)
    return motion


def _sensor(model: Triad, wiring: Vector, unit: float, bias_key: str) -> dict[str, Any]:
    """Describe a sensor; `unit` turns its SI bias into that of `bias_key`."""
    sensor: dict[str, Any] = {"body_from_sensor": _rounded(wiring)}
    words = axis_words(wiring)
    if words is not None:
        sensor["axes"] = words
    sensor["mirrored"] = bool(np.linalg.det(wiring) < 0)
    return sensor | {"gain": _rounded(model.gain, 6), bias_key: _rounded(unit * model.bias)}


def _correction(simulated: Simulated) -> dict[str, Any]:
    link = {"link_delay_s": simulated.options.link_delay_s, "link_restore_s": RESTORE_S}
    return {
        "latency_ms": simulated.faults.number("servos-late", 1e3 * LATENCY_S),
        "frame_ms": 1e3 * FRAME_S,
        "rate_gain_us_per_deg_s": list(RATE_GAIN_US),
        "angle_gain_us_per_deg": list(ANGLE_GAIN_US),
        "actuators": list(simulated.pulses),
    } | (link if "transmitter off" in simulated.options.motions else {})


def _rounded(values: Vector, decimals: int = 4) -> list[Any]:
    result: list[Any] = (np.round(values, decimals) + 0.0).tolist()
    return result
