"""What the person at the bench is shown, and what the doors send back: the one face of a session."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final, Literal

from benchrig.errors import Problem

Phase = Literal["waiting", "lie still", "move", "moving", "hold", "return", "question", "judging", "finished"]
"""waiting: no samples yet; lie still: the bias is taken; move: a motion is asked for and nothing moves yet; hold: the
wanted turn is there and is being held; return: back to level; question: what did an actuator do; judging: at the end.
"""


class Cue(StrEnum):
    """A moment worth a sound."""

    BEGIN = "begin"
    DONE = "done"
    AGAIN = "again"
    QUESTION = "question"
    TROUBLE = "trouble"
    FINISHED = "finished"


REPEAT: Final = "repeat"
BACK: Final = "back"
QUIT: Final = "quit"
NEXT: Final = "next"
UNSURE: Final = "unsure"
"""What the keys of every door mean: say it again; take the last motion back; stop and keep everything; go on although
nothing was seen; go on, though perhaps it was not meant. An answer to a question is sent as its key, one character."""


@dataclass(frozen=True, slots=True)
class Question:
    """What did an actuator do in the motion before; `answers` gives each key its word."""

    motion: str
    actuator: str
    answers: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Heard:
    """What has come in so far: samples, rows lost and refused, s recorded, samples a second over the last second."""

    samples: int = 0
    lost: int = 0
    refused: int = 0
    seconds: float = 0.0
    rate_hz: float | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """What the judge says so far.

    Attributes
    ----------
    verdict, sensing, correction : str
        Words of `Outcome`; empty before the first judgement.
    cells : mapping of motion to mapping of check to outcome word
    found : str
        The gravest finding in words, or empty.
    """

    verdict: str = ""
    sensing: str = ""
    correction: str = ""
    cells: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    found: str = ""


@dataclass(frozen=True, slots=True)
class View:
    """One moment of a session.

    Attributes
    ----------
    phase : Phase
    motion : str
        The motion asked for; empty where none is.
    wanted_deg : tuple of float
        Least and largest turn asked for, deg; zeros where the motion claims none.
    number : int
        Which motion this is, from 1.
    turned_deg : tuple of float
        Turn since the last rest, deg, about roll, pitch and yaw, by `mounting`.
    mounting : {"open", "declared", "found"}
        By which mounting `turned_deg` is told, once the wiring is clear: the one declared, or the other that was found.
        While it is open, only the size of a turn is known: it stands at the axis asked for, whichever way the unit
        reads it, since a person who is shown the wrong way round would turn the wrong way round.
    held_s, hold_s : float
        How long it has been held, and how long is wanted, s.
    said : str
        What the program saw last, one sentence.
    mood : {"", "good", "again", "trouble"}
        Of `said`.
    question : Question or None
    watch : tuple of str
        Actuators to be watched while this motion is held.
    trouble : Problem or None
        That stands now.
    """

    phase: Phase
    motion: str = ""
    wanted_deg: tuple[float, float] = (0.0, 0.0)
    number: int = 0
    turned_deg: tuple[float, float, float] = (0.0, 0.0, 0.0)
    mounting: Literal["open", "declared", "found"] = "open"
    held_s: float = 0.0
    hold_s: float = 0.0
    said: str = ""
    mood: Literal["", "good", "again", "trouble"] = ""
    question: Question | None = None
    watch: tuple[str, ...] = ()
    trouble: Problem | None = None
    heard: Heard = Heard()
    standing: Standing = Standing()


@dataclass(frozen=True, slots=True)
class Step:
    """What one step of a session gives: the view, and the moments that came with it, in order."""

    view: View
    cues: tuple[Cue, ...] = ()
