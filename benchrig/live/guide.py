"""The guide: what a moment of sensing, or a key, means for the person at the bench, and what comes next.

Pure functions of a state: nothing here reads a clock, a port or a disk.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from benchrig.live import view
from benchrig.live.asking import Ask
from benchrig.live.course import ask_anew, go_on_watching, with_entry
from benchrig.live.evidence import Entry, Look
from benchrig.live.resting import back_to_level, lie_still, rested, returned, stay, wait
from benchrig.live.sighting import IN_WORDS, Sighting
from benchrig.live.state import Around, Change, State
from benchrig.live.turning import hold, move, moving
from benchrig.live.view import Cue, Phase
from benchrig.live.watch import Sensed
from benchrig.live.words import NONE_SEEN, NOT_SEEN

_Moment = Callable[[State, Sensed, Around], Change]
_PHASES: Final[Mapping[Phase, _Moment]] = {
    "waiting": wait,
    "lie still": lie_still,
    "move": move,
    "moving": moving,
    "hold": hold,
    "return": back_to_level,
    "question": stay,
    "judging": wait,
    "finished": stay,
}

_TOO_SOON_S: Final = 2.0  # after a prompt nobody has made a motion and come back


def sense(state: State, sensed: Sensed, around: Around) -> Change:
    """Say what follows from a moment of sensing."""
    return _PHASES[state.phase](replace(state, now=sensed.time), sensed, around)


def press(state: State, key: str, around: Around) -> Change:
    """Say what follows from a key; one that means nothing now changes nothing."""
    if state.phase == "finished":
        return Change(state)
    match key:
        case view.QUIT:
            change = stop(state, "stopped; everything is kept")
        case view.REPEAT:
            change = Change(state, (Cue.QUESTION if state.phase == "question" else Cue.BEGIN,))
        case view.BACK:
            change = _answer_back(state) if _has_answer(state) else _take_back(state, around)
        case view.NEXT:
            change = _without(state, around)
        case view.UNSURE:
            change = Change(state.saying("an enter right after a letter is not taken: press it again to go on", ""))
        case _ if state.phase == "question":
            change = _answer(state, key, around)
        case _:
            change = Change(state.saying(f'"{key}" answers nothing now: no question is asked', ""))
    return change


def stop(state: State, why: str) -> Change:
    """End the session; a motion that is going on is kept as far as it came."""
    if state.phase in {"moving", "hold"}:
        state = with_entry(state, Sighting("restless", ""), state.now)
    return Change(replace(state.enter("finished"), motion="", questions=()).saying(why, ""), (Cue.FINISHED,))


def _answer(state: State, key: str, around: Around) -> Change:
    """Keep what was seen, and ask about the next actuator, or go on."""
    question = state.questions[0]
    if key == NONE_SEEN:
        state = state.saying("none of them was seen: kept as not seen", "")
        return _questioned(replace(state, questions=(), answered=(*state.answered, *state.questions)), around)
    if key not in question.answers:
        return Change(state.saying(f'"{key}" is none of the answers', ""))
    if key != NOT_SEEN:
        look = Look(question.actuator, question.answers[key])
        state = replace(state, evidence=state.evidence.with_look(look))
    state = state.saying(f"{question.actuator}: {question.answers[key]}", "")
    return _questioned(replace(state, questions=state.questions[1:], answered=(*state.answered, question)), around)


def _has_answer(state: State) -> bool:
    """Say whether the latest thing that can be taken back is an answer: nothing was begun since."""
    return bool(state.answered) and state.phase in {"question", "judging", "move", "lie still"}


def _answer_back(state: State) -> Change:
    """Ask about the actuator once more that was answered for last."""
    *before, question = state.answered
    asked = state
    if state.phase != "question":
        # the next motion was asked for already: the same once more, to watch others, or another one
        names = [each.actuator for each in state.answered] if state.watched else []
        watched = tuple(name for name in state.watched if name not in names)
        number = max(0, state.number - (state.phase != "judging"))
        motion = state.evidence.entries[-1].name
        asked = replace(state, motion=motion, number=number, watching=tuple(names), watched=watched)
    asked = replace(asked.enter("question"), questions=(question, *state.questions), answered=tuple(before))
    asked = replace(asked, evidence=asked.evidence.without_look(question.actuator))
    return Change(asked.saying(f"the answer for {question.actuator} is taken back", ""), (Cue.QUESTION,), ("judge",))


def _questioned(state: State, around: Around) -> Change:
    if state.questions:
        return Change(state, (Cue.QUESTION,), ("judge",))
    return Change(state, (), ("judge",)).then(go_on_watching(state, replace(around, current=False)))


def _without(state: State, around: Around) -> Change:
    """Go on although what is waited for was not seen; the time until now is kept under its prompt."""
    if state.phase == "lie still":
        return rested(state, Sighting("restless", "went on without a still rest"), around)
    if state.phase == "move" and state.now - state.since < _TOO_SOON_S:
        first = f"make the motion first: {IN_WORDS.get(state.motion, 'turn it about all axes')}"
        return Change(state.saying(f"{first}. If it is made already, go on again: what the unit showed is kept", ""))
    if state.phase in {"move", "moving", "hold"}:
        kept = with_entry(state, Sighting("nothing" if state.phase == "move" else "restless", ""), state.now)
        said = f"{state.motion} is kept as the unit showed it"
        kept = replace(kept.enter("return"), pending="").saying(said, "")
        return Change(kept, (Cue.DONE,), ("judge",))
    if state.phase == "return":
        return returned(state, around)
    if state.phase == "question":
        return _answer(state, NOT_SEEN, around)
    return Change(state)


def _take_back(state: State, around: Around) -> Change:
    """Take the latest motion back, or the one that is going on: it is kept apart, and asked for anew."""
    if state.phase in {"moving", "hold"}:
        begun = with_entry(state, Sighting("restless", ""), state.now)
        evidence = begun.evidence.without_last()
        anew = replace(begun.enter("return"), evidence=evidence, pending="anew")
        return Change(anew.saying(f"{state.motion} is taken back: back to level", ""), (Cue.AGAIN,), ("judge",))
    if not state.evidence.entries:
        return Change(state.saying("there is nothing to take back yet", ""))
    last = state.evidence.entries[-1]
    taken = replace(state, evidence=state.evidence.without_last(), questions=(), rounds=_rounds_without(state, last))
    taken = taken.saying(f"{last.name} is taken back, and asked for anew", "")
    if state.phase == "return":
        return Change(replace(taken, pending="anew"), (Cue.AGAIN,), ("judge",))
    before = replace(taken, number=max(0, taken.number - (2 if state.phase in {"move", "lie still"} else 1)))
    return Change(before, (), ("judge",)).then(ask_anew(before, Ask(last.name), around))


def _rounds_without(state: State, last: Entry) -> tuple[str, ...]:
    """Take the latest round off where it was this motion's: after the return it has been counted already."""
    counted = state.phase != "return" and state.rounds[-1:] == (last.name,)
    return state.rounds[:-1] if counted else state.rounds
