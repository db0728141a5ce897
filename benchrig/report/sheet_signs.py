"""The sign places of a sheet: in each motion, which own axis of the unit moves which way, and every actuator's way."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Airframe
from benchrig.drawing.answers import corrective
from benchrig.geometry.directions import SENSOR_AXES, Vector
from benchrig.geometry.turns import RATE_NAMES, REQUIRED_TURNS, TURNS, turn_axis
from benchrig.outcome import Outcome
from benchrig.report.grid import ACTUATOR
from benchrig.report.quantity import minus
from benchrig.report.sheet_content import Given, SignPlace, SignRow, SignTable

LEVEL: Final = "level"
NOTHING: Final = SignPlace("–", Outcome.NOT_APPLICABLE)
_WHOLE: Final = 0.999
"""A part of a unit vector from which on it lies along one axis."""
_RANK: Final = (Outcome.FAIL, Outcome.NOT_SHOWN, Outcome.PASS, Outcome.NOT_APPLICABLE)


def sign_table(airframe: Airframe, results: Given) -> SignTable:
    """Say what every sensor and actuator must do in each motion, and whether a check saw it do so.

    Examples
    --------
    >>> own_axis(np.diag([-1.0, -1.0, 1.0]), np.array([0.0, 1.0, 0.0]))
    '−y'
    """
    judged = _judged(results)
    motions = dict.fromkeys((*REQUIRED_TURNS, *(name for name in airframe.required_motions if name in TURNS)))
    heads = ("gyro", "accelerometer", *(actuator.name for actuator in airframe.actuators))
    rows = [_level(airframe, judged), *(_row(airframe, motion, judged) for motion in motions)]
    return SignTable(heads, tuple(rows))


def own_axis(body_from_sensor: Vector, body: Vector) -> str:
    """Name the sensor's own axis along a body vector, with its sign; the nearest one for a unit that is turned freely.

    Parameters
    ----------
    body_from_sensor : ndarray, shape (3, 3)
    body : ndarray, shape (3,)
        Of length 1, in body axes.
    """
    own = np.asarray(body_from_sensor).T @ body
    index = int(np.argmax(np.abs(own)))
    sign = "+" if own[index] > 0 else "-"
    mostly = "" if abs(own[index]) > _WHOLE else " mostly"
    return f"{minus(f'{sign}{SENSOR_AXES[index]}')}{mostly}"


def _force(airframe: Airframe, body: Vector) -> str:
    """Name the own axis of the accelerometer that reads more; one that reads gravity has it the other way."""
    sense = 1.0 if airframe.sensor.reads == "specific force" else -1.0
    return own_axis(airframe.sensor.body_from_sensor, sense * body)


def _judged(results: Given) -> Mapping[tuple[str, str], Outcome]:
    """Collect the outcome of each motion and check; of several checks the worst word stands."""
    found: dict[tuple[str, str], Outcome] = {}
    for cell in (cell for check in results.checks for cell in check.matrix):
        key = (cell.motion, cell.check)
        found[key] = min((cell.outcome, found.get(key, cell.outcome)), key=_RANK.index)
    return found


def _level(airframe: Airframe, judged: Mapping[tuple[str, str], Outcome]) -> SignRow:
    up = np.array([0.0, 0.0, -1.0])
    reads = SignPlace(_force(airframe, up), judged.get((LEVEL, "accelerometer")))
    return SignRow(LEVEL, "–", (NOTHING, reads, *(NOTHING for _ in airframe.actuators)))


def _row(airframe: Airframe, motion: str, judged: Mapping[tuple[str, str], Outcome]) -> SignRow:
    axis, sign = TURNS[motion]
    turn = turn_axis(motion)
    rate = minus(f"{'+' if sign > 0 else '-'}{RATE_NAMES[axis]}")
    gyro = SignPlace(own_axis(airframe.sensor.body_from_sensor, turn), judged.get((motion, "gyro")))
    # turning the airframe about `turn` carries the specific force, which points up, towards up × turn
    moved = np.cross([0.0, 0.0, -1.0], turn)
    force = NOTHING
    if float(np.abs(moved).max()) > 1 - _WHOLE:
        force = SignPlace(_force(airframe, moved), judged.get((motion, "accelerometer")))
    ways = [SignPlace(corrective(a, motion), judged.get((motion, f"{ACTUATOR}{a.name}"))) for a in airframe.actuators]
    return SignRow(motion, rate, (gyro, force, *ways))
