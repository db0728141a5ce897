"""What the operator does with the airframe in the hand: tilts, the free wave, and the rests between them."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.turns import AXIS_NAMES, TURNS, turn_word
from benchrig.simulation.draft import Draft, standing
from benchrig.simulation.faults import Faults
from benchrig.simulation.hand import hand_turn, wave
from benchrig.simulation.made import Made

_SIZE_DEG: Final = (25.0, 45.0)
_WAVE_S: Final = 5.0


def really_done(asked: str, faults: Faults) -> str:
    """Give the motion an operator makes when asked for `asked`."""
    axis, sign = TURNS[asked]
    wrong = asked in faults.values("operator-wrong")
    wrong ^= AXIS_NAMES[axis] in faults.values("operator-wrong-pair")
    wrong ^= faults.has("operator-reversed") and axis in (0, 1)
    if asked in faults.values("operator-other"):
        axis = (axis + 1) % 3
    return turn_word(axis, -sign if wrong else sign)


def rest_level(draft: Draft, seconds: float) -> None:
    """Rest upright on the bench; what is still in the hand is put down first."""
    draft.stand()
    if draft.lifted:
        begin = draft.now
        draft.lifted = False
        draft.leg(0.6, (draft.pose.inv() * standing(draft.plane, draft.heading)).as_rotvec(), np.zeros(3))
        draft.shake(begin)
        draft.still(0.3)
    start = draft.now
    draft.still(seconds)
    draft.made.append(Made("level", "level", start, start, draft.now, draft.now, np.zeros(3)))


def turn_by_hand(draft: Draft, asked: str, slop_deg: float) -> None:
    """Turn the airframe by hand, hold it, and bring it back."""
    draft.stand()
    size = draft.rng.uniform(*_SIZE_DEG)
    if draft.faults.has("short-tilts"):
        short = draft.faults.number("short-tilts", size) * draft.rng.uniform(0.9, 1.1)
        slop_deg, size = slop_deg * short / size, short
    done = really_done(asked, draft.faults)
    turn = hand_turn(draft.rng, done, size, slop_deg, np.radians(draft.faults.number("operator-nose", 0.0)))
    lift = np.array([*draft.rng.normal(0.0, 0.03, 2), -draft.rng.uniform(0.05, 0.15)])
    start = draft.now
    draft.leg(draft.draw_move(), turn, lift)
    held = draft.now
    hold = draft.draw_pause(0.8, 1.3)
    draft.still(hold if draft.faults.has("no-rest") else max(hold, draft.hold_s))
    released = draft.now
    draft.go_back(lift)
    draft.made.append(Made(asked, done, start, held, released, draft.now, turn))
    draft.rest(start)


def wave_freely(draft: Draft) -> None:
    """Turn the airframe about all axes, with no direction claimed."""
    draft.stand()
    start = draft.now
    attitude, place = wave(draft.rng, start, start + _WAVE_S)
    draft.turns.append(attitude)
    draft.sways.append(place)
    draft.still(_WAVE_S)
    draft.made.append(Made("free", "free", start, draft.now, draft.now, draft.now, np.zeros(3)))
    draft.rest(start)
