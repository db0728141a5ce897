"""Turns that go all the way round: on a turntable, and, for a compass, about the vertical in the hand."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.turns import TURNS
from benchrig.simulation.draft import Draft
from benchrig.simulation.made import Made
from benchrig.simulation.options import Options
from benchrig.simulation.standing import lay
from benchrig.simulation.trajectory import SPIN_RAMP, Wobble

_RUNOUT: Final = np.radians(0.03)
"""rad: wobble of the turntable's bearing."""


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


def table_axis(draft: Draft) -> np.ndarray:
    """Give the turntable's axis, pointing down, in body axes."""
    axis: np.ndarray = (draft.pose.inv() * draft.plane).apply([0.0, 0.0, 1.0])
    return axis


def _runout(axis: np.ndarray, rate: float, start: float, end: float) -> Wobble:
    """Tilt the axis a little, once a turn."""
    across, along = np.linalg.svd(axis[None, :])[2][1:]
    frequency = np.full((2, 3), rate / (2 * np.pi))
    phase = np.array([[0.0] * 3, [np.pi / 2] * 3])
    return Wobble(_RUNOUT * np.array([across, along]), frequency, phase, start, end, 1.0)
