"""Pictures of what the channels did while the transmitter was off, and at each switch."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from benchrig.capture.recording import Prompt
from benchrig.measure.actuators.figures import thinned
from benchrig.measure.figure import Curve, Figure
from benchrig.measure.link.cut import Cut
from benchrig.measure.link.switch import UNNAMED, Switch
from benchrig.measure.pulses.collective import span_of
from benchrig.measure.pulses.steps import Steps

_AFTER: Final = 6.0  # s


def link_figures(
    prompts: Sequence[Prompt], cuts: Sequence[Cut], switches: Sequence[Switch], channels: Mapping[str, Steps]
) -> Iterator[Figure]:
    """Draw every channel from each loss of the link on, and every switch with the channels it moves."""
    for cut in cuts:
        yield _loss(cut, channels)
    for label in dict.fromkeys(s.label for s in switches):
        moved = [s.actuator for s in switches if s.label == label]
        flips = [
            span_of(p, prompts)
            for p in prompts
            if p.name == "switch" and p.start is not None and (p.label or UNNAMED) == label
        ]
        if flips:
            yield _flips(label, moved, channels, flips[0][0], flips[-1][1])


def _loss(cut: Cut, channels: Mapping[str, Steps]) -> Figure:
    start, end = cut.start - 1.0, (cut.back_at.value or cut.start) + _AFTER
    went = [
        f"{n} from {g.before.value * 1e6:.0f} to {g.after.value * 1e6:.0f} µs" for n, g in cut.goings.items() if g.moves
    ]
    stayed = [n for n, g in cut.goings.items() if not g.moves]
    told = f"{'; '.join(went) or 'nothing moved'}; {', '.join(stayed) or 'none'} stayed"
    return Figure(
        title=f"With the transmitter off, {len(went)} of {len(cut.goings)} channels go elsewhere.",
        description=f"Pulse against time since the prompt at {cut.start:.1f} s: {told}.",
        x_label="time since transmitter off (s)",
        y_label="pulse (µs)",
        curves=_curves(list(cut.goings), channels, start, end, cut.start),
    )


def _flips(label: str, moved: Sequence[str], channels: Mapping[str, Steps], start: float, end: float) -> Figure:
    return Figure(
        title=f'Switch "{label}" moves {len(moved)} of {len(channels)} channels.',
        description=f"Pulse against time over all flips of the switch, for {', '.join(moved)}.",
        x_label="time (s)",
        y_label="pulse (µs)",
        curves=_curves(moved, channels, start, end, 0.0),
    )


def _curves(
    names: Sequence[str], channels: Mapping[str, Steps], start: float, end: float, zero: float
) -> tuple[Curve, ...]:
    drawn = []
    for name in names:
        time, width = thinned(channels[name], start, end)
        if len(time):
            drawn.append(Curve(name, time - zero, width * 1e6))
    return tuple(drawn)
