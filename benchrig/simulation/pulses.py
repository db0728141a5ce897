"""The pulses with which the unit answers what it believes, and what is ordered past it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import AXIS_NAMES
from benchrig.simulation.answer import END, answered, centre_of
from benchrig.simulation.faults import Faults
from benchrig.simulation.mechanics import corrective_effect
from benchrig.simulation.pulse_program import Program, lift_move
from benchrig.simulation.unit import Estimate

FRAME_S: Final = 0.020
"""Between two pulses: 50 Hz."""
LATENCY_S: Final = 0.020
RATE_GAIN_US: Final = (0.8, 0.8, 1.2)
"""µs per deg/s of roll, pitch and yaw rate, for a centre of 1500 µs; other centres in proportion."""
ANGLE_GAIN_US: Final = (4.0, 4.0, 3.0)
"""µs per deg of roll, pitch and yaw."""
_SCALE_US: Final = 1500.0


def pulses(believed: Estimate, airframe: Airframe, faults: Faults, program: Program) -> Mapping[str, Vector]:
    """Give the pulse each actuator gets at every row, µs: renewed once a frame, held in between.

    Returns
    -------
    mapping of actuator name to ndarray, shape (N,), µs
    """
    frame = np.floor(believed.time / FRAME_S) * FRAME_S
    acted_on = frame - faults.number("servos-late", LATENCY_S * 1e3) * 1e-3
    wanted = _wanted(believed, acted_on, faults)
    lift = program.lift(acted_on)
    turned = np.radians(faults.number("plate-turned", 0.0))
    sent = {}
    for actuator in airframe.actuators:
        own = _own(actuator, corrective_effect(actuator, airframe, turned), wanted, lift, faults)
        sent[actuator.name] = program.directed(actuator, own, frame, acted_on)
    for pair in faults.values("servos-swapped"):
        first, second = (name.strip() for name in pair.split(","))
        sent[first], sent[second] = sent[second], sent[first]
    for name in faults.values("narrow-pulses"):
        sent[name] = np.round(0.5 * sent[name])
    return sent


def _wanted(believed: Estimate, when: Vector, faults: Faults) -> Vector:
    """Give the correction wanted about roll, pitch and yaw, shape (N, 3), µs: against rate and angle."""
    wanted = np.zeros((len(when), 3))
    for axis, name in enumerate(AXIS_NAMES):
        rate = np.degrees(np.interp(when, believed.time, believed.rate[:, axis]))
        angle = np.degrees(np.interp(when, believed.time, np.unwrap(believed.attitude[:, axis])))
        hold = -1.0 if name in faults.values("hold-reversed") else 1.0
        sense = -1.0 if name in faults.values("axis-reversed") else 1.0
        wanted[:, axis] = -sense * (RATE_GAIN_US[axis] * rate + hold * ANGLE_GAIN_US[axis] * angle)
    return wanted


def _own(actuator: Actuator, effect: Vector, wanted: Vector, lift: Vector, faults: Faults) -> Vector:
    """Give the pulse by which the unit corrects, with the stick that lifts mixed in."""
    centre = centre_of(actuator)
    move = wanted @ effect * centre / _SCALE_US
    if lift.any():
        move = move + lift * lift_move(actuator)
    pulse: Vector = np.round(centre + answered(actuator, move, END * centre, faults))
    return pulse
