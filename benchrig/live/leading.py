"""What leads a session: the guide, or the prompts of a capture that is played again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

from benchrig.capture.manifest import Manifest
from benchrig.live import guide
from benchrig.live.evidence import Entry, Evidence, Look
from benchrig.live.state import Act, Around, Change, State
from benchrig.live.view import QUIT, Cue
from benchrig.live.watch import Sensed
from benchrig.signals.motions import SLOPPINESS


class Leading(Protocol):
    """What follows from samples and keys."""

    @property
    def routine(self) -> tuple[str, ...]:
        """Motions without times, for the manifest; empty where they have some."""

    def begin(self) -> State:
        """Give the first state."""

    def sense(self, state: State, sensed: Sensed, around: Around) -> Change:
        """Say what follows from a moment of sensing."""

    def press(self, state: State, key: str, around: Around) -> Change:
        """Say what follows from a key."""

    def stop(self, state: State, why: str) -> Change:
        """End the session."""


class Guide:
    """Asks for motions, and looks at what is made of them."""

    routine: tuple[str, ...] = ()

    def begin(self) -> State:
        """Begin with nothing."""
        return State()

    def sense(self, state: State, sensed: Sensed, around: Around) -> Change:
        """Guide through a moment."""
        return guide.sense(state, sensed, around)

    def press(self, state: State, key: str, around: Around) -> Change:
        """Take a key."""
        return guide.press(state, key, around)

    def stop(self, state: State, why: str) -> Change:
        """End."""
        return guide.stop(state, why)


@dataclass(frozen=True, slots=True)
class Script:
    """The prompts of a stored capture, at its own times: nothing is asked, and nothing is looked at.

    Parameters
    ----------
    entries : tuple of Entry
        In order of time.
    routine : tuple of str
        In place of times.
    """

    entries: tuple[Entry, ...]
    routine: tuple[str, ...] = ()

    def begin(self) -> State:
        """Begin with what has no times."""
        return State(evidence=Evidence(self.entries) if self.routine else Evidence())

    def sense(self, state: State, sensed: Sensed, around: Around) -> Change:  # noqa: ARG002 - as Leading
        """Keep each prompt once its time is over, and show the one that goes on."""
        if state.phase == "finished":
            return Change(state)  # stopped by a key or a signal: samples that still come do not begin it again
        state = replace(state, now=sensed.time)
        if self.routine:
            return Change(state if state.phase == "moving" else replace(state.enter("moving"), motion="free"))
        kept = self._kept(state, sensed.time)
        going = next((e for e in self.entries if e.start <= sensed.time < e.end), None)
        cues = [Cue.DONE] if len(kept.evidence.entries) > len(state.evidence.entries) else []
        if going is None:
            shown = kept if kept.phase == "return" else replace(kept.enter("return"), motion="")
        elif kept.phase == "moving" and kept.motion == going.name:
            shown = kept
        else:
            shown = replace(kept.enter("moving"), motion=going.name, number=kept.number + 1, start=going.start)
            cues.append(Cue.BEGIN)
        acts: list[Act] = ["judge"] if Cue.DONE in cues else []
        if Cue.BEGIN in cues:
            acts.append("anchor")
        return Change(shown, tuple(cues), tuple(acts))

    def _kept(self, state: State, until: float) -> State:
        held = len(state.evidence.entries)
        ended = tuple(entry for entry in self.entries[held:] if entry.end <= until)
        if not ended:
            return state  # new evidence, though equal, would have the manifest written anew with every sample
        return replace(state, evidence=replace(state.evidence, entries=(*state.evidence.entries, *ended)))

    def press(self, state: State, key: str, around: Around) -> Change:  # noqa: ARG002 - as Leading
        """Only the end can be asked for."""
        if key == QUIT:
            return self.stop(state, "stopped; everything is kept")
        return Change(state.saying("a capture is played again: it can be stopped, and nothing else", ""))

    def stop(self, state: State, why: str) -> Change:
        """End; a prompt that ended a little after the last sample, as a person's times may, is kept too."""
        kept = state if self.routine else self._kept(state, state.now + SLOPPINESS)
        return Change(replace(kept.enter("finished"), motion="").saying(why, ""), (Cue.FINISHED,))


def script_of(described: Manifest) -> Script:
    """Give the prompts of a capture's manifest, each motion's looks with its first."""
    routine = tuple(p.name for p in described.prompts if p.start is None)
    looks: dict[str, list[Look]] = {}
    for seen in described.seen:
        looks.setdefault(seen.motion, []).append(Look(seen.actuator, seen.moved))
    entries = tuple(
        Entry(p.name, p.start or 0.0, p.end or 0.0, looks=tuple(looks.pop(p.name, ())), label=p.label)
        for p in described.prompts
    )
    return Script(entries, routine)
