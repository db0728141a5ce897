"""More thrust when the link is lost: a motor that starts, speeds up or runs on, whatever was declared of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from benchrig.declaration.actuators import Actuator
from benchrig.measure.link.cut import Cut, Going
from benchrig.measure.pulses.steps import Steps

MORE: Final = 20e-6
"""s: about 2 % of a motor's usual travel of 1000 µs; less is within what a pulse wavers (common practice, no published
source)."""


def thrust_sense(actuator: Actuator) -> int:
    """Tell what a longer pulse does to thrust: +1 more of it, -1 less, 0 where the declaration says nothing of it.

    A tail rotor that is declared by the nose's way says nothing of its thrust.
    """
    if actuator.drives == "rotor":
        return 1
    return {"more thrust": 1, "less thrust": -1}.get(actuator.longer_pulse, 0)


def thrust_at_loss(actuator: Actuator, cuts: Sequence[Cut], channel: Steps) -> str:
    """Say where an actuator gives more thrust while the link is lost than at rest, or than before; empty if nowhere.

    Parameters
    ----------
    actuator : Actuator
    cuts : sequence of Cut
        Those that surely lost the link are looked at.
    channel : Steps
    """
    sense = thrust_sense(actuator)
    for cut in cuts if sense else ():
        going = cut.goings.get(actuator.name)
        if going is None or cut.still_on or not cut.evidence or going.is_silent:
            continue
        said = _more(actuator, going, sense, _rest(actuator, channel, sense))
        if said:
            return said
    return ""


def _rest(actuator: Actuator, channel: Steps, sense: int) -> float:
    """Give the pulse at rest, s: declared as such, or as the end of the travel, or the least at which it stood."""
    if actuator.centre is not None:
        return actuator.centre
    end = actuator.lowest if sense > 0 else actuator.highest
    return sense * min(sense * hold.value for hold in channel.holds) if end is None else end


def _more(actuator: Actuator, going: Going, sense: int, rest: float) -> str:
    after, before = going.after.value, going.before.value
    if going.moves and sense * (after - before) > MORE:
        return f"it goes to more thrust, from {before * 1e6:.0f} to {after * 1e6:.0f} µs"
    if sense * (after - rest) <= MORE:
        return ""
    if going.moves:
        return f"it goes to {after * 1e6:.0f} µs, more thrust than at its rest, {rest * 1e6:.0f} µs"
    if actuator.drives == "rotor":  # a tail rotor that stays is a servo that holds
        return f"it runs on at {after * 1e6:.0f} µs, more thrust than at its rest, {rest * 1e6:.0f} µs"
    return ""
