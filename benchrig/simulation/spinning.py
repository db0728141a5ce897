"""Turns that go all the way round: on a turntable, and, for a compass, about the vertical in the hand."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import TURNS
from benchrig.simulation.draft import Draft
from benchrig.simulation.hand import hand_turn
from benchrig.simulation.made import Made
from benchrig.simulation.options import Options
from benchrig.simulation.standing import lay
from benchrig.simulation.trajectory import SPIN_RAMP, Wobble

_RUNOUT: Final = np.radians(0.03)
"""rad: wobble of the turntable's bearing."""
_RAISED_DEG: Final = (26.0, 34.0)
_ROUND_S: Final = (7.2, 8.8)
_PAST_ROUND_DEG: Final = 8.0
"""Standard deviation by which a person stops short of, or past, where they began."""
_WANDER_DEG: Final = 2.0
"""Of one axis, while a person steps round with the airframe in the hands."""


def spin(draft: Draft, asked: str, options: Options) -> None:
    """Turn on a table whose bearing wobbles once a turn, standing on it as `options.posture` says."""
    moved = draft.lies != options.posture
    lay(draft, options.posture)
    if moved and draft.now > 0.0:
        draft.still(2.0)
    rate = 2 * np.pi * options.turntable_rpm / 60.0 * (1.0 + 0.01 * draft.faults.number("table-fast", 0.0))
    sign = float(TURNS[asked][1]) * (-1.0 if draft.faults.has("spin-reversed") else 1.0)
    done = "turntable clockwise" if sign > 0 else "turntable counter-clockwise"
    axis = table_axis(draft)
    start = draft.now
    turn = sign * rate * options.spin_s * axis
    # steady_spin loses one ramp of the time to its two ramps
    draft.leg(options.spin_s / (1.0 - SPIN_RAMP), turn, np.zeros(3), spins=True)
    draft.turns.append(_runout(axis, rate, start, draft.now))
    draft.made.append(Made(asked, done, start, draft.now, draft.now, draft.now, turn))
    draft.heading += sign * rate * options.spin_s
    draft.still(2.0)


def table_axis(draft: Draft) -> Vector:
    """Give the turntable's axis, pointing down, in body axes."""
    axis: Vector = (draft.pose.inv() * draft.plane).apply([0.0, 0.0, 1.0])
    return axis


def _runout(axis: Vector, rate: float, start: float, end: float) -> Wobble:
    """Tilt the axis a little, once a turn."""
    across, along = np.linalg.svd(axis[None, :])[2][1:]
    frequency = np.full((2, 3), rate / (2 * np.pi))
    phase = np.array([[0.0] * 3, [np.pi / 2] * 3])
    return Wobble(_RUNOUT * np.array([across, along]), frequency, phase, start, end, 1.0)


def turn_about_vertical(draft: Draft, asked: str) -> None:
    """Turn the airframe all the way round in the hands: upright, or with its nose raised."""
    draft.stand()
    rng = draft.rng
    start = draft.now
    lift = np.array([*rng.normal(0.0, 0.03, 2), -rng.uniform(0.2, 0.4)])
    if asked == "tilted turn":
        nose = np.radians(draft.faults.number("operator-nose", 0.0))
        draft.leg(draft.draw_move(), hand_turn(rng, "nose up", rng.uniform(*_RAISED_DEG), 2.0, nose), lift)
    else:
        draft.leg(draft.draw_move(), rng.normal(0.0, np.radians(_WANDER_DEG), 3), lift)
    draft.still(draft.draw_pause(0.4, 0.8))
    begin = draft.now
    angle = rng.choice([-1.0, 1.0]) * (2 * np.pi + rng.normal(0.0, np.radians(_PAST_ROUND_DEG)))
    turn = angle * draft.down
    draft.leg(rng.uniform(*_ROUND_S), turn, np.zeros(3), spins=True)
    draft.turns.append(_wander(rng, begin, draft.now))
    held = draft.now
    draft.still(draft.draw_pause(0.4, 0.8))
    released = draft.now
    draft.heading += angle
    draft.go_back(lift)
    draft.made.append(Made(asked, asked, start, held, released, draft.now, turn))
    draft.rest(start)


def _wander(rng: np.random.Generator, start: float, end: float) -> Wobble:
    amplitude = np.radians(rng.normal(0.0, _WANDER_DEG, (2, 3)))
    return Wobble(amplitude, rng.uniform(0.2, 0.6, (2, 3)), rng.uniform(0.0, 2 * np.pi, (2, 3)), start, end, 0.5)
