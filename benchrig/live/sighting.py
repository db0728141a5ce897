"""What an attempt at a motion looked like to the unit, in words for the person who made it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.turns import TURNS, turn_axis
from benchrig.live.watch import Sensed
from benchrig.signals.motions import SMALLEST_TURN
from benchrig.verdict.done import angle_between, name_turn
from benchrig.verdict.limits import OTHER_MOTION, TILT_WITNESS

Result = Literal["good", "other", "small", "quick", "restless", "gap", "blind", "nothing", "asked"]
"""good: as asked. other: another turn than asked. small: too small to count. quick: back before it was held. restless:
never held still. gap: the stream broke off. blind: gravity turned and the gyro did not. nothing: nothing was seen.
asked: kept at times given from outside, not looked at."""

WANTED_DEG: Final = (25.0, 50.0)
"""Turn asked for, deg. The judge takes 20° as well: a little more is asked for, so that a small slip does not cost a
repeat."""

IN_WORDS: Final = {
    "nose up": "nose up",
    "nose down": "nose down",
    "roll right": "right side down",
    "roll left": "left side down",
    "yaw right": "nose to the right",
    "yaw left": "nose to the left",
    "turntable clockwise": "clockwise, seen from above",
    "turntable counter-clockwise": "counter-clockwise, seen from above",
}
"""Each turn as one sees the airframe do it."""

_SLOPPY: Final = np.radians(30.0)

MOST_REPEATS: Final = 2
"""How often a motion is asked for again, before it is left as it is."""


@dataclass(frozen=True, slots=True)
class Sighting:
    """What was seen of one attempt.

    Attributes
    ----------
    result : Result
    sentence : str
        For the person.
    again : bool
        Whether the same motion is asked for once more.
    shown : str
        The other motion that it looked like; empty where it was as asked, or none.
    is_fine : bool
        Whether the person is to take it for well done.
    """

    result: Result
    sentence: str
    again: bool = False
    shown: str = ""
    is_fine: bool = True


def wanting(result: Result, finding: str, motion: str, repeats: int) -> Sighting:
    """Say what an attempt lacked, and ask for it once more, or leave it as it is.

    Parameters
    ----------
    finding : str
        The beginning of the sentence.
    repeats : int
        How often this motion was asked for again before.
    """
    if repeats >= MOST_REPEATS:
        return Sighting(result, f"{finding}: kept as it is, and on to the next", is_fine=False)
    return Sighting(result, f"{finding}: {_once_more(motion)}", again=True, is_fine=False)


def look_at(
    motion: str, sensed: Sensed, body_from_sensor: Matrix, *, is_clear: bool, repeats: int = 0, before: str = ""
) -> Sighting:
    """Say what a held turn looked like.

    While the wiring is not clear nobody is told which way the unit read a turn, and nothing is asked for again because
    of it: a unit that is turned, or has a wrong sign, shows another motion than the right one that was made, and
    whoever then turns the other way, until the program is content, hides the fault. Such a motion is kept like any
    other, and is asked for again later if it is still needed.

    Parameters
    ----------
    motion : str
        That was asked for, one of `TURNS`.
    sensed : Sensed
        At the end of the hold; turns from the rest before.
    body_from_sensor : ndarray, shape (3, 3)
        The mounting by which turns are told.
    is_clear : bool
        Whether it is certain enough to correct a person by it.
    repeats : int
        How often this motion was asked for again before.
    before : str
        The other motion that the attempt before looked like.
    """
    turn = sensed.in_body(body_from_sensor)
    angle, tilt = float(np.linalg.norm(turn)), sensed.gravity_angle
    if angle < SMALLEST_TURN and tilt > TILT_WITNESS:
        sentence = f"gravity turned by {_deg(tilt)}, the gyro shows {_deg(angle)}: kept as it is"
        return Sighting("blind", sentence, is_fine=False)
    if angle < SMALLEST_TURN:
        return wanting("small", f"turned by {_deg(angle)}, {WANTED_DEG[0]:.0f}° or more are wanted", motion, repeats)
    off = angle_between(turn, turn_axis(motion))
    if not is_clear:
        shown = name_turn(turn) if off > OTHER_MOTION else ""
        return Sighting("other" if shown else "good", f"turned by {_deg(angle)}: kept", shown=shown)
    if off > OTHER_MOTION:
        return _other(motion, turn, repeats, before)
    if off > _SLOPPY:
        sentence = f"{motion} by {_deg(angle)}, with some {_beside(motion, turn)}: kept; about one axis alone is better"
        return Sighting("good", sentence)
    return Sighting("good", f"{motion} by {_deg(angle)}")


def _other(motion: str, turn: Vector, repeats: int, before: str) -> Sighting:
    """Tell of another turn than asked; what was seen twice is not asked for a third time."""
    shown = name_turn(turn)
    seen = f"asked {motion}, saw {shown} by {_deg(float(np.linalg.norm(turn)))}"
    if shown == before:
        return Sighting("other", f"{seen}, once more: kept, the verdict weighs it", shown=shown, is_fine=False)
    if repeats >= MOST_REPEATS:
        return Sighting("other", f"{seen}: kept, the verdict weighs it", shown=shown, is_fine=False)
    return Sighting("other", f"{seen}: {_once_more(motion)}", again=True, shown=shown, is_fine=False)


def _once_more(motion: str) -> str:
    return f"once more, please: {IN_WORDS[motion]}" if motion in IN_WORDS else "once more, please"


def _beside(motion: str, turn: Vector) -> str:
    """Name the largest turn about another axis than the one asked for."""
    rest = turn.copy()
    rest[TURNS[motion][0]] = 0.0
    return name_turn(rest)


def _deg(angle: float) -> str:
    return f"{np.degrees(angle):.0f}°"
