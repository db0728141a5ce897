"""The moments of a motion: nothing moves yet, it turns, it is held."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from benchrig.live.course import attempted, reminded
from benchrig.live.sighting import IN_WORDS, Sighting, look_at, wanting
from benchrig.live.state import HOLD_S, Around, Change, State
from benchrig.live.view import Cue
from benchrig.live.watch import Sensed
from benchrig.signals.moves import SAME_POSE
from benchrig.signals.rests import SHORTEST_REST

_NOTICED: Final = np.radians(12.0)  # out and back by less is no attempt
_HANDLED_S: Final = 2.0  # off the bench for so long, and back without a turn: an attempt that showed nothing
_BACK_S: Final = 1.0
_LONGEST_MOVE_S: Final = 40.0
_WAVE_S: Final = 5.0
_SHORTEST_WAVE_S: Final = 3.0
_LYING_S: Final = 0.3
_TURN_S: Final = 2.0  # to turn it out

UNSEEN: Final = "no turn seen yet"
"""How a reminder begins that is no longer true once it turns."""


def move(state: State, sensed: Sensed, around: Around) -> Change:
    """Wait for the airframe to turn."""
    if sensed.gap:
        said = "the stream broke off: back to level, and then the same motion"
        return Change(replace(state.enter("return"), pending="anew").saying(said, "again"), (Cue.AGAIN,))
    if state.left_bench is None and sensed.grade != "bench":
        state = replace(state, left_bench=sensed.time)
    if sensed.angle >= SAME_POSE:
        start = max(min(sensed.left_at, sensed.time), state.since)
        if state.said.startswith(UNSEEN):
            state = state.saying("", "")
        return moving(replace(state.enter("moving"), start=start, largest=sensed.angle), sensed, around)
    if sensed.bench_for < _LYING_S:
        return reminded(state, _unseen(state, sensed))
    if not _was_handled(state, sensed):
        # as long as it lies still, turns count from now: the bias is not known for ever
        change = reminded(replace(state, left_bench=None), _unseen(state, sensed))
        return replace(change, acts=("anchor",))
    if sensed.bench_for < _BACK_S:
        return Change(state)
    begun = replace(state, start=state.left_bench or state.since)
    finding = "it was handled, and the unit shows no turn"
    return attempted(begun, wanting("nothing", finding, state.motion, state.repeats), sensed.time)


def _was_handled(state: State, sensed: Sensed) -> bool:
    """Tell whether it was off the bench long enough for a motion before it came to lie there again."""
    return state.left_bench is not None and sensed.time - sensed.bench_for - state.left_bench >= _HANDLED_S


def _unseen(state: State, sensed: Sensed) -> str:
    if sensed.gyro_sd == 0 and sensed.acceleration_sd == 0:
        return "every number stays the same: the unit has stopped measuring. Stop, and look at the unit and its wiring"
    what = IN_WORDS.get(state.motion, "turn it about all axes")
    return f"{UNSEEN}: {what}. If it is done already, go on: what the unit showed is kept"


def moving(state: State, sensed: Sensed, around: Around) -> Change:
    """Wait for the turn to be held."""
    state = replace(state, largest=max(state.largest, sensed.angle))
    if sensed.gap:
        finding = f"the stream broke off during {state.motion}"
        return attempted(state, wanting("gap", finding, state.motion, state.repeats), sensed.time)
    if state.motion == "free":
        return _wave(state, sensed)
    if sensed.time - state.start > _LONGEST_MOVE_S:
        finding = f"{state.motion} was not held still at its end"
        return attempted(state, wanting("restless", finding, state.motion, state.repeats), sensed.time)
    if sensed.angle < SAME_POSE:
        return _back_already(state, sensed)
    if sensed.still_for > 0:
        return hold(state.enter("hold"), sensed, around)
    return reminded(state, "hold it still at the end of the turn, for a moment")


def _back_already(state: State, sensed: Sensed) -> Change:
    """Tell an attempt that was not held from a wobble."""
    if sensed.still_for < SHORTEST_REST:
        return Change(state)
    if state.largest < _NOTICED:
        return Change(state.enter("move"), (), ("anchor",))
    finding = f"{state.motion} was back before it had been held for {state.hold_s:g} s"
    return attempted(state, wanting("quick", finding, state.motion, state.repeats), sensed.time)


def hold(state: State, sensed: Sensed, around: Around) -> Change:
    """Wait until the turn has been held long enough, and say what was seen."""
    if sensed.gap or not sensed.still_for or sensed.angle < SAME_POSE:
        return moving(state.enter("moving"), sensed, around)
    if sensed.still_for < (HOLD_S if _is_long_enough(state, sensed) else state.hold_s):
        return Change(replace(state, largest=max(state.largest, sensed.angle)))
    of_motion = state.evidence.of(state.motion)
    before = of_motion[-1].shown if of_motion and state.repeats else ""
    sighting = look_at(
        state.motion, sensed, around.mounting, is_clear=around.is_clear, repeats=state.repeats, before=before
    )
    roll, pitch, yaw = sensed.in_body(around.mounting).tolist()
    return attempted(replace(state, turn=(roll, pitch, yaw)), sighting, sensed.time)


def _is_long_enough(state: State, sensed: Sensed) -> bool:
    """Say whether there was time to watch, though hands that shake let no long rest come about."""
    return sensed.time - state.start >= state.hold_s + _TURN_S


def _wave(state: State, sensed: Sensed) -> Change:
    lasted = sensed.time - state.start
    if lasted >= _WAVE_S or (lasted >= _SHORTEST_WAVE_S and sensed.still_for >= HOLD_S):
        return attempted(state, Sighting("good", f"turned freely for {lasted:.0f} s"), sensed.time)
    if sensed.still_for >= HOLD_S and sensed.angle < SAME_POSE:
        finding = f"the wave ended after {lasted:.0f} s, {_WAVE_S:.0f} s are wanted"
        return attempted(state, wanting("quick", finding, "free", state.repeats), sensed.time)
    return Change(state)
