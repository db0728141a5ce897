"""What the operator really did in each motion, and what forbids a pass whatever the wirings say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import TURNS, turn_axis, turn_word
from benchrig.outcome import Outcome
from benchrig.signals.body import IntArray
from benchrig.signals.motions import Motion
from benchrig.verdict.bench import Bench
from benchrig.verdict.limits import LARGEST_RESIDUAL, LARGEST_SIZE_ERROR, OTHER_MOTION, SURE
from benchrig.verdict.record import Cell
from benchrig.verdict.wirings import turned_under

CROSSING: Final = 0.3
"""As a part of what the motion asked for makes an actuator do: more than this from the turns beside it, and whoever
watches may see it stand still. Its gains about the axes may differ by as much again."""

NOT_MADE: Final = "it is not among the motions of this capture"
TAKEN_BACK: Final = "it was taken back, and not made again"
CONTESTED: Final = "which motions were others than asked is open, this one among them"
HELD: Final = 0.999
"""What the wirings that are told as possible hold between them."""


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

    @property
    def usable(self) -> tuple[Motion, ...]:
        """All that are fit to be judged by."""
        return (*self.good, *self.other)


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
    good = tuple(m for m in usable if angle_between(turns[id(m)], turn_axis(name)) <= OTHER_MOTION)
    other = tuple(m for m in usable if m not in good)
    if good:
        reason = ""
    elif other and any(name in blamed for blamed in contested(bench)):
        reason = CONTESTED
    elif other:
        turn = turns[id(other[0])]
        reason = f"asked {name}; saw {name_turn(turn)} by {np.degrees(np.linalg.norm(turn)):.0f}°"
    elif asked:
        reason = asked[0].gate
    else:
        reason = TAKEN_BACK if name in bench.recording.taken_back else NOT_MADE
    if bench.stillness.bias is None:
        reason = "the airframe never lay still on the bench, so the gyro's bias is not known"
    return Done(name, good, other, reason)


def likely(shares: Vector, held: float = HELD) -> IntArray:
    """Give the smallest set of wirings that holds so much of the probability, the likeliest first."""
    order = np.argsort(-shares, kind="stable")
    return order[: int(np.searchsorted(np.cumsum(shares[order]), held)) + 1]


def contested(bench: Bench) -> tuple[tuple[str, ...], ...]:
    """List the explanations of which motions were others than asked, where there are several; empty where not.

    Under each likely wiring of the gyro other prompts may be the wrong ones: both prompts of one axis made the wrong
    way round leave three such explanations, and no single one is what was seen.

    Returns
    -------
    tuple of tuple of str
        Of each explanation the motions that it blames, the likeliest first; empty for one that blames the wiring alone.
    """
    maps = likely(bench.wirings.gyro, SURE)
    made = [(m.name, m.move) for m in bench.motions if not m.gate and m.move is not None]
    turns = [(name, turned_under(move, bench.wirings.body_from_sensor)) for name, move in made]
    blamed = [
        tuple(dict.fromkeys(name for name, turn in turns if angle_between(turn[k], turn_axis(name)) > OTHER_MOTION))
        for k in maps
    ]
    ways = tuple(dict.fromkeys(blamed))
    return ways if ways[0] and len(ways) > 1 else ()


def name_turn(turn: Vector) -> str:
    """Name the hand motion nearest to a turn."""
    axis = int(np.argmax(np.abs(turn)))
    return turn_word(axis, 1 if turn[axis] > 0 else -1)


def crosses(effect: Vector, name: str, turn: Vector) -> bool:
    """Tell whether what a turn holds beside the motion asked for may undo an actuator's answer to that motion.

    Parameters
    ----------
    effect : ndarray, shape (3,)
        Of the actuator, as `Actuator.effect`.
    name : str
        The motion, one of `TURNS`.
    turn : ndarray, shape (3,), rad
        As it was really made, body axes.

    Examples
    --------
    >>> rotor = np.array([0.8, 0.6, 1.0])
    >>> crosses(rotor, "nose up", np.radians([2.0, 40.0, -3.0]))
    False
    >>> crosses(rotor, "nose up", np.radians([2.0, 40.0, -14.0]))
    True
    """
    wanted = effect * turn
    asked = wanted[TURNS[name][0]]
    against = wanted[wanted * asked < 0]
    return bool(np.abs(against).sum() > CROSSING * abs(asked))


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


def symbol(vector: Vector, names: Sequence[str]) -> str:
    """Name the axis a vector points along, with its sign: ``+q``."""
    axis = int(np.argmax(np.abs(vector)))
    return ("+" if vector[axis] > 0 else "-") + names[axis]


def angle_between(vector: Vector, axis: Vector) -> float:
    """Give the angle between two vectors, rad."""
    return float(np.arctan2(np.linalg.norm(np.cross(vector, axis)), vector @ axis))


def is_required(bench: Bench, name: str) -> bool:
    """Tell whether the verdict rests on a motion."""
    return name in bench.airframe.required_motions


def blank_cell(  # noqa: PLR0917 - a cell in the order of its fields
    bench: Bench, name: str, check: str, outcome: Outcome, expected: str | None, reason: str
) -> Cell:
    """Give a cell without a measurement: what was expected, and why nothing is shown."""
    required = is_required(bench, name) and outcome is not Outcome.NOT_APPLICABLE
    return Cell(name, check, outcome, required, "recorded", expected, None, None, "deg", None, None, reason)


def turn_uncertainty(done: Done) -> float:
    """Give one standard deviation of the turns of a motion, deg."""
    parts = [m.move.turn_uncertainty for m in done.good if m.move is not None]
    return float(np.degrees(np.sqrt(np.mean(np.square(parts)))))


def spoilt_by_gaps(bench: Bench) -> tuple[str, ...]:
    """Name the required motions that the stream broke off in, and that were not made again without a gap."""
    broken = [m.name for m in bench.motions if m.move is not None and m.move.gap]
    whole = {m.name for m in bench.motions if not m.gate}
    return tuple(name for name in dict.fromkeys(broken) if name not in whole and is_required(bench, name))
