"""The sensing part of the matrix: what gyro, accelerometer, filter and unit say of each motion."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.geometry.turns import RATE_NAMES, TURNS, turn_axis
from benchrig.outcome import Outcome
from benchrig.verdict.bench import Bench
from benchrig.verdict.done import (
    Done,
    accelerometer_size_is_wrong,
    blank_cell,
    doubts,
    gyro_size_is_wrong,
    is_required,
    likely,
    real_turn,
    symbol,
    turn_uncertainty,
    what_was_done,
)
from benchrig.verdict.estimates import attitude_cell, unit_cell
from benchrig.verdict.limits import COHERENT_OPERATOR, SURE, WRONG
from benchrig.verdict.record import Cell, WiringFound
from benchrig.verdict.wirings import UPSIDE_DOWN

FORCE_NAMES: Final = ("fx", "fy", "fz")
_OTHERWISE: Final = "another axis or sign"


def judge_sensing(bench: Bench, names: Sequence[str]) -> tuple[Cell, ...]:
    """Judge the sensors in each motion.

    Parameters
    ----------
    bench : Bench
    names : sequence of str
        The motions of the matrix, required or prompted.

    Returns
    -------
    tuple of Cell
    """
    cells = [_level_cell(bench)]
    for name in names:
        done = what_was_done(bench, name)
        gyro = _gyro_cell(bench, done)
        accelerometer = _accelerometer_cell(bench, done)
        cells += [gyro, accelerometer, attitude_cell(bench, done, gyro, accelerometer)]
        if bench.even.unit_attitude is not None:
            cells.append(unit_cell(bench, done, gyro))
    return tuple(cells)


def found_wiring(bench: Bench, which: Literal["gyro", "accelerometer"]) -> WiringFound:
    """Say how a sensor is really wired."""
    shares = bench.wirings.gyro if which == "gyro" else bench.wirings.accelerometer
    held = likely(shares)
    if not bench.wirings.pairs and bench.level is None:
        return WiringFound(Outcome.NOT_SHOWN, None, None, ())
    wrong, right = float(shares[1:].sum()), float(shares[0])
    outcome = _decide(wrong, right, blocked=bool(doubts(bench)))
    others = tuple(bench.wirings.mounting(int(k)) for k in held[1:])
    return WiringFound(outcome, bench.wirings.mounting(int(held[0])), float(shares[held[0]]), others)


def _decide(wrong: float, right: float, *, blocked: bool) -> Outcome:
    if right < WRONG:
        return Outcome.FAIL
    return Outcome.PASS if wrong < WRONG and not blocked else Outcome.NOT_SHOWN


def _reads(bench: Bench, shares: Vector, axis: Vector) -> tuple[float, float, Vector | None]:
    """Give the mass of the maps that read `axis` wrongly and rightly, and what is read instead, where that is sure."""
    declared: Matrix = bench.wirings.body_from_sensor
    read = np.array([declared @ s.T @ declared.T @ axis for s in SIGNED_PERMUTATIONS])
    same = np.linalg.norm(read - axis, axis=1) < 0.1  # noqa: PLR2004 - signed axes differ by 1.4 or not at all
    likeliest: Vector = read[int(np.argmax(shares))]
    alike = np.linalg.norm(read - likeliest, axis=1) < 0.1  # noqa: PLR2004 - as above
    told = likeliest if float(shares[alike].sum()) >= SURE else None
    return float(shares[~same].sum()), float(shares[same].sum()), told


def _named(read: Vector | None, names: Sequence[str]) -> str | None:
    return None if read is None else symbol(read, names)


def _level_cell(bench: Bench) -> Cell:
    expected = "-fz"
    if bench.level_force is None:
        reason = "no level rest on the bench before the first motion: put it down level and still for 3 s"
        return Cell(
            "level", "accelerometer", Outcome.NOT_SHOWN, True, "recorded", expected, None, None, "g", None, None, reason
        )
    wrong, right, read = _reads(bench, bench.wirings.accelerometer, np.array([0.0, 0.0, -1.0]))
    outcome = _decide(wrong, right, blocked=bool(doubts(bench)))
    reason = "at rest the accelerometer reads up, as declared" if outcome is Outcome.PASS else _doubt(bench, wrong)
    if accelerometer_size_is_wrong(bench):
        outcome, reason = Outcome.FAIL, f"at rest it reads {bench.size:.2f} g where 1 g is right"
    elif outcome is Outcome.FAIL:
        reason = "at rest, level, gravity shows on another axis or sign than declared"
    size = float(np.linalg.norm(bench.level_force)) / STANDARD_GRAVITY
    bound = wrong + UPSIDE_DOWN if outcome is Outcome.PASS else None
    return Cell(
        "level",
        "accelerometer",
        outcome,
        True,
        "recorded",
        expected,
        _named(read, FORCE_NAMES),
        size,
        "g",
        0.06,
        bound,
        reason,
    )


def _doubt(bench: Bench, wrong: float) -> str:
    found = doubts(bench)
    return "; ".join(found) if found else f"other wirings still hold {wrong:.1g} of the probability"


def _gyro_cell(bench: Bench, done: Done) -> Cell:
    axis = turn_axis(done.name)
    expected = symbol(axis, RATE_NAMES)
    if not done.good:
        return blank_cell(bench, done.name, "gyro", Outcome.NOT_SHOWN, expected, done.reason)
    wrong, right, read = _reads(bench, bench.wirings.gyro, axis)
    outcome = _decide(wrong, right, blocked=bool(doubts(bench)))
    turns = [float(real_turn(bench, m) @ axis) for m in done.good]
    reason = {
        Outcome.PASS: f"the gyro reads {expected} as it should",
        Outcome.FAIL: f"the airframe turned {done.name}, the unit reads {_named(read, RATE_NAMES) or _OTHERWISE}",
    }.get(outcome, _doubt(bench, wrong))
    if gyro_size_is_wrong(bench) and bench.scale is not None and outcome is not Outcome.FAIL:
        outcome = Outcome.FAIL
        reason = f"right axis, wrong size: the gyro reads {bench.scale.ratio:.3g} times what gravity shows"
    return Cell(
        motion=done.name,
        check="gyro",
        outcome=outcome,
        required=is_required(bench, done.name),
        evidence="recorded",
        expected=expected,
        observed=_named(read, RATE_NAMES),
        size=float(np.degrees(np.mean(turns))),
        unit="deg",
        uncertainty=turn_uncertainty(done),
        wrong_pass_bound=wrong + COHERENT_OPERATOR if outcome is Outcome.PASS else None,
        reason=reason,
    )


def _accelerometer_cell(bench: Bench, done: Done) -> Cell:
    kind, sign = TURNS[done.name]
    if kind == 2:  # noqa: PLR2004 - yaw
        return blank_cell(
            bench, done.name, "accelerometer", Outcome.NOT_APPLICABLE, None, "gravity does not show a turn about itself"
        )
    # nose up brings gravity's reading towards +x, right side down towards -y
    axis = np.array([0.0, -sign, 0.0]) if kind == 0 else np.array([float(sign), 0.0, 0.0])
    expected = symbol(axis, FORCE_NAMES)
    if not done.good:
        return blank_cell(bench, done.name, "accelerometer", Outcome.NOT_SHOWN, expected, done.reason)
    wrong, right, read = _reads(bench, bench.wirings.accelerometer, axis)
    outcome = _decide(wrong, right, blocked=bool(doubts(bench)))
    reason = {
        Outcome.PASS: f"gravity moves towards {expected} as it should",
        Outcome.FAIL: f"gravity moves towards {_named(read, FORCE_NAMES) or _OTHERWISE} where {expected} is right",
    }.get(outcome, _doubt(bench, wrong))
    if accelerometer_size_is_wrong(bench) and outcome is not Outcome.FAIL:
        outcome, reason = Outcome.FAIL, f"right axis, wrong size: at rest it reads {bench.size:.2f} g"
    angles = [np.degrees(m.move.gravity_angle) for m in done.good if m.move is not None]
    return Cell(
        motion=done.name,
        check="accelerometer",
        outcome=outcome,
        required=is_required(bench, done.name),
        evidence="recorded",
        expected=expected,
        observed=_named(read, FORCE_NAMES),
        size=float(np.mean(angles)),
        unit="deg",
        uncertainty=3.0,
        wrong_pass_bound=wrong + COHERENT_OPERATOR + UPSIDE_DOWN if outcome is Outcome.PASS else None,
        reason=reason,
    )
