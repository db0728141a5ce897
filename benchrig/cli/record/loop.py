"""The door's loop: what the session sees goes to the screen, what the keyboard says goes to the session."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from benchrig.cli.record.sounds import Bells
from benchrig.cli.record.voice import Voice, spoken
from benchrig.live.view import QUIT, Step, View

FRAME_S: Final = 0.05
"""s between two drawings, and the longest that a step waits for samples."""


class Guided(Protocol):
    """A session, as far as its door goes."""

    @property
    def finished(self) -> bool: ...  # noqa: D102 - whether nothing more is asked

    def step(self, keys: Sequence[str], timeout: float) -> Step:
        """Take what came, and say what to show."""


class Display(Protocol):
    """What shows the views."""

    is_lost: bool

    def show(self, view: View, now: float) -> None:
        """Show a view as it is at `now`, s."""

    def ring(self, bell: str) -> None:
        """Ring."""


@dataclass(frozen=True, slots=True)
class Door:
    """Everything between a session and a person.

    Attributes
    ----------
    display : Display
    pressed : callable
        Gives the keys pressed since it was called last.
    stop_asked : callable
        Says whether a signal asked to stop.
    bells : Bells or None
        None for silence.
    voice : Voice or None
    clock : callable
        Gives s, evenly.
    """

    display: Display
    pressed: Callable[[], Sequence[str]]
    stop_asked: Callable[[], bool]
    bells: Bells | None = None
    voice: Voice | None = None
    clock: Callable[[], float] = time.monotonic


def guide(session: Guided, door: Door) -> View | None:
    """Run a session until it is finished or somebody stops it; give what was shown last."""
    drawn = -FRAME_S
    view: View | None = None
    while not session.finished:
        keys = list(door.pressed())
        if door.stop_asked() or door.display.is_lost:
            keys = [QUIT]
        step = session.step(keys, FRAME_S)
        now, view = door.clock(), step.view
        if step.cues or session.finished or now - drawn >= FRAME_S:
            door.display.show(view, now)
            drawn = now
        _heard(door, step, now)
    return view


def _heard(door: Door, step: Step, now: float) -> None:
    if door.bells is not None:
        bell = door.bells.ring(step.cues, now)
        if bell:
            door.display.ring(bell)
    if door.voice is not None and step.cues:
        door.voice.say(spoken(step.view, step.cues))
