"""The course of a session: asking, keeping an attempt as evidence, and going on.

Nothing is dropped because it looks otherwise than asked: every attempt becomes an entry of the evidence, and the judge
weighs them all.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from benchrig.live.asking import Ask, Stop
from benchrig.live.evidence import Entry
from benchrig.live.sighting import Sighting
from benchrig.live.state import Around, Change, State
from benchrig.live.view import Cue, Phase
from benchrig.live.words import to_watch

REMINDED_S: Final = 15.0
"""After this long without what is waited for, the person is told again what it is."""

_WITHOUT_TURN: Final = frozenset({"small", "quick", "restless", "nothing"})
_MOMENT_S: Final = 0.05
_SHORTEST_S: Final = 0.01


def go_on(state: State, around: Around) -> Change:
    """Ask for what comes next, or stop, or wait for the judge."""
    decided = around.asking.next(state.evidence, state.rounds, around.judged, current=around.current)
    if decided is None:
        return Change(state if state.phase == "judging" else replace(state.enter("judging"), motion=""))
    if isinstance(decided, Stop):
        return Change(replace(state.enter("finished"), motion="").saying(decided.why, ""), (Cue.FINISHED,))
    return ask_anew(state, decided, around)


def go_on_watching(state: State, around: Around) -> Change:
    """Ask for the same motion once more where actuators are left to be watched in it; else go on."""
    last = state.evidence.entries[-1]
    watched = (*state.watched, *state.watching)
    if last.name != state.motion or last.result != "good" or not state.watching:
        return go_on(state, around)
    left = to_watch(around.questions, state.evidence, last.name, watched)
    if not left:
        return go_on(state, around)
    again = replace(state, number=state.number + 1, repeats=0, watching=left, watched=watched)
    return ask(again, Ask(last.name, f"{last.name} once more: now watch {' and '.join(left)}"))


def ask_anew(state: State, decided: Ask, around: Around) -> Change:
    """Ask for a motion as the next one, with what is to be watched in it."""
    watching = to_watch(around.questions, state.evidence, decided.motion, ())
    return ask(replace(state, number=state.number + 1, repeats=0, watching=watching, watched=()), decided)


def ask(state: State, decided: Ask) -> Change:
    """Ask for a motion, watching what is to be watched."""
    if decided.why:
        state = state.saying(decided.why, "")
    phase: Phase = "lie still" if decided.motion == "level" else "move"
    state = replace(state.enter(phase), motion=decided.motion, pending="", largest=0.0, rested=0.0, left_bench=None)
    return Change(replace(state, start=state.now), (Cue.BEGIN,), ("anchor",))


def attempted(state: State, sighting: Sighting, end: float) -> Change:
    """Keep an attempt, say what was seen of it, and wait for the return to level."""
    state = with_entry(state, sighting, end)
    state = replace(state.enter("return"), pending="again" if sighting.again else "")
    state = state.saying(sighting.sentence, "good" if sighting.is_fine else "again" if sighting.again else "")
    return Change(state, (Cue.AGAIN if sighting.again else Cue.DONE,), ("judge",))


def with_entry(state: State, sighting: Sighting, end: float) -> State:
    """Keep an attempt as evidence, from its start to `end`; no two entries overlap, as no two motions do.

    Of an attempt that ended in no turn that counts, the end alone is kept: all of its time would touch the rest after
    the motion before, and a judge that looks for the turn that answers it might take that one's way back.
    """
    state = replace(state, answered=())  # of a motion before: no longer the latest thing
    start = end - _MOMENT_S if sighting.result in _WITHOUT_TURN else state.start
    start = round(max(start, state.evidence.until), 3)
    entry = Entry(state.motion, start, round(max(end, start + _SHORTEST_S), 3), sighting.result, shown=sighting.shown)
    return replace(state, evidence=state.evidence.with_entry(entry))


def reminded(state: State, said: str) -> Change:
    """Say again what is waited for, where it has been long."""
    if state.now - state.reminded < REMINDED_S:
        return Change(state)
    return Change(replace(state, reminded=state.now).saying(said, "again"), (Cue.AGAIN,))
