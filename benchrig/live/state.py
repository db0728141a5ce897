"""Where a session stands: everything the guide knows, unchanging, so that one moment follows from the one before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from benchrig.geometry.directions import Matrix, Vector
from benchrig.live.asking import Asking
from benchrig.live.evidence import Evidence, Judged
from benchrig.live.view import Cue, Phase, Question

LEVEL_S: Final = 3.0
"""How long a level rest is asked for, s."""

HOLD_S: Final = 0.6
"""How long a turn is held, and the airframe left at rest between two, s: the judge needs 0.4 s."""

LOOK_S: Final = 2.0
"""How long it is held where somebody watches what an actuator does meanwhile, s."""

Act = Literal["anchor", "settle", "settle level", "judge"]
"""What a moment asks of the session: count turns from here; take the gyro's bias here, and where gravity points; judge
everything so far."""

Mood = Literal["", "good", "again", "trouble"]


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """What the guide looks at besides its own state.

    Attributes
    ----------
    asking : Asking
    questions : sequence of Question
        One an actuator whose pulses are not recorded; the motion's name is left empty.
    mounting : ndarray, shape (3, 3)
        Body from sensor, by which turns are told; determinant -1 where it is mirrored.
    is_clear : bool
        Whether that is certain enough to tell a person of a wrong turn.
    judged : Judged or None
    current : bool
        Whether the judgement covers all of the evidence.
    effects : mapping of actuator to ndarray, shape (3,)
        What a longer pulse to each of them makes the airframe do, as `Actuator.effect`.
    """

    asking: Asking
    questions: Sequence[Question]
    mounting: Matrix
    is_clear: bool = False
    judged: Judged | None = None
    current: bool = False
    effects: Mapping[str, Vector] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class State:
    """One moment of the guide.

    Attributes
    ----------
    phase : Phase
    motion : str
        That is asked for.
    number : int
        Which it is, from 1.
    repeats : int
        How often it was asked for again.
    now : float, s
        Time of the latest sample that was looked at.
    since : float, s
        When this phase began.
    reminded : float, s
        When the person was last told what is waited for.
    start : float, s
        When the turn of this attempt began.
    largest : float, rad
        Largest turn of this attempt.
    turn : tuple of float, rad
        Of the latest hold, body axes.
    left_bench : float or None, s
        When the airframe was last as still as on the bench; None while it is.
    rested : float, s
        How long the level rest had lasted one moment ago.
    pending : {"", "again", "anew"}
        What follows the return to level: the next motion, this one as a repeat, or this one as if for the first time.
    said, mood : str
        The last sentence for the person, and its mood.
    evidence : Evidence
    rounds : tuple of str
        Motions that were asked for, each once, however often it was repeated.
    questions : tuple of Question
        Still to be answered, the one asked now first.
    answered : tuple of Question
        About the latest motion, in order: what can be taken back.
    watching : tuple of str
        Actuators that are to be watched while this motion is held.
    watched : tuple of str
        Those that were watched when the same motion was made before, in this round.
    """

    phase: Phase = "waiting"
    motion: str = ""
    number: int = 0
    repeats: int = 0
    now: float = 0.0
    since: float = 0.0
    reminded: float = 0.0
    start: float = 0.0
    largest: float = 0.0
    turn: tuple[float, float, float] = (0.0, 0.0, 0.0)
    left_bench: float | None = None
    rested: float = 0.0
    pending: Literal["", "again", "anew"] = ""
    said: str = ""
    mood: Mood = ""
    evidence: Evidence = field(default_factory=Evidence)
    rounds: tuple[str, ...] = ()
    questions: tuple[Question, ...] = ()
    answered: tuple[Question, ...] = ()
    watching: tuple[str, ...] = ()
    watched: tuple[str, ...] = ()

    @property
    def hold_s(self) -> float:
        """How long this motion is to be held, s."""
        return LOOK_S if self.watching else HOLD_S

    def asks_as(self, other: State) -> bool:
        """Tell whether the same is asked of the person as in another moment."""
        asked = (other.phase, other.motion, other.number, other.questions)
        return (self.phase, self.motion, self.number, self.questions) == asked

    def enter(self, phase: Phase) -> State:
        """Begin a phase."""
        return replace(self, phase=phase, since=self.now, reminded=self.now)

    def saying(self, said: str, mood: Mood) -> State:
        """Say something."""
        return replace(self, said=said, mood=mood)


@dataclass(frozen=True, slots=True)
class Change:
    """What follows from a moment: the next state, the sounds, and what is to be done, in order."""

    state: State
    cues: tuple[Cue, ...] = ()
    acts: tuple[Act, ...] = ()

    def then(self, other: Change) -> Change:
        """Join what came before to another change."""
        return Change(other.state, (*self.cues, *other.cues), (*self.acts, *other.acts))
