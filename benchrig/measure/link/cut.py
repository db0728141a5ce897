"""One time that the transmitter was switched off: when the link was lost, and where every channel went."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt, Pulses
from benchrig.measure.pulses.collective import span_of
from benchrig.measure.pulses.estimate import Estimate, unknown
from benchrig.measure.pulses.steps import SLOPPINESS, Hold, Move, Steps

PROMPTED: Final = "by the prompt, which is a person's"
STOPPED: Final = "from when the commands stopped"
UNSTOPPED: Final = "by the prompt, since the recorded commands did not stop"
"""How the instant of the loss is known."""

_SILENCE: Final = 0.25
"""s without a pulse, from which on a channel counts as silent."""

_FRAMES: Final = 5.0  # a channel that is renewed seldom is silent only after so many of its frames
_FOLLOWS: Final = 0.3  # s: a move so soon after a command's is that command's
_AT_EDGE: Final = 0.05  # s: how far a hold may end before the stretch does
_LEAST_COMMAND: Final = 20e-6  # s


@dataclass(frozen=True, slots=True)
class Going:
    """What one channel did while the transmitter was off.

    Attributes
    ----------
    before, after : Hold
        Where it stood before, and at the end.
    moves : int
    is_settled : bool
        Whether it stood still at the end.
    is_silent : bool
        Whether its pulses stopped.
    back : Move or None
        The first move when the transmitter was on again.
    """

    before: Hold
    after: Hold
    moves: int
    is_settled: bool
    is_silent: bool
    back: Move | None

    @property
    def change(self) -> float:
        """Of the pulse, s."""
        return self.after.value - self.before.value


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """One `transmitter off` with what followed.

    Attributes
    ----------
    start : float, s
        Of its prompt.
    lost_at : Estimate, s
        When the link was lost: from the commands where they stop, else from the prompt.
    back_at : Estimate, s
        When it was restored, by the prompt.
    evidence : str
        What shows that the link was lost; empty where nothing does.
    still_on : str
        What shows that the transmitter was never off; empty where nothing does.
    goings : mapping of actuator name to Going
    """

    start: float
    lost_at: Estimate
    back_at: Estimate
    evidence: str
    still_on: str
    goings: Mapping[str, Going]


def cuts_of(
    prompts: Sequence[Prompt], channels: Mapping[str, Steps], commands: Mapping[str, Steps], row: float
) -> tuple[Cut, ...]:
    """Take apart every time that the transmitter was switched off.

    Parameters
    ----------
    prompts : sequence of Prompt
        All of the recording, with times.
    channels, commands : mapping of str to Steps
    row : float, s
        Between two rows.

    Returns
    -------
    tuple of Cut
    """
    found = []
    for prompt in prompts:
        if prompt.name == "transmitter off" and prompt.start is not None:
            on = next((p for p in prompts if p.name == "transmitter on" and (p.start or 0.0) >= prompt.start), None)
            found.append(_cut(prompt, on, prompts, channels, commands, row))
    return tuple(found)


def _cut(  # noqa: PLR0917 - one time of the recording, and all that was recorded
    off: Prompt,
    on: Prompt | None,
    prompts: Sequence[Prompt],
    channels: Mapping[str, Steps],
    commands: Mapping[str, Steps],
    row: float,
) -> Cut:
    start, end = span_of(off, prompts)
    back = None if on is None else span_of(on, prompts)
    end = end if back is None else max(end, back[0])
    goings = {name: g for name, c in channels.items() if (g := _going(c, start, end, back)) is not None}
    stopped = [t for c in commands.values() if (t := _silent_from(c.pulses, start, end)) is not None]
    prompted = Estimate(off.start, SLOPPINESS / np.sqrt(3.0), UNSTOPPED if commands else PROMPTED)
    return Cut(
        start=off.start or 0.0,
        lost_at=Estimate(max(stopped), row / np.sqrt(12.0), STOPPED) if stopped else prompted,
        back_at=unknown("no `transmitter on` follows")
        if on is None
        else Estimate(on.start, SLOPPINESS / np.sqrt(3.0), PROMPTED),
        evidence="the commands stopped" if stopped else _evidence(goings),
        still_on="" if stopped else _still_on(goings, channels, commands, (start, end)),
        goings=goings,
    )


def _going(channel: Steps, start: float, end: float, back: tuple[float, float] | None) -> Going | None:
    moves = channel.moves(start, end)
    after = channel.at(end)
    if after is None:
        return None
    returning = () if back is None else channel.moves(*back)
    last = float(channel.pulses.time[-1])
    return Going(
        before=moves[0].before if moves else after,
        after=after,
        moves=len(moves),
        is_settled=after.end >= min(end, last) - _AT_EDGE,
        is_silent=_silent_from(channel.pulses, start, end) is not None,
        back=returning[0] if returning else None,
    )


def _silent_from(pulses: Pulses, start: float, end: float) -> float | None:
    """Find when a channel fell silent in a span; None if it did not, or is often silent and shows nothing by it."""
    steps = np.diff(pulses.time)
    long = steps > max(_SILENCE, _FRAMES * float(np.median(steps))) if len(steps) else np.zeros(0, dtype=np.bool_)
    inside = long & (pulses.time[:-1] >= start) & (pulses.time[:-1] <= end)
    if (long & ~inside).any():
        return None  # it is written only when it changes
    if inside.any():
        return float(pulses.time[:-1][inside][0])
    # silent to the very end of the recording, while others go on
    return float(pulses.time[-1]) if start <= pulses.time[-1] < end - _SILENCE else None


def _evidence(goings: Mapping[str, Going]) -> str:
    went = [name for name, g in goings.items() if g.moves == 1]
    if went:
        return f"{', '.join(went)} went elsewhere"
    silent = [name for name, g in goings.items() if g.is_silent]
    if silent:
        return f"the pulses of {', '.join(silent)} stopped"
    jumped = [name for name, g in goings.items() if not g.moves and g.back is not None]
    return f"{', '.join(jumped)} jumped when it was on again" if jumped else ""


def _still_on(
    goings: Mapping[str, Going], channels: Mapping[str, Steps], commands: Mapping[str, Steps], span: tuple[float, float]
) -> str:
    wandering = [name for name, g in goings.items() if g.moves > 1]
    if wandering:
        return f"{', '.join(wandering)} moved {max(g.moves for g in goings.values())} times"
    asked = [m.before.end for c in commands.values() for m in c.moves(*span) if abs(m.change) > _LEAST_COMMAND]
    followed = [
        name
        for name in goings
        for move in channels[name].moves(*span)
        if any(0 <= move.before.end - when <= _FOLLOWS for when in asked)
    ]
    return f"{', '.join(dict.fromkeys(followed))} followed a command" if followed else ""
