"""Small angles between the declared mounting and how the sensor really sits."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import TURNS, turn_axis
from benchrig.verdict.bench import Bench
from benchrig.verdict.done import real_turn, what_was_done
from benchrig.verdict.limits import LARGEST_MISALIGNMENT, SURE, WRONG
from benchrig.verdict.record import Misalignment

_BY_GRAVITY: Final = 2.0
"""deg: what an uncalibrated accelerometer and an unlevelled bench leave of roll and pitch at a level rest."""

_HAND_SPREAD: Final = 12.0
"""deg: how far a hand's turn lies off the asked axis when fewer than three turns show it."""


def misalignment(bench: Bench) -> Misalignment | None:
    """Find by how much the sensor is turned from its declared mounting, where the wiring itself is as declared.

    Roll and pitch come from gravity at the level rest, yaw from the axes of the pitch and roll motions, which are only
    as good as the hand.

    Returns
    -------
    Misalignment or None
        None where the wiring is not as declared or not certain.
    """
    return _small_angles(bench, 1 - WRONG)


def perhaps_turned(bench: Bench) -> dict[str, tuple[float, float]]:
    """Give the small angles, with their uncertainties (deg), that read more than the limit, surely or not.

    A turn of the unit makes other wirings likelier: it is told as soon as the declared one is likely, not only where
    that is certain.
    """
    small = _small_angles(bench, SURE)
    told = {} if small is None else small.told
    return {name: angle for name, angle in told.items() if abs(angle[0]) > LARGEST_MISALIGNMENT}


def _small_angles(bench: Bench, least: float) -> Misalignment | None:
    """Measure the small angles where the declared wiring holds so much of the probability."""
    if bench.level_force is None or min(bench.wirings.gyro[0], bench.wirings.accelerometer[0]) < least:
        return None
    up = bench.airframe.sensor.body_from_sensor @ bench.level_force
    roll, pitch = np.degrees(np.arctan2(-up[1], -up[2])), np.degrees(np.arctan2(up[0], -up[2]))
    yaws = _yaw_errors(bench)
    if not len(yaws):
        return Misalignment(float(roll), float(pitch), None, _BY_GRAVITY, _BY_GRAVITY, None)
    spread = float(np.std(yaws, ddof=1)) if len(yaws) > 2 else _HAND_SPREAD  # noqa: PLR2004 - a spread needs three
    return Misalignment(
        roll=float(roll),
        pitch=float(pitch),
        yaw=float(np.mean(yaws)),
        roll_uncertainty=_BY_GRAVITY,
        pitch_uncertainty=_BY_GRAVITY,
        yaw_uncertainty=max(spread, 1.0) / float(np.sqrt(len(yaws))),
    )


def _yaw_errors(bench: Bench) -> Vector:
    """Give, for each tilt, how far to the right of the asked axis the measured one lies, deg."""
    errors = []
    for name in dict.fromkeys(m.name for m in bench.motions if TURNS[m.name][0] != 2):  # noqa: PLR2004 - yaw
        axis = turn_axis(name)
        for motion in what_was_done(bench, name).good:
            turn = real_turn(bench, motion)
            errors.append(np.degrees(np.arctan2(axis[0] * turn[1] - axis[1] * turn[0], axis[:2] @ turn[:2])))
    # a sensor turned to the right sees every axis turned to the left
    return -np.array(errors)
