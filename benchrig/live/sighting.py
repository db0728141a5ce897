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
_MANY: Final = 2  # repeats after which a motion is left as it is


@dataclass(frozen=True, slots=True)
class Sighting:
    """What was seen of one attempt: a result for the guide, and a sentence for the person."""

    result: Result
    sentence: str

    @property
    def asks_again(self) -> bool:
        """Whether the same motion made once more could show more."""
        return self.result not in {"good", "blind", "asked"}


def look_at(motion: str, sensed: Sensed, body_from_sensor: Matrix, repeats: int) -> Sighting:
    """Say what a held turn looked like.

    Parameters
    ----------
    motion : str
        That was asked for, one of `TURNS`.
    sensed : Sensed
        At the end of the hold; turns from the rest before.
    body_from_sensor : ndarray, shape (3, 3)
        The mounting by which turns are told.
    repeats : int
        How often this motion was asked for again before.
    """
    turn = sensed.in_body(body_from_sensor)
    angle, tilt = float(np.linalg.norm(turn)), sensed.gravity_angle
    if sensed.gap:
        return Sighting("gap", f"the stream broke off during {motion}: {once_more(motion, repeats)}")
    if angle < SMALLEST_TURN <= TILT_WITNESS < tilt:
        return Sighting("blind", f"gravity turned by {_deg(tilt)}, the gyro shows {_deg(angle)}: kept as it is")
    if angle < SMALLEST_TURN:
        finding = f"{motion} by {_deg(angle)} only, {WANTED_DEG[0]:.0f}° or more are wanted"
        return Sighting("small", f"{finding}: {once_more(motion, repeats)}")
    off = angle_between(turn, turn_axis(motion))
    if off > OTHER_MOTION:
        return Sighting("other", _otherwise(motion, turn, repeats))
    if off > _SLOPPY:
        beside = _beside(motion, turn)
        return Sighting("good", f"{motion} by {_deg(angle)}, with some {beside}: kept; about one axis only is better")
    return Sighting("good", f"{motion} by {_deg(angle)}")


def once_more(motion: str, repeats: int) -> str:
    """Ask for a motion again, or say that it is left as it is."""
    if repeats >= _MANY:
        return "kept as it is, and on to the next"
    return "once more, please" if motion not in IN_WORDS else f"once more, please, {IN_WORDS[motion]}"


def may_repeat(repeats: int) -> bool:
    """Tell whether a motion that was asked for again so often is asked for once more."""
    return repeats < _MANY


def _otherwise(motion: str, turn: Vector, repeats: int) -> str:
    """Tell of another turn than asked, without asking for a turn that would please the unit.

    A unit that is turned or has a wrong sign shows just this when the person did the right thing: whoever then turns
    the other way, until the program is content, hides the fault.
    """
    seen = f"asked {motion}; the unit shows {name_turn(turn)} by {_deg(float(np.linalg.norm(turn)))}"
    if not may_repeat(repeats):
        return f"{seen}: kept, the verdict weighs it; on to the next"
    return f"{seen}: {once_more(motion, repeats)}, as drawn, whatever the unit shows"


def _beside(motion: str, turn: Vector) -> str:
    """Name the largest turn about another axis than the one asked for."""
    rest = turn.copy()
    rest[TURNS[motion][0]] = 0.0
    return name_turn(rest)


def _deg(angle: float) -> str:
    return f"{np.degrees(angle):.0f}°"
