"""A switch of the transmitter: the positions to which it sends the channels, and flips that land between them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt
from benchrig.measure.collective import span_of
from benchrig.measure.estimate import Estimate, joined, unknown
from benchrig.measure.measurement import Quantity
from benchrig.measure.steps import Hold, Steps
from benchrig.outcome import Finding

SAME: Final = 20e-6
"""s: places closer together than this (about 2° of a servo) are one position of a switch."""

UNNAMED: Final = "unnamed switch"


@dataclass(frozen=True, slots=True)
class Position:
    """A pulse at which a channel stood before or after a flip, and how often.

    Attributes
    ----------
    place : Estimate, s
    visits : int
    """

    place: Estimate
    visits: int


@dataclass(frozen=True, slots=True, eq=False)
class Switch:
    """What the flips of one switch do to one channel.

    Attributes
    ----------
    label, actuator : str
    flips : int
        Those in which the channel moved.
    positions : tuple of Position
        The shortest pulse first.
    pauses : tuple of Hold
        Where it stood for a while in the middle of a flip.
    time : Estimate, s
        How long its longest move took.
    """

    label: str
    actuator: str
    flips: int
    positions: tuple[Position, ...]
    pauses: tuple[Hold, ...]
    time: Estimate

    @property
    def between(self) -> tuple[Position, ...]:
        """Positions that were visited once, and lie between others."""
        inner = self.positions[1:-1] if self.flips > 1 else ()
        return tuple(p for p in inner if p.visits == 1)


def labels_of(prompts: Sequence[Prompt]) -> tuple[str, ...]:
    """Give the names of the switches, in order."""
    return tuple(dict.fromkeys(p.label or UNNAMED for p in prompts if p.name == "switch" and p.start is not None))


def switches_of(prompts: Sequence[Prompt], channels: Mapping[str, Steps], row: float) -> tuple[Switch, ...]:
    """Take apart every switch and every channel that it moves.

    Parameters
    ----------
    prompts : sequence of Prompt
        All of the recording, with times.
    channels : mapping of actuator name to Steps
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
        found += [s for name, channel in channels.items() if (s := _switch(label, name, channel, spans, row))]
    return tuple(found)


def _switch(label: str, name: str, channel: Steps, spans: Sequence[tuple[float, float]], row: float) -> Switch | None:
    moved = [moves for span in spans if (moves := channel.moves(*span))]
    if not moved:
        return None
    stands = [moved[0][0].before, *(moves[-1].after for moves in moved)]
    times = [moves[-1].after.start - moves[0].before.end for moves in moved]
    return Switch(
        label=label,
        actuator=name,
        flips=len(moved),
        positions=tuple(_positions(stands)),
        pauses=tuple(m.after for moves in moved for m in moves[:-1]),
        time=Estimate(max(times), row / np.sqrt(6.0)) if times else unknown("it did not move"),
    )


def _positions(stands: Sequence[Hold]) -> Iterator[Position]:
    ordered = sorted(stands, key=lambda hold: hold.value)
    groups: list[list[Hold]] = []
    for hold in ordered:
        if groups and hold.value - groups[-1][-1].value <= SAME:
            groups[-1].append(hold)
        else:
            groups.append([hold])
    for group in groups:
        yield Position(joined([Estimate(h.value, h.uncertainty) for h in group], ""), len(group))


def switch_quantities(switch: Switch) -> Iterator[Quantity]:
    """Give the positions, and how long the channel takes between them."""
    for number, position in enumerate(switch.positions, 1):
        value, spread = position.place.value, position.place.uncertainty
        name = f"{switch.label}: {switch.actuator}, position {number}"
        seen = f"it stood there {position.visits} time(s)"
        yield Quantity(
            name, None if value is None else value * 1e6, None if spread is None else spread * 1e6, "us", seen
        )
    time = switch.time
    yield Quantity(f"{switch.label}: {switch.actuator}, longest move", time.value, time.uncertainty, "s", time.reason)


def switch_faults(switches: Sequence[Switch], labels: Sequence[str], recorded: Sequence[str]) -> Iterator[Finding]:
    """Name flips that land or pause between two positions, and switches that move nothing."""
    for switch in switches:
        ends = [p.place.value or 0.0 for p in (switch.positions[0], switch.positions[-1])]
        whole = f"{ends[0] * 1e6:.0f} and {ends[1] * 1e6:.0f} µs"
        odd = [(p.place.value or 0.0) * 1e6 for p in switch.between]
        if odd:
            text = f"switch {switch.label}: {switch.actuator} landed once at {odd[0]:.0f} µs, between {whole}."
            fix = "A switch not fully thrown, or a position used once: flip it through all its positions twice more."
            yield Finding("switch-between", "not shown", text, fix)
        elif switch.pauses:
            at = f"{switch.pauses[0].value * 1e6:.0f} µs for {switch.pauses[0].end - switch.pauses[0].start:.1f} s"
            text = f"switch {switch.label}: {switch.actuator} stopped on its way at {at}, between {whole}."
            fix = "Flip it in one go. If it still stops, look for a delay or a second mix on this channel."
            yield Finding("switch-between", "not shown", text, fix)
    for label in labels:
        if not any(s.label == label for s in switches):
            text = f"switch {label} moved none of {', '.join(recorded) or 'the recorded channels'}."
            fix = "If it should move one, look at its assignment in the transmitter, and at the recorded columns."
            yield Finding("switch-moves-nothing", "advice", text, fix)
