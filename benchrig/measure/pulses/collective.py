"""What the stick that lifts does to the channels: whether the plate rises, and every rotor gives more thrust."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt
from benchrig.declaration.actuators import Actuator
from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import PULSE_STEPS
from benchrig.measure.pulses.plate import lifting_sense
from benchrig.measure.pulses.steps import SLOPPINESS, Move, Steps
from benchrig.signals.body import BoolArray

SMALLEST_LIFT: Final = 20e-6
"""s: a channel that changes by less (about 2° of a servo) does not answer the stick."""

_ROUNDING: Final = 1e-6 / np.sqrt(6.0)  # s: of the difference of two whole microseconds
_SURE: Final = 5.0  # standard deviations
_COUNTS: Final = {1: "one", 2: "two", 3: "three", 4: "four"}


@dataclass(frozen=True, slots=True)
class Lift:
    """What `collective up` did to one channel.

    Attributes
    ----------
    change, uncertainty : float, s
        Of its pulse, the mean over all looks.
    sense : int
        +1 the way that lifts as declared, -1 the other way, 0 hardly at all, or not the same way each time.
    looks : int
        How often it was asked for.
    contradicts : bool
        Whether it clearly went one way in one look and the other way in another.
    """

    change: float
    uncertainty: float
    sense: int
    looks: int
    contradicts: bool = False

    @property
    def told(self) -> str:
        """How often it was seen, in words: ``by one look``."""
        return f"by {_COUNTS.get(self.looks, str(self.looks))} look{'' if self.looks == 1 else 's'}"


def span_of(prompt: Prompt, prompts: Sequence[Prompt]) -> tuple[float, float]:
    """Give the time in which a prompt's motion lies, with room for a person's stamps but not into its neighbours.

    Returns
    -------
    start, end : float, s
    """
    begin, finish = prompt.start or 0.0, prompt.end or 0.0
    earlier = [p.end for p in prompts if p.end is not None and p.end <= begin and p is not prompt]
    later = [p.start for p in prompts if p.start is not None and p.start >= finish and p is not prompt]
    room_before = 0.5 * (begin - max(earlier)) if earlier else SLOPPINESS
    room_after = 0.5 * (min(later) - finish) if later else SLOPPINESS
    return begin - min(SLOPPINESS, room_before), finish + min(SLOPPINESS, room_after)


def by_stick(prompts: Sequence[Prompt], when: Vector) -> BoolArray:
    """Tell when the channels were moved with the transmitter: from such a prompt to the next one of another kind.

    Parameters
    ----------
    prompts : sequence of Prompt
        All of the recording; those without times show nothing.
    when : ndarray, shape (P,), s

    Returns
    -------
    ndarray, shape (P,), bool
    """
    moved = np.zeros(len(when), dtype=np.bool_)
    for prompt in prompts:
        if prompt.name in PULSE_STEPS and prompt.start is not None and prompt.end is not None:
            # the way back is not prompted: it comes before what follows
            start, _ = span_of(prompt, prompts)
            later = [p.start for p in prompts if p.start is not None and p.start >= prompt.end and p is not prompt]
            moved |= (when >= start) & (when <= min(later, default=np.inf))
    return moved


def collective_lifts(
    actuators: Sequence[Actuator], prompts: Sequence[Prompt], channels: Mapping[str, Steps]
) -> Mapping[str, Lift]:
    """Measure what every `collective up` did to the channels of which it claims something.

    Parameters
    ----------
    actuators : sequence of Actuator
    prompts : sequence of Prompt
        All of the recording; those without times show nothing.
    channels : mapping of actuator name to Steps

    Returns
    -------
    mapping of actuator name to Lift
        Servos of the plate and lifting rotors whose pulses were recorded and stood still before and after; empty where
        the stick was never asked for.
    """
    spans = [span_of(p, prompts) for p in prompts if p.name == "collective up" and p.start is not None]
    if not spans:
        return {}
    return {
        actuator.name: _lift(actuator, [outward(channels[actuator.name], *span) for span in spans])
        for actuator in actuators
        if lifting_sense(actuator)
        and actuator.name in channels
        and all(_stood(channels[actuator.name], *span) for span in spans)
    }


def _stood(channel: Steps, start: float, end: float) -> bool:
    """Tell whether a channel stood at all in a span, if only after a move: one that never does shows no change."""
    if channel.moves(start, end):
        return True
    ends = (max(start, float(channel.pulses.time[0])), min(end, float(channel.pulses.time[-1])))
    return not channel.stirs(start, end) and all(any(h.start <= t <= h.end for h in channel.holds) for t in ends)


def outward(channel: Steps, start: float, end: float) -> Move | None:
    """Give the way from where a channel stood to the furthest place that it held in a span; None if it stayed."""
    moves = channel.moves(start, end)
    if not moves:
        return None
    before = moves[0].before
    return Move(before, max((m.after for m in moves), key=lambda hold: abs(hold.value - before.value)))


def _lift(actuator: Actuator, moves: Sequence[Move | None]) -> Lift:
    changes = np.array([0.0 if move is None else move.change for move in moves])
    spreads = np.array([_ROUNDING if move is None else move.uncertainty for move in moves])
    clear = [abs(c) >= SMALLEST_LIFT and abs(c) > _SURE * s for c, s in zip(changes, spreads, strict=True)]
    ways = {int(np.sign(c)) if told else 0 for c, told in zip(changes, clear, strict=True)}
    both = set(ways)
    sense = lifting_sense(actuator) * ways.pop() if len(ways) == 1 else 0
    spread = float(np.sqrt(np.mean(spreads**2) / len(spreads)))
    return Lift(float(changes.mean()), spread, sense, len(moves), contradicts={-1, 1} <= both)
