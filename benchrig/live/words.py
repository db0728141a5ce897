"""The questions about what an actuator did: its own words, each on a key."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from benchrig.capture.prompts import STILL
from benchrig.declaration.actuators import DRIVES, Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.live.view import Question

NOT_SEEN: Final = "n"
NONE_SEEN: Final = "x"
_STILL_KEY: Final = "s"


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
