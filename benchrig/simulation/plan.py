"""What the simulated operator does, from the first rest to the last: drawn once, then a path through time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import POSES, PULSE_STEPS
from benchrig.simulation.draft import Draft, standing
from benchrig.simulation.fault_list import HAND_TURNS
from benchrig.simulation.faults import Faults
from benchrig.simulation.handling import rest_level, turn_by_hand, wave_freely
from benchrig.simulation.hanging import hang, swing
from benchrig.simulation.made import Made
from benchrig.simulation.options import Options
from benchrig.simulation.pulse_steps import flip, lift, sweep_each, switch_off, switch_on
from benchrig.simulation.spinning import spin, turn_about_vertical
from benchrig.simulation.standing import lay, rest_posed
from benchrig.simulation.trajectory import Path

_WAIT_S: Final = 2.0
_FIRST_REST_S: Final = 3.0
_REST_S: Final = 2.0
_POSE_S: Final = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The whole bench.

    Attributes
    ----------
    path : Path
    motions : tuple of Made
    duration : float, s
    pivot : ndarray, shape (3,), m
        What all turning is about but for hangs and swings, from the CG, in body axes.
    plane : Rotation
        The bench's or the turntable's, to world: its z is square to it.
    """

    path: Path
    motions: tuple[Made, ...]
    duration: float
    pivot: Vector
    plane: Rotation


def draw_plan(options: Options, faults: Faults, rng: np.random.Generator, actuators: tuple[str, ...] = ()) -> Plan:
    """Draw what the operator does."""
    draft = begin(options, faults, rng)
    draft.actuators = actuators
    for index, name in enumerate(options.motions):
        if name in faults.values("motion-missing"):
            continue
        if index == 0 and not _starts_at_once(name):
            draft.still(_WAIT_S)
        if name == "level":
            rest_level(draft, options.rest_s or (_FIRST_REST_S if index == 0 else _REST_S))
        else:
            make(draft, name, options)
    path = Path(tuple(draft.legs), tuple(draft.turns), tuple(draft.sways))
    return Plan(path, tuple(draft.made), draft.now, draft.pivot, draft.plane)


def begin(options: Options, faults: Faults, rng: np.random.Generator) -> Draft:
    """Draw the bench and how the airframe stands on it."""
    tilt_deg = faults.number("unlevel-start", rng.uniform(0.0, 2.0))
    downhill = rng.uniform(0, 2 * np.pi)
    heading = rng.uniform(0, 2 * np.pi)
    pivot = rng.normal(0.0, 0.06, 3)
    if options.on_turntable:
        pivot = np.array(options.turntable_pivot)
        tilt_deg = faults.number("unlevel-start", options.turntable_tilt_deg)
    plane = Rotation.from_rotvec(np.radians(tilt_deg) * np.array([np.cos(downhill), np.sin(downhill), 0.0]))
    draft = Draft(rng, faults, plane, heading, pivot, np.zeros(3), standing(plane, heading))
    first = options.motions[0]
    if first in POSES:
        lay(draft, first)
    elif first.startswith("turntable"):
        lay(draft, options.posture)
    return draft


def _starts_at_once(name: str) -> bool:
    """Tell whether a recording may begin with this motion: with a rest, or, as a careless operator does, a move."""
    return name in POSES or name in HAND_TURNS or name == "free" or name.startswith("turntable")


def make(draft: Draft, name: str, options: Options) -> None:
    """Make one motion that is no rest upright."""
    if name in HAND_TURNS:
        turn_by_hand(draft, name, options.slop_deg)
    elif name == "free":
        wave_freely(draft)
    elif name.startswith("turntable"):
        spin(draft, name, options)
    elif name in POSES:
        rest_posed(draft, name, options.rest_s or _POSE_S)
    elif name in ("level turn", "tilted turn"):
        turn_about_vertical(draft, name)
    elif name in PULSE_STEPS:
        _step_pulses(draft, name, options)
    else:
        _go_to_a_point(draft, name, options)


def _go_to_a_point(draft: Draft, name: str, options: Options) -> None:
    if name == "hang":
        hang(draft, np.array(options.hang_point))
    elif name == "swing":
        swing(draft, np.array(options.pivot))


def _step_pulses(draft: Draft, name: str, options: Options) -> None:
    """Do one thing at the transmitter."""
    if name == "sweep":
        sweep_each(draft)
    elif name == "collective up":
        lift(draft)
    elif name == "switch":
        flip(draft)
    elif name == "transmitter off":
        switch_off(draft, options.link_delay_s)
    elif name == "transmitter on":
        switch_on(draft)
