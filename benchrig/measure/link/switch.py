"""A switch of the transmitter: the positions to which it sends the channels, and flips that land between them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt
from benchrig.measure.measurement import Quantity
from benchrig.measure.pulses.collective import span_of
from benchrig.measure.pulses.estimate import Estimate, joined, unknown
from benchrig.measure.pulses.naming import times
from benchrig.measure.pulses.steps import Hold, Move, Steps
from benchrig.outcome import Finding

SAME: Final = 20e-6
"""s: places closer together than this (about 2° of a servo) are one position of a switch."""

_PAUSE: Final = 0.6  # s: who stays for longer has flipped it twice
UNNAMED: Final = "unnamed switch"


@dataclass(frozen=True, slots=True)
class Position:
    """A pulse at which a channel stood before or after a flip, and how often.

    Attributes
    ----------
    place : Estimate, s
    visits : int
    is_landing : bool
        Whether a flip led there: where a channel stood before the first one, it may have stood for another reason.
    """

    place: Estimate
    visits: int
    is_landing: bool


@dataclass(frozen=True, slots=True, eq=False)
class Switch:
    """What the flips of one switch do to one channel.

    Attributes
    ----------
    label, actuator : str
    flips : int
        How often the channel went from one position to another.
    positions : tuple of Position
        The shortest pulse first.
    pauses : tuple of Hold
        Where it stood for a while in the middle of a flip.
    strays : tuple of (float, float), s
        Where it landed and where its command of the same name did, which it had followed before.
    time : Estimate, s
        How long its longest move took.
    """

    label: str
    actuator: str
    flips: int
    positions: tuple[Position, ...]
    pauses: tuple[Hold, ...]
    strays: tuple[tuple[float, float], ...]
    time: Estimate

    @property
    def between(self) -> tuple[Position, ...]:
        """Positions that were visited once, and lie between others."""
        inner = self.positions[1:-1] if self.flips > 1 else ()
        return tuple(p for p in inner if p.visits == 1 and p.is_landing)


def labels_of(prompts: Sequence[Prompt]) -> tuple[str, ...]:
    """Give the names of the switches, in order."""
    return tuple(dict.fromkeys(p.label or UNNAMED for p in prompts if p.name == "switch" and p.start is not None))


def switches_of(
    prompts: Sequence[Prompt], channels: Mapping[str, Steps], commands: Mapping[str, Steps], row: float
) -> tuple[Switch, ...]:
    """Take apart every switch and every channel that it moves.

    Parameters
    ----------
    prompts : sequence of Prompt
        All of the recording, with times.
    channels, commands : mapping of str to Steps
    row : float, s
        Between two rows.

    Returns
    -------
    tuple of Switch
        One for each pair of a switch and a channel it moves.
    """
    found = []
    for label in labels_of(prompts):
        flips = [p for p in prompts if p.name == "switch" and p.start is not None and (p.label or UNNAMED) == label]
        spans = [span_of(p, prompts) for p in flips]
        for name, channel in channels.items():
            switch = _switch(label, name, channel, spans, row)
            command = commands.get(name)
            if switch is not None:
                found.append(switch if command is None else replace(switch, strays=_strays(channel, command, spans)))
    return tuple(found)


def _strays(channel: Steps, command: Steps, spans: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Find the flips after which a channel stands elsewhere than its command, if it stood there before them."""
    found = []
    for move in (m for span in spans for m in channel.moves(*span)):
        asked = [command.at(0.5 * (hold.start + hold.end)) for hold in (move.before, move.after)]
        if asked[0] is None or asked[1] is None or abs(move.before.value - asked[0].value) > SAME:
            continue
        if abs(move.after.value - asked[1].value) > SAME:
            found.append((move.after.value, asked[1].value))
    return tuple(found)


def _switch(label: str, name: str, channel: Steps, spans: Sequence[tuple[float, float]], row: float) -> Switch | None:
    moved = [move for span in spans for move in channel.moves(*span)]
    if not moved:
        return None
    pauses = [a.after for a, b in pairwise(moved) if a.after is b.before and _is_pause(a, b)]
    stands = [moved[0].before, *(m.after for m in moved if m.after not in pauses)]
    return Switch(
        label=label,
        actuator=name,
        flips=len(moved) - len(pauses),
        positions=tuple(_positions(stands)),
        pauses=tuple(pauses),
        strays=(),
        time=_duration(max(m.after.start - m.before.end for m in moved), row),
    )


def _is_pause(first: Move, second: Move) -> bool:
    """Tell whether a channel only paused between two moves of one sense."""
    return first.change * second.change > 0 and first.after.end - first.after.start < _PAUSE


def _duration(longest: float, row: float) -> Estimate:
    if longest < 1.5 * row:
        return unknown("it goes there within one pulse")
    return Estimate(longest, row / np.sqrt(6.0))


def _positions(stands: Sequence[Hold]) -> Iterator[Position]:
    ordered = sorted(stands, key=lambda hold: hold.value)
    groups: list[list[Hold]] = []
    for hold in ordered:
        if groups and hold.value - groups[-1][-1].value <= SAME:
            groups[-1].append(hold)
        else:
            groups.append([hold])
    for group in groups:
        place = joined([Estimate(h.value, h.uncertainty) for h in group], "")
        yield Position(place, len(group), any(h is not stands[0] for h in group))


def switch_quantities(switch: Switch) -> Iterator[Quantity]:
    """Give the positions, and how long the channel takes between them."""
    for number, position in enumerate(switch.positions, 1):
        value, spread = position.place.value, position.place.uncertainty
        name = f"{switch.label}: {switch.actuator}, position {number}"
        seen = f"it stood there {times(position.visits)}"
        yield Quantity(
            name, None if value is None else value * 1e6, None if spread is None else spread * 1e6, "us", seen
        )
    time = switch.time
    if time.value is None:
        return
    yield Quantity(f"{switch.label}: {switch.actuator}, longest move", time.value, time.uncertainty, "s", time.reason)


def switch_faults(switches: Sequence[Switch], labels: Sequence[str], recorded: Sequence[str]) -> Iterator[Finding]:
    """Name flips that land or pause between two positions, and switches that move nothing."""
    for switch in switches:
        ends = [p.place.value or 0.0 for p in (switch.positions[0], switch.positions[-1])]
        whole = f"{ends[0] * 1e6:.0f} and {ends[1] * 1e6:.0f} µs"
        odd = [(p.place.value or 0.0) * 1e6 for p in switch.between]
        if odd:
            text = f'Switch "{switch.label}": {switch.actuator} landed once at {odd[0]:.0f} µs, between {whole}.'
            fix = "A switch not fully thrown, or a position used once: flip it through all its positions twice more."
            yield Finding("switch-between", "not shown", text, fix)
        elif switch.strays:
            went, asked = (pulse * 1e6 for pulse in switch.strays[0])
            text = f'Switch "{switch.label}": {switch.actuator} landed at {went:.0f} µs, its command at {asked:.0f} µs.'
            fix = "Look for a limit, a second mix or a slow move on this channel; then flip it again."
            yield Finding("switch-between", "not shown", text, fix)
        elif switch.pauses:
            at = f"{switch.pauses[0].value * 1e6:.0f} µs for {switch.pauses[0].end - switch.pauses[0].start:.1f} s"
            text = f'Switch "{switch.label}": {switch.actuator} stopped on its way at {at}, between {whole}.'
            fix = "Flip it in one go. If it still stops, look for a delay or a second mix on this channel."
            yield Finding("switch-between", "not shown", text, fix)
    for label in labels:
        if not any(s.label == label for s in switches):
            text = f'Switch "{label}" moved none of {", ".join(recorded) or "the recorded channels"}.'
            fix = "If it should move one, look at its assignment in the transmitter, and at the recorded columns."
            yield Finding("switch-moves-nothing", "advice", text, fix)
