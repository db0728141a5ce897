"""How long the channels take for their travel: those that drive the like held against each other, and against time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from benchrig.measure.pulses.channel import Channel
from benchrig.measure.pulses.naming import called
from benchrig.outcome import Finding

SLOW: Final = 1.5
"""A channel that takes this many times as long as its like makes the airframe turn on the way (common practice, no
published source)."""

LONG: Final = 0.5
"""s: for the whole travel; the servos of models take 0.1 to 0.2 s for 60° (common practice, no published source)."""

_ALIKE: Final = {"swashplate": "servos of the plate", "rotor": "rotors"}


def slow_ones(channels: Sequence[Channel]) -> Iterator[Finding]:
    """Name the channels that are distinctly slower than those that drive the like, and then those that are slow at all.

    Left and right of one kind of surface are alike, the servos of a plate, and lifting rotors.
    """
    named = []
    for channel in channels:
        mates = [t for other in channels if other is not channel and _class(other) == _class(channel) != "other"
                 if (t := other.travel_time.value) is not None]  # fmt: skip
        took, spread = channel.travel_time.value, channel.travel_time.uncertainty
        if took is None or spread is None or not mates or took - 2 * spread <= SLOW * float(np.median(mates)):
            continue
        named.append(channel)
        text = f"{called([channel.actuator.name])} takes {took:.2f} s for its travel, the other "
        text += f"{_ALIKE.get(_class(channel), _class(channel))} about {float(np.median(mates)):.2f} s."
        fix = "The airframe turns whenever all move. Look for a speed limit on this channel in the unit."
        yield Finding("actuator-slow", "fail", text, fix)
    for channel in channels:
        took, spread = channel.travel_time.value, channel.travel_time.uncertainty
        if channel not in named and took is not None and spread is not None and took - 2 * spread > LONG:
            text = f"{called([channel.actuator.name])} takes {took:.2f} s for its travel; {LONG:g} s is much already."
            fix = "Look for a speed limit on this channel in the unit: a late correction feeds the swing."
            yield Finding("actuator-slow", "advice", text, fix)


def _class(channel: Channel) -> str:
    """Give what a channel drives, be it left or right."""
    drives = channel.actuator.drives
    side, _, surface = drives.partition(" ")
    return f"{surface}s".replace("v-tails", "v-tail surfaces") if side in {"left", "right"} else drives
