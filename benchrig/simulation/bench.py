"""A whole simulated bench: one seed, one airframe, chosen faults, everything known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.declaration.airframe import Airframe
from benchrig.errors import Problem, UsageError
from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import PULSE_STEPS
from benchrig.simulation.faults import Fault, Faults, refuse_idle
from benchrig.simulation.mechanics import lifts
from benchrig.simulation.options import Options
from benchrig.simulation.plan import Plan, draw_plan
from benchrig.simulation.pulse_program import commands, program_of
from benchrig.simulation.pulses import pulses
from benchrig.simulation.sensors import (
    Triad,
    draw_accelerometer,
    draw_compass,
    draw_gyro,
    field_in_body,
    sample_times,
)
from benchrig.simulation.trajectory import angular_rate, specific_force
from benchrig.simulation.unit import Estimate, estimate
from benchrig.simulation.vibration import Line, draw_lines, rocking_rate, shaking_force
from benchrig.simulation.wiring import Wiring, wire

_STUCK: Final = 4.0
"""Counts that the two lowest bits are worth together."""


@dataclass(frozen=True, slots=True, eq=False)
class Truth:
    """What really happened at each sample, in body axes.

    Attributes
    ----------
    attitude : Rotation, N
        Body to world.
    angular_rate : ndarray, shape (N, 3), rad/s
    specific_force : ndarray, shape (N, 3), m/s²
        At the sensor, at the time the accelerometer sampled it.
    lever_arm : ndarray, shape (3,), m
        CG to sensor, as it really is.
    vibration : tuple of Line
    """

    attitude: Rotation
    angular_rate: Vector
    specific_force: Vector
    lever_arm: Vector
    vibration: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Simulated:
    """A simulated bench before it is written down.

    Attributes
    ----------
    time : ndarray, shape (N,), s
    gyro : ndarray, shape (N, 3), rad/s
    accelerometer : ndarray, shape (N, 3), m/s²
    compass : ndarray, shape (N, 3), T, or None
        As sensed, in the sensors' own axes.
    temperature : ndarray, shape (N,), °C
    believed : Estimate
        The unit's own.
    pulses, commands : mapping of actuator name to ndarray, shape (N,), µs
        What each actuator got, and what was commanded of it at the transmitter.
    gyro_model, accelerometer_model, compass_model : Triad
        Their gains, biases and wiring as drawn.
    prompts : tuple of (motion, start s, end s)
        As the operator stamped them.
    """

    airframe: Airframe
    options: Options
    seed: int
    faults: Faults
    plan: Plan
    wiring: Wiring
    truth: Truth
    time: Vector
    gyro: Vector
    accelerometer: Vector
    compass: Vector | None
    temperature: Vector
    believed: Estimate
    pulses: Mapping[str, Vector]
    commands: Mapping[str, Vector]
    gyro_model: Triad
    accelerometer_model: Triad
    compass_model: Triad | None
    prompts: tuple[tuple[str, float, float], ...]
    gap_centres: tuple[float, ...]


def simulate(
    airframe: Airframe, *, seed: int, faults: Sequence[Fault] = (), options: Options | None = None
) -> Simulated:
    """Simulate one bench; the same arguments give the same numbers.

    Parameters
    ----------
    airframe : Airframe
        As declared; without faults the simulated one is built just so.
    seed : int
        Of the one generator that every random number comes from. What a fault does not touch stays as it is
        without it.
    faults : sequence of Fault
    options : Options, optional

    Raises
    ------
    UsageError
        If a fault is about a motion that is not made, or no motion is left.
    """
    options = options or Options()
    chosen = Faults(tuple(faults))
    refuse_idle(chosen, options.motions)
    _refuse_empty_steps(airframe, options)
    # a generator of its own for each part, so that a fault in one part leaves the numbers of the others alone
    hands, wires, parts, clock, readings, stamps, shakes = np.random.default_rng(seed).spawn(7)
    if options.unit_seed is not None:
        _, wires, parts, *_ = np.random.default_rng(options.unit_seed).spawn(7)
    plan = draw_plan(options, chosen, hands, tuple(actuator.name for actuator in airframe.actuators))
    wiring = wire(airframe, chosen, wires)
    time = sample_times(plan.duration, options.rate_hz, options.jitter, clock)
    lines = draw_lines(chosen, shakes)
    truth = truth_at(airframe, plan, chosen, time, lines)

    gyro_model = draw_gyro(airframe, wiring.gyro, chosen, parts)
    accelerometer_model = draw_accelerometer(airframe, wiring.accelerometer, chosen, parts)
    compass_model = None if wiring.magnetometer is None else draw_compass(wiring.magnetometer, chosen, parts)
    settle = wiring.misalignment.inv()
    gyro = gyro_model.read(settle.apply(truth.angular_rate), options.rate_hz, readings)
    accelerometer = accelerometer_model.read(settle.apply(truth.specific_force), options.rate_hz, readings)
    compass = None
    if compass_model is not None:
        compass = compass_model.read(field_in_body(truth.attitude, options.field_ut), options.rate_hz, readings)
    gyro = stuck(gyro, "gyro", gyro_model.count, chosen)
    accelerometer = stuck(accelerometer, "accelerometer", accelerometer_model.count, chosen)

    believed = estimate(time, gyro, accelerometer, airframe)
    program = program_of(plan.motions, airframe, chosen, options.link_delay_s)
    return Simulated(
        airframe, options, seed, chosen, plan, wiring, truth, time, gyro, accelerometer, compass,
        temperature=24.0 + 2.0 * (1.0 - np.exp(-time / 60.0)) + readings.normal(0.0, 0.03, len(time)),
        believed=believed,
        pulses=pulses(believed, airframe, chosen, program),
        commands=commands(program, airframe, time),
        gyro_model=gyro_model,
        accelerometer_model=accelerometer_model,
        compass_model=compass_model,
        prompts=_stamp(plan, chosen, stamps),
        gap_centres=_gaps(plan, chosen, stamps),
    )  # fmt: skip


def _refuse_empty_steps(airframe: Airframe, options: Options) -> None:
    """Refuse steps at the transmitter that would move nothing."""
    problems = []
    for name in dict.fromkeys(options.motions):
        if name in PULSE_STEPS and not airframe.actuators:
            problems.append(Problem(f"--motion {name}", "the airframe declares no actuator", act="leave it out"))
        elif name == "collective up" and not any(map(lifts, airframe.actuators)):
            finding, expected = "no declared actuator lifts the airframe", "a servo of a plate, or a lifting rotor"
            problems.append(Problem(f"--motion {name}", finding, expected, act="leave it out"))
    if problems:
        raise UsageError(*problems)


def truth_at(airframe: Airframe, plan: Plan, faults: Faults, time: Vector, lines: tuple[Line, ...]) -> Truth:
    """Give what really happens at each time, with the faults that are about the airframe and the clocks in it."""
    lever_arm = airframe.sensor.lever_arm + np.array([faults.number("lever", 0.0) * 1e-3, 0.0, 0.0])
    felt_at = time - faults.number("accelerometer-late", 0.0) * 1e-3
    force = specific_force(plan.path, felt_at, lever_arm - plan.pivot)
    rate = angular_rate(plan.path, time)
    if lines:
        force, rate = force + shaking_force(lines, felt_at), rate + rocking_rate(lines, time)
    return Truth(plan.path.attitude(time), rate, force, lever_arm, lines)


def stuck(readings: Vector, sensor: str, count: float, faults: Faults) -> Vector:
    """Hold the channels, or the lowest bits of them, that a fault makes dead, frozen or stuck."""
    readings = readings.copy()
    for axes in faults.values("stuck-bits"):
        columns = ["xyz".index(axis) for axis in axes]
        readings[:, columns] = np.floor(np.round(readings[:, columns] / count) / _STUCK) * _STUCK * count
    for axes in faults.values(f"{sensor}-dead"):
        readings[:, ["xyz".index(axis) for axis in axes]] = 0.0
    for axes in faults.values(f"{sensor}-frozen"):
        columns = ["xyz".index(axis) for axis in axes]
        readings[:, columns] = readings[0, columns]
    return readings


def _stamp(plan: Plan, faults: Faults, rng: np.random.Generator) -> tuple[tuple[str, float, float], ...]:
    """Stamp each motion as a person does: about when it was, within half a second."""
    late = faults.number("prompts-late", 0.0)
    clock = faults.number("clock", 1.0)
    last = plan.duration - 0.1
    before = 0.0
    stamped = []
    for made in plan.motions:
        off = np.clip(rng.normal(0.0, 0.15, 2), -0.4, 0.4) + late
        # one is stamped after the other, and none outside the recording
        start = float(np.clip(made.start + off[0], before, max(before, last - 0.1)))
        before = float(np.clip(made.released + off[1], start + 0.1, max(start + 0.1, last)))
        stamped.append((made.asked, round(clock * start, 2), round(clock * before, 2)))
    return tuple(stamped)


def _gaps(plan: Plan, faults: Faults, rng: np.random.Generator) -> tuple[float, ...]:
    """Choose where rows are missing: in the middle of as many moves."""
    moves = [made for made in plan.motions if made.held > made.start]
    count = min(int(faults.number("gaps", 0)), len(moves))
    chosen = sorted(rng.choice(len(moves), count, replace=False).tolist()) if count else []
    return tuple(0.5 * (moves[index].start + moves[index].held) for index in chosen)
