"""The cells of the two estimates of attitude: the reference filter's and the unit's own."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import matrix_from_angles, matrix_from_quaternion, vector_from_matrix
from benchrig.geometry.turns import AXIS_NAMES, turn_axis
from benchrig.outcome import Outcome
from benchrig.signals.motions import Motion
from benchrig.verdict.bench import Bench
from benchrig.verdict.done import Done, angle_between, blank_cell, is_required, real_turn, symbol, turn_uncertainty
from benchrig.verdict.limits import OTHER_MOTION, SENSE_ANGLE, SURE, WRONG
from benchrig.verdict.record import Cell
from benchrig.verdict.scale import LARGEST_RATIO_ERROR

_WHOLE: Final = np.radians(170.0)
_UNIT_SIZE: Final = 0.25
_FILTER_SLACK: Final = np.radians(6.0)


def attitude_cell(bench: Bench, done: Done, gyro: Cell, accelerometer: Cell) -> Cell:
    """Judge the reference filter's turn, which proves nothing where its inputs do not pass."""
    axis = turn_axis(done.name)
    expected = symbol(axis, AXIS_NAMES)
    if not done.good:
        return blank_cell(bench, done.name, "attitude", Outcome.NOT_SHOWN, expected, done.reason)
    ends = np.array([_turned_by_filter(bench, m) for m in done.good])
    counted = np.array([real_turn(bench, m) for m in done.good])
    real = counted @ axis
    error = np.abs(_wrapped(ends @ axis - real))
    agree = error < np.maximum(LARGEST_RATIO_ERROR * np.abs(_wrapped(real)), _FILTER_SLACK)
    # an attitude cannot count turns: where its end agrees, the gyro's count says how far and which way it went
    turns = np.where((agree & (np.linalg.norm(counted, axis=1) > np.pi))[:, None], counted, ends)
    along = turns @ axis
    off = max(angle_between(t, axis) for t in turns)
    inputs_pass = gyro.outcome is Outcome.PASS and accelerometer.outcome in {Outcome.PASS, Outcome.NOT_APPLICABLE}
    close = bool(np.all(agree))
    if off > OTHER_MOTION and Outcome.FAIL in {gyro.outcome, accelerometer.outcome}:
        outcome, reason = Outcome.FAIL, "the reference filter, fed as declared, turns another way than the airframe"
    elif inputs_pass and close:
        outcome, reason = Outcome.PASS, "the reference filter follows the airframe"
    elif inputs_pass:
        outcome = Outcome.NOT_SHOWN
        reason = f"the reference filter turned {np.degrees(along.mean()):.0f}°, the gyro {np.degrees(real.mean()):.0f}°"
    else:
        outcome, reason = (
            Outcome.NOT_SHOWN,
            "a filter hides a wrong sign: it proves nothing where its inputs do not pass",
        )
    return Cell(
        motion=done.name,
        check="attitude",
        outcome=outcome,
        required=is_required(bench, done.name),
        evidence="recorded",
        expected=expected,
        observed=_seen(bench, turns),
        size=float(np.degrees(along.mean())),
        unit="deg",
        uncertainty=max(float(np.degrees(error.max())), turn_uncertainty(done)),
        wrong_pass_bound=gyro.wrong_pass_bound if outcome is Outcome.PASS else None,
        reason=reason,
    )


def unit_cell(bench: Bench, done: Done, gyro: Cell) -> Cell:
    """Judge the turn of the unit's own attitude against what the airframe did."""
    axis = turn_axis(done.name)
    expected = symbol(axis, AXIS_NAMES)
    angles = bench.even.unit_attitude
    if not done.good or angles is None:
        return blank_cell(bench, done.name, "unit attitude", Outcome.NOT_SHOWN, expected, done.reason)
    real = np.array([real_turn(bench, m) for m in done.good])
    turns = np.array(
        [
            _turned_by_unit(angles[m.move.start : m.move.stop], float(np.linalg.norm(turn)))
            for m, turn in zip(done.good, real, strict=True)
            if m.move is not None
        ]
    )
    if not np.all(np.isfinite(turns)):
        return blank_cell(
            bench, done.name, "unit attitude", Outcome.NOT_SHOWN, expected, "the unit gave no attitude there"
        )
    off = max(angle_between(t, r) for t, r in zip(turns, real, strict=True))
    sizes = np.linalg.norm(turns, axis=1) / np.linalg.norm(real, axis=1)
    if not bench.wirings.gyro.max() > 1 - WRONG:
        outcome, reason = Outcome.NOT_SHOWN, "what the airframe did is not yet certain"
    elif off > OTHER_MOTION:
        outcome = Outcome.FAIL
        reason = f"the unit's own attitude turns {symbol(turns.mean(axis=0), AXIS_NAMES)} where {expected} is right"
    elif off < SENSE_ANGLE and np.all(np.abs(sizes - 1) < _UNIT_SIZE):
        outcome, reason = Outcome.PASS, "the unit's own attitude follows the airframe"
    else:
        outcome, reason = (
            Outcome.NOT_SHOWN,
            f"the unit's own attitude turns by {sizes.mean():.2f} of what the airframe did",
        )
    return Cell(
        motion=done.name,
        check="unit attitude",
        outcome=outcome,
        required=is_required(bench, done.name),
        evidence="recorded",
        expected=expected,
        observed=_seen(bench, turns),
        size=float(np.degrees(np.mean(turns @ axis))),
        unit="deg",
        uncertainty=turn_uncertainty(done),
        wrong_pass_bound=gyro.wrong_pass_bound if outcome is Outcome.PASS else None,
        reason=reason,
    )


def _seen(bench: Bench, turns: Matrix) -> str | None:
    """Name how an estimate turned; None where it is open what the airframe did, and so which motions to look at."""
    return symbol(turns.mean(axis=0), AXIS_NAMES) if bench.wirings.gyro.max() >= SURE else None


def _turned_by_unit(angles: Vector, real: float) -> Vector:
    """Give the turn of the unit's own attitude; beyond half a turn its ends do not tell it, and its steps are added."""
    if not np.all(np.isfinite(angles[[0, -1]])):
        return np.full(3, np.nan)
    if real < _WHOLE:
        ends = matrix_from_angles(angles[[0, -1]])
        return vector_from_matrix(ends[0].T @ ends[1])
    attitude = matrix_from_angles(angles[np.isfinite(angles).all(axis=1)])
    steps = np.swapaxes(attitude[:-1], -1, -2) @ attitude[1:]
    # sin of each step's angle, times its axis: of one step, never half a turn
    sines = np.stack([steps[:, 2, 1], steps[:, 0, 2], steps[:, 1, 0]], axis=1)
    sines = (sines - np.stack([steps[:, 1, 2], steps[:, 2, 0], steps[:, 0, 1]], axis=1)) / 2
    size = np.linalg.norm(sines, axis=1, keepdims=True).clip(1e-12, 1.0)
    total: Vector = (sines * np.arcsin(size) / size).sum(axis=0)
    return total


def _turned_by_filter(bench: Bench, motion: Motion) -> Vector:
    if motion.move is None:
        return np.zeros(3)
    ends = matrix_from_quaternion(bench.attitude.quaternion[[motion.move.start, motion.move.stop - 1]])
    return vector_from_matrix(ends[0].T @ ends[1])


def _wrapped(angle: Vector) -> Vector:
    """Bring angles to within half a turn."""
    wrapped: Vector = (angle + np.pi) % (2 * np.pi) - np.pi
    return wrapped
