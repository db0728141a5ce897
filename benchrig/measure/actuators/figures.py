"""Pictures of the sweeps and of what the stick that lifts did."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt
from benchrig.geometry.directions import Vector
from benchrig.measure.figure import Curve, Figure
from benchrig.measure.pulses.channel import Channel
from benchrig.measure.pulses.collective import span_of
from benchrig.measure.pulses.plate import lifting_sense
from benchrig.measure.pulses.steps import Steps

_ROOM: Final = 0.5  # s
_MOST_POINTS: Final = 400


def figures_of(channels: Sequence[Channel], prompts: Sequence[Prompt]) -> Iterator[Figure]:
    """Draw the sweeps, each from its own start, and then every lift at `collective up`."""
    swept = [c for c in channels if c.sweeps and c.steps is not None]
    if swept:
        yield _sweeps(swept)
    asked = [p for p in prompts if p.name == "collective up" and p.start is not None]
    lifted = [c for c in channels if c.lift is not None and c.steps is not None]
    if asked and lifted:
        yield _lifts(lifted, span_of(asked[0], prompts))


def _sweeps(swept: Sequence[Channel]) -> Figure:
    curves, told = [], []
    for channel in swept:
        start, sweep = next(iter(channel.sweeps.items()))
        if channel.steps is not None:
            time, width = thinned(channel.steps, sweep.start - _ROOM, sweep.end + _ROOM)
            curves.append(Curve(channel.actuator.name, time - sweep.start, width * 1e6))
        stops = [e.value for e in (sweep.lowest, sweep.centre, sweep.highest) if e.value is not None]
        values = ", ".join(f"{value * 1e6:.0f}" for value in stops)
        told.append(f"{channel.actuator.name}: from {start:.0f} s, holding {values or 'nowhere'} µs")
    whole = sum(c.lowest.value is not None and c.highest.value is not None for c in swept)
    return Figure(
        title=f"{whole} of {len(swept)} swept channels held both ends of their travel.",
        description=f"Pulse against time since each sweep's first move. {'; '.join(told)}.",
        x_label="time since the first move (s)",
        y_label="pulse (µs)",
        curves=tuple(curves),
    )


def _lifts(lifted: Sequence[Channel], span: tuple[float, float]) -> Figure:
    curves, told = [], []
    for channel in lifted:
        if channel.steps is None or channel.lift is None:
            continue
        time, width = thinned(channel.steps, *span)
        if len(time):
            sense = lifting_sense(channel.actuator)
            curves.append(Curve(channel.actuator.name, time - span[0], sense * (width - width[0]) * 1e6))
            told.append(f"{channel.actuator.name} {sense * channel.lift.change * 1e6:.0f}".replace(" -", " −"))
    rising = sum(c.lift is not None and c.lift.sense > 0 for c in lifted)
    return Figure(
        title=f"At collective up, {rising} of {len(lifted)} channels go the way that lifts.",
        description=f"Change of pulse in the sense that lifts as declared, against time. In µs: {', '.join(told)}.",
        x_label="time (s)",
        y_label="change that lifts (µs)",
        curves=tuple(curves),
    )


def thinned(channel: Steps, start: float, end: float) -> tuple[Vector, Vector]:
    """Give a channel's pulses in a span, no more than a picture can show: times (s) and widths (s)."""
    time, width = channel.between(start, end)
    keep = np.unique(np.linspace(0, len(time) - 1, min(len(time), _MOST_POINTS)).round().astype(np.int64))
    return (time[keep], width[keep]) if len(time) else (time, width)
