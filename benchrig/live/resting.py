"""The moments at rest: the level rest that the bias is taken from, and the return to level after a motion."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from benchrig.geometry.turns import TURNS
from benchrig.live.asking import Ask
from benchrig.live.course import ask, go_on, go_on_watching, reminded, with_entry
from benchrig.live.sighting import Sighting
from benchrig.live.state import HOLD_S, LEVEL_S, Act, Around, Change, State
from benchrig.live.view import Cue, Question
from benchrig.live.watch import Sensed
from benchrig.verdict.done import crosses

_READ_S: Final = 1.0  # where it lies still already: why it is asked for once more must be readable
_LOST_REST_S: Final = 1.0  # a level rest that lasted so long and broke off is worth a word
_LET_GO_S: Final = 3.0  # on the bench without a move: it is let go of, wherever its nose points
_LEVEL: Final = np.radians(12.0)  # of the level rest: a hand puts it down no better


def wait(state: State, sensed: Sensed, around: Around) -> Change:  # noqa: ARG001 - all phases are called alike
    """Begin, or ask again whether the judge has been heard."""
    return go_on(state, around)


def stay(state: State, sensed: Sensed, around: Around) -> Change:  # noqa: ARG001 - all phases are called alike
    """Let nothing follow from what the airframe does."""
    return Change(state)


def lie_still(state: State, sensed: Sensed, around: Around) -> Change:
    """Wait for a rest on the bench that is long enough."""
    if sensed.bench_for >= LEVEL_S and sensed.time - state.since >= _READ_S:
        return rested(replace(state, start=sensed.time - sensed.bench_for), Sighting("good", "level and still"), around)
    if state.rested > _LOST_REST_S > sensed.bench_for:
        state = replace(state, rested=sensed.bench_for, reminded=state.now)
        return Change(state.saying(f"it moved: hands off, level, for {LEVEL_S:.0f} s", "again"), (Cue.AGAIN,))
    return reminded(replace(state, rested=sensed.bench_for), _restless(sensed))


def rested(state: State, sighting: Sighting, around: Around) -> Change:
    """Keep a level rest that ends now, and go on."""
    kept = with_entry(state, sighting, state.now).saying(sighting.sentence, "good")
    kept = replace(kept, rounds=(*kept.rounds, state.motion))
    settle: Act = "settle level" if len(kept.evidence.of("level")) == 1 else "settle"
    if around.questions and settle == "settle level":
        kept = kept.saying("level and still. From now on each prompt names what to watch", "good")
    return Change(kept, (Cue.DONE,), (settle, "judge")).then(go_on(kept, around))


def _restless(sensed: Sensed) -> str:
    spread = f"gyro ± {np.degrees(sensed.gyro_sd):.1f} °/s, accelerometer ± {1e3 * sensed.acceleration_sd:.0f} mg"
    return f"not still enough yet ({spread}): level on the bench, hands off, motor off"


def back_to_level(state: State, sensed: Sensed, around: Around) -> Change:
    """Wait until the airframe is at rest and level again."""
    # held in the hand after a yaw it is level too: a rest must have begun since, or it lies where it was let go of
    new_rest = sensed.time - sensed.still_for >= state.since
    if sensed.still_for < HOLD_S or not (new_rest or sensed.bench_for >= _LET_GO_S):
        return reminded(state, "back to level, and at rest for a moment")
    if sensed.lean > _LEVEL:
        return reminded(state, f"not level yet, it leans by {np.degrees(sensed.lean):.0f}°: back to level")
    change = returned(state, around)
    return Change(change.state, change.cues, ("settle", *change.acts)) if sensed.bench_for >= HOLD_S else change


def returned(state: State, around: Around) -> Change:
    """Go on after a motion: the same again, questions about it, or the next."""
    if state.pending:
        repeats = state.repeats + (state.pending == "again")
        return ask(replace(state, repeats=repeats), Ask(state.motion))
    if not state.watched:
        state = replace(state, rounds=(*state.rounds, state.motion))
    asked = _questions(state, around)
    if asked:
        return Change(replace(state.enter("question"), questions=asked, answered=()), (Cue.QUESTION,), ("judge",))
    return Change(state, (), ("judge",)).then(go_on_watching(state, replace(around, current=False)))


def _questions(state: State, around: Around) -> tuple[Question, ...]:
    """Ask about each actuator that was to be watched in this motion, where the motion was as asked.

    What was seen in another motion than asked would be written down under the wrong name: a reversed servo would look
    right in it. Nor is anybody asked what an actuator did where the turns beside the motion may have undone it.
    """
    last = state.evidence.entries[-1]
    if last.result != "good" or last.name not in TURNS:
        return ()
    undone = {name for name, effect in around.effects.items() if crosses(effect, last.name, np.array(state.turn))}
    return tuple(replace(q, motion=last.name) for q in around.questions if q.actuator in {*state.watching} - undone)
