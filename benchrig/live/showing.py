"""From the state of a session to what the person at the bench is shown."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np

from benchrig.errors import Problem
from benchrig.geometry.directions import Matrix
from benchrig.geometry.turns import TURNS, turn_axis
from benchrig.live.evidence import Judged
from benchrig.live.sighting import WANTED_DEG
from benchrig.live.state import HOLD_S, LEVEL_S, State
from benchrig.live.view import Heard, Standing, View
from benchrig.live.watch import Sensed
from benchrig.outcome import Outcome
from benchrig.verdict.diagnosis import MOUNTING_DIFFERS, UNFIT, WIRING_OPEN
from benchrig.verdict.record import BenchRecord, WiringFound

ANGLE_RATIO: Final = "gyro angle over gravity angle"
"""The judge's check of the gyro's size."""

Mounting = tuple[Matrix, Literal["open", "declared", "found"]]


def mounting_of(declared: Matrix, judged: Judged | None) -> Mounting:
    """Give the mounting by which turns are told.

    Parameters
    ----------
    declared : ndarray, shape (3, 3)
        Body from sensor.
    judged : Judged or None

    Returns
    -------
    mounting : ndarray, shape (3, 3)
    which : {"open", "declared", "found"}
        Open while neither the declared mounting nor another one is clear.
    """
    gyro: WiringFound | None = None if judged is None else judged.record.gyro
    if judged is None or not judged.is_clear or gyro is None or gyro.found is None:
        return declared, "open"
    return (declared, "declared") if np.allclose(gyro.found, declared) else (gyro.found, "found")


def gyro_scale_of(judged: Judged | None) -> float | None:
    """Give by what the rates must be multiplied so that the gyro's turns are as large as gravity's; None while unknown.

    A unit in rad/s that was declared in deg/s must not make the guide ask again and again for a turn it has seen.
    """
    checks = () if judged is None else judged.record.health
    check = next((health for health in checks if health.check == ANGLE_RATIO), None)
    if check is None or not check.value:
        return None
    return 1.0 / check.value if check.outcome is Outcome.FAIL else 1.0


def standing_of(judged: Judged | None) -> Standing:
    """Say what the judge says so far."""
    if judged is None:
        return Standing()
    record = judged.record
    cells: dict[str, dict[str, str]] = {}
    for cell in record.matrix:
        cells.setdefault(cell.motion, {})[cell.check] = cell.outcome.value
    return Standing(record.verdict.value, record.sensing.value, record.correction.value, cells, _gravest(record))


def _gravest(record: BenchRecord) -> str:
    """Say what is gravest so far; no wiring is named while motions are open that could clear it.

    Two motions made the wrong way round look like a unit that sits otherwise, and nobody shall take a right one apart.
    """
    if not record.findings:
        return ""
    first = record.findings[0]
    is_open = any(c.required and c.check == "gyro" and c.outcome is Outcome.NOT_SHOWN for c in record.matrix)
    if not is_open or first.code not in {WIRING_OPEN, MOUNTING_DIFFERS}:
        return first.text
    return f"{UNFIT if first.code == MOUNTING_DIFFERS else first.text.rstrip('.')}. Go on: more motions will tell."


def view_of(
    state: State,
    sensed: Sensed | None,
    mounting: Mounting,
    *,
    heard: Heard,
    standing: Standing,
    trouble: Problem | None,
) -> View:
    """Show one moment.

    Parameters
    ----------
    sensed : Sensed or None
        The latest; None before the first.
    """
    held, wanted_hold = _hold(state, sensed)
    return View(
        phase=state.phase,
        motion=state.motion,
        wanted_deg=WANTED_DEG if state.motion in TURNS else (0.0, 0.0),
        number=state.number,
        turned_deg=_turned(state, sensed, mounting),
        mounting=mounting[1],
        held_s=held,
        hold_s=wanted_hold,
        said=state.said,
        mood=state.mood,
        question=state.questions[0] if state.questions else None,
        watch=state.watching if state.phase in {"move", "moving", "hold"} else (),
        trouble=trouble,
        heard=heard,
        standing=standing,
    )


def _turned(state: State, sensed: Sensed | None, mounting: Mounting) -> tuple[float, float, float]:
    if sensed is None:
        return 0.0, 0.0, 0.0
    turn = sensed.in_body(mounting[0])
    if mounting[1] == "open" and state.motion in TURNS:
        turn = float(np.linalg.norm(turn)) * turn_axis(state.motion)
    roll, pitch, yaw = (float(angle) for angle in np.degrees(turn))
    return roll, pitch, yaw


def _hold(state: State, sensed: Sensed | None) -> tuple[float, float]:
    if sensed is None:
        return 0.0, 0.0
    if state.phase == "lie still":
        return min(sensed.bench_for, LEVEL_S), LEVEL_S
    if state.phase in {"moving", "hold", "return"}:
        wanted = HOLD_S if state.phase == "return" else state.hold_s
        return (min(sensed.still_for, wanted) if state.phase != "moving" else 0.0), wanted
    return 0.0, 0.0
