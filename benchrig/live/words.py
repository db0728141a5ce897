"""The questions about what an actuator did: its own words, each on a key."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import ceil
from typing import Final

from benchrig.capture.prompts import STILL
from benchrig.declaration.actuators import DRIVES, Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.turns import TURNS
from benchrig.live.asking import MOST_OF_ONE
from benchrig.live.evidence import Evidence
from benchrig.live.view import Question

NOT_SEEN: Final = "n"
NONE_SEEN: Final = "x"
_STILL_KEY: Final = "s"

AT_ONCE: Final = 2
"""How many actuators are watched in one hold (common practice: more are guessed); more only where a motion would have
to be made more often than any motion is asked for."""


def questions_for(airframe: Airframe, recorded: Collection[str]) -> tuple[Question, ...]:
    """Give a question for each actuator whose pulses are not recorded; the motion's name is still empty.

    Parameters
    ----------
    airframe : Airframe
    recorded : collection of str
        Names of the actuators whose pulses are.
    """
    unseen = [a for a in airframe.actuators if a.name not in recorded and a.longer_pulse]
    return tuple(Question("", actuator.name, _answers(actuator, several=len(unseen) > 1)) for actuator in unseen)


def to_watch(
    questions: Sequence[Question], evidence: Evidence, motion: str, watched: Collection[str]
) -> tuple[str, ...]:
    """Name the actuators to be watched while a motion is held: few enough for one pair of eyes.

    Parameters
    ----------
    questions : sequence of Question
        One an actuator whose pulses are not recorded.
    evidence : Evidence
        What was seen so far: no actuator is watched twice in one motion.
    motion : str
    watched : collection of str
        That were watched already in this round, whatever was seen of them.
    """
    if motion not in TURNS:
        return ()
    seen = {look.actuator for entry in evidence.of(motion) for look in entry.looks}
    open_ = [question.actuator for question in questions if question.actuator not in {*seen, *watched}]
    return tuple(open_[: max(AT_ONCE, ceil(len(questions) / MOST_OF_ONE))])


def _answers(actuator: Actuator, *, several: bool) -> dict[str, str]:
    """Put the two ways in which it can move on keys, and three more answers.

    The two are the declared word and its opposite: a tail rotor declared by thrust is asked about by thrust.
    """
    words = DRIVES[actuator.drives]
    at = words.index(actuator.longer_pulse) // 2 * 2
    pair = words[at : at + 2]
    answers = {_key(word, pair): word for word in pair}
    answers |= {_STILL_KEY: STILL, NOT_SEEN: "not seen"}
    return answers | ({NONE_SEEN: "none of them seen"} if several else {})


def _key(word: str, pair: Collection[str]) -> str:
    """Take the first letter of what tells the two words apart."""
    other = next(w for w in pair if w != word).split()
    return next(part for part in word.split() if part not in other)[0]
