"""The sensing part of the matrix: what gyro, accelerometer, filter and unit say of each motion."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import (
    SIGNED_PERMUTATIONS,
    matrix_from_angles,
    matrix_from_quaternion,
    vector_from_matrix,
)
from benchrig.geometry.turns import AXIS_NAMES, RATE_NAMES, TURNS, turn_axis, turn_word
from benchrig.signals.motions import Motion
from benchrig.verdict.bench import Bench
from benchrig.verdict.limits import (
    COHERENT_OPERATOR,
    LARGEST_RESIDUAL,
    LARGEST_SIZE_ERROR,
    OTHER_MOTION,
    SENSE_ANGLE,
    WRONG,
)
from benchrig.verdict.record import Cell, Outcome, WiringFound
from benchrig.verdict.scale import LARGEST_RATIO_ERROR
from benchrig.verdict.wirings import UPSIDE_DOWN, turned_under

FORCE_NAMES: Final = ("fx", "fy", "fz")
_HELD: Final = 0.999  # what the smallest set of wirings must hold
_UNIT_SIZE: Final = 0.25
_FILTER_SLACK: Final = np.radians(6.0)


@dataclass(frozen=True, slots=True, eq=False)
class Done:
    """A motion that was asked for, with what the airframe really did.

    Attributes
    ----------
    good : tuple of Motion
        Fit to be judged by, and about the axis asked for.
    other : tuple of Motion
        Fit to be judged by, but another motion than asked.
    reason : str
        Why there is no evidence, where `good` is empty.
    """

    name: str
    good: tuple[Motion, ...]
    other: tuple[Motion, ...]
    reason: str


def real_turn(bench: Bench, motion: Motion) -> Vector:
    """Give what the airframe did in a motion, by the likeliest wiring: a turn in body axes, shape (3,), rad."""
    likeliest = int(np.argmax(bench.wirings.gyro))
    if motion.move is None:
        return np.zeros(3)
    turn: Vector = turned_under(motion.move, bench.wirings.body_from_sensor)[likeliest]
    return turn


def what_was_done(bench: Bench, name: str) -> Done:
    """Sort the prompts of one name by whether they were followed."""
    asked = [m for m in bench.motions if m.name == name]
    usable = [m for m in asked if not m.gate]
    turns = {id(m): real_turn(bench, m) for m in usable}
    good = tuple(m for m in usable if _angle(turns[id(m)], turn_axis(name)) <= OTHER_MOTION)
    other = tuple(m for m in usable if m not in good)
    if good:
        reason = ""
    elif other:
        turn = turns[id(other[0])]
        reason = f"asked {name}; saw {name_turn(turn)} by {np.degrees(np.linalg.norm(turn)):.0f}°"
    elif asked:
        reason = asked[0].gate
    else:
        reason = "it was not asked for in this capture"
    if bench.stillness.bias is None:
        reason = "the airframe never lay still on the bench, so the gyro's bias is not known"
    return Done(name, good, other, reason)


def name_turn(turn: Vector) -> str:
    """Name the hand motion nearest to a turn."""
    axis = int(np.argmax(np.abs(turn)))
    return turn_word(axis, 1 if turn[axis] > 0 else -1)


def doubts(bench: Bench) -> tuple[str, ...]:
    """Say what forbids every pass, whatever the wirings say."""
    found = []
    residual = bench.wirings.residual_rms
    if not bench.wirings.pairs:
        found.append("no two rests with a turn between them")
    elif residual > LARGEST_RESIDUAL:
        found.append(f"gyro and accelerometer disagree by {residual * 1000:.0f} mg rms")
    if bench.level is None:
        found.append("no level rest on the bench at the start")
    return tuple(found)


def gyro_size_is_wrong(bench: Bench) -> bool:
    """Tell whether the gyro's angles differ from gravity's by more than the limit."""
    return bench.scale is not None and bench.scale.is_off


def accelerometer_size_is_wrong(bench: Bench) -> bool:
    """Tell whether the accelerometer's reading at rest differs from g by more than the limit."""
    return bench.size is not None and abs(bench.size - 1) > LARGEST_SIZE_ERROR


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
        cells += [gyro, accelerometer, _attitude_cell(bench, done, gyro, accelerometer)]
        if bench.even.unit_attitude is not None:
            cells.append(_unit_cell(bench, done, gyro))
    return tuple(cells)


def found_wiring(bench: Bench, which: Literal["gyro", "accelerometer"]) -> WiringFound:
    """Say how a sensor is really wired."""
    shares = bench.wirings.gyro if which == "gyro" else bench.wirings.accelerometer
    order = np.argsort(-shares, kind="stable")
    held = int(np.searchsorted(np.cumsum(shares[order]), _HELD)) + 1
    if not bench.wirings.pairs and bench.level is None:
        return WiringFound(Outcome.NOT_SHOWN, None, None, ())
    wrong, right = float(shares[1:].sum()), float(shares[0])
    outcome = _decide(wrong, right, blocked=bool(doubts(bench)))
    others = tuple(bench.wirings.mounting(int(k)) for k in order[1:held])
    return WiringFound(outcome, bench.wirings.mounting(int(order[0])), float(shares[order[0]]), others)


def _decide(wrong: float, right: float, *, blocked: bool) -> Outcome:
    if right < WRONG:
        return Outcome.FAIL
    return Outcome.PASS if wrong < WRONG and not blocked else Outcome.NOT_SHOWN


def _reads(bench: Bench, shares: Vector, axis: Vector) -> tuple[float, float, Vector]:
    """Give the mass of the maps that read `axis` wrongly and rightly, and what the likeliest map reads instead."""
    declared: Matrix = bench.wirings.body_from_sensor
    read = np.array([declared @ s.T @ declared.T @ axis for s in SIGNED_PERMUTATIONS])
    same = np.linalg.norm(read - axis, axis=1) < 0.1  # noqa: PLR2004 - signed axes differ by 1.4 or not at all
    return float(shares[~same].sum()), float(shares[same].sum()), read[int(np.argmax(shares))]


def _symbol(vector: Vector, names: Sequence[str]) -> str:
    axis = int(np.argmax(np.abs(vector)))
    return ("+" if vector[axis] > 0 else "-") + names[axis]


def _angle(vector: Vector, axis: Vector) -> float:
    return float(np.arctan2(np.linalg.norm(np.cross(vector, axis)), vector @ axis))


def _required(bench: Bench, name: str) -> bool:
    return name in bench.airframe.required_motions


def _blank(  # noqa: PLR0917 - a cell in the order of its fields
    bench: Bench, name: str, check: str, outcome: Outcome, expected: str | None, reason: str
) -> Cell:
    required = _required(bench, name) and outcome is not Outcome.NOT_APPLICABLE
    return Cell(name, check, outcome, required, "recorded", expected, None, None, "deg", None, None, reason)


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
    size = float(np.linalg.norm(bench.level_force)) / 9.80665
    bound = wrong + UPSIDE_DOWN if outcome is Outcome.PASS else None
    return Cell(
        "level",
        "accelerometer",
        outcome,
        True,
        "recorded",
        expected,
        _symbol(read, FORCE_NAMES),
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
    expected = _symbol(axis, RATE_NAMES)
    if not done.good:
        return _blank(bench, done.name, "gyro", Outcome.NOT_SHOWN, expected, done.reason)
    wrong, right, read = _reads(bench, bench.wirings.gyro, axis)
    outcome = _decide(wrong, right, blocked=bool(doubts(bench)))
    turns = [float(real_turn(bench, m) @ axis) for m in done.good]
    reason = {
        Outcome.PASS: f"the gyro reads {expected} as it should",
        Outcome.FAIL: f"the airframe turned {done.name}, the unit reads {_symbol(read, RATE_NAMES)}",
    }.get(outcome, _doubt(bench, wrong))
    if gyro_size_is_wrong(bench) and bench.scale is not None and outcome is not Outcome.FAIL:
        outcome = Outcome.FAIL
        reason = f"right axis, wrong size: the gyro reads {bench.scale.ratio:.3g} times what gravity shows"
    return Cell(
        motion=done.name,
        check="gyro",
        outcome=outcome,
        required=_required(bench, done.name),
        evidence="recorded",
        expected=expected,
        observed=_symbol(read, RATE_NAMES),
        size=float(np.degrees(np.mean(turns))),
        unit="deg",
        uncertainty=_turn_uncertainty(done),
        wrong_pass_bound=wrong + COHERENT_OPERATOR if outcome is Outcome.PASS else None,
        reason=reason,
    )


def _turn_uncertainty(done: Done) -> float:
    parts = [m.move.turn_uncertainty for m in done.good if m.move is not None]
    return float(np.degrees(np.sqrt(np.mean(np.square(parts)))))


def _accelerometer_cell(bench: Bench, done: Done) -> Cell:
    kind, sign = TURNS[done.name]
    if kind == 2:  # noqa: PLR2004 - yaw
        return _blank(
            bench, done.name, "accelerometer", Outcome.NOT_APPLICABLE, None, "gravity does not show a turn about itself"
        )
    # nose up brings gravity's reading towards +x, right side down towards -y
    axis = np.array([0.0, -sign, 0.0]) if kind == 0 else np.array([float(sign), 0.0, 0.0])
    expected = _symbol(axis, FORCE_NAMES)
    if not done.good:
        return _blank(bench, done.name, "accelerometer", Outcome.NOT_SHOWN, expected, done.reason)
    wrong, right, read = _reads(bench, bench.wirings.accelerometer, axis)
    outcome = _decide(wrong, right, blocked=bool(doubts(bench)))
    reason = {
        Outcome.PASS: f"gravity moves towards {expected} as it should",
        Outcome.FAIL: f"gravity moves towards {_symbol(read, FORCE_NAMES)} where {expected} is right",
    }.get(outcome, _doubt(bench, wrong))
    if accelerometer_size_is_wrong(bench) and outcome is not Outcome.FAIL:
        outcome, reason = Outcome.FAIL, f"right axis, wrong size: at rest it reads {bench.size:.2f} g"
    angles = [np.degrees(m.move.gravity_angle) for m in done.good if m.move is not None]
    return Cell(
        motion=done.name,
        check="accelerometer",
        outcome=outcome,
        required=_required(bench, done.name),
        evidence="recorded",
        expected=expected,
        observed=_symbol(read, FORCE_NAMES),
        size=float(np.mean(angles)),
        unit="deg",
        uncertainty=3.0,
        wrong_pass_bound=wrong + COHERENT_OPERATOR + UPSIDE_DOWN if outcome is Outcome.PASS else None,
        reason=reason,
    )


def _turned_by_filter(bench: Bench, motion: Motion) -> Vector:
    if motion.move is None:
        return np.zeros(3)
    ends = matrix_from_quaternion(bench.attitude.quaternion[[motion.move.start, motion.move.stop - 1]])
    return vector_from_matrix(ends[0].T @ ends[1])


def _attitude_cell(bench: Bench, done: Done, gyro: Cell, accelerometer: Cell) -> Cell:
    axis = turn_axis(done.name)
    expected = _symbol(axis, AXIS_NAMES)
    if not done.good:
        return _blank(bench, done.name, "attitude", Outcome.NOT_SHOWN, expected, done.reason)
    turns = np.array([_turned_by_filter(bench, m) for m in done.good])
    along = turns @ axis
    real = np.array([_wrapped(float(real_turn(bench, m) @ axis)) for m in done.good])
    off = max(_angle(t, axis) for t in turns)
    inputs_pass = gyro.outcome is Outcome.PASS and accelerometer.outcome in {Outcome.PASS, Outcome.NOT_APPLICABLE}
    close = bool(np.all(np.abs(along - real) < np.maximum(LARGEST_RATIO_ERROR * np.abs(real), _FILTER_SLACK)))
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
        required=_required(bench, done.name),
        evidence="recorded",
        expected=expected,
        observed=_symbol(turns.mean(axis=0), AXIS_NAMES),
        size=float(np.degrees(along.mean())),
        unit="deg",
        uncertainty=max(float(np.degrees(np.abs(along - real).max())), _turn_uncertainty(done)),
        wrong_pass_bound=gyro.wrong_pass_bound if outcome is Outcome.PASS else None,
        reason=reason,
    )


def _wrapped(angle: float) -> float:
    """Bring an angle to within half a turn: an attitude cannot count turns."""
    return float((angle + np.pi) % (2 * np.pi) - np.pi)


def _unit_cell(bench: Bench, done: Done, gyro: Cell) -> Cell:
    axis = turn_axis(done.name)
    expected = _symbol(axis, AXIS_NAMES)
    angles = bench.even.unit_attitude
    if not done.good or angles is None:
        return _blank(bench, done.name, "unit attitude", Outcome.NOT_SHOWN, expected, done.reason)
    pairs = [
        (angles[m.move.start], angles[m.move.stop - 1], real_turn(bench, m)) for m in done.good if m.move is not None
    ]
    if not np.all(np.isfinite([p[:2] for p in pairs])):
        return _blank(bench, done.name, "unit attitude", Outcome.NOT_SHOWN, expected, "the unit gave no attitude there")
    turns = np.array([vector_from_matrix(matrix_from_angles(a).T @ matrix_from_angles(b)) for a, b, _ in pairs])
    real = np.array([t for *_, t in pairs])
    off = max(_angle(t, r) for t, r in zip(turns, real, strict=True))
    sizes = np.linalg.norm(turns, axis=1) / np.linalg.norm(real, axis=1)
    known = bool(bench.wirings.gyro.max() > 1 - WRONG)
    if not known:
        outcome, reason = Outcome.NOT_SHOWN, "what the airframe did is not yet certain"
    elif off > OTHER_MOTION:
        outcome = Outcome.FAIL
        reason = f"the unit's own attitude turns {_symbol(turns.mean(axis=0), AXIS_NAMES)} where {expected} is right"
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
        required=_required(bench, done.name),
        evidence="recorded",
        expected=expected,
        observed=_symbol(turns.mean(axis=0), AXIS_NAMES),
        size=float(np.degrees(np.mean(turns @ axis))),
        unit="deg",
        uncertainty=_turn_uncertainty(done),
        wrong_pass_bound=gyro.wrong_pass_bound if outcome is Outcome.PASS else None,
        reason=reason,
    )
