"""What the simulated operator sees the actuators do, where a person would be sure of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.geometry.directions import Vector
from benchrig.simulation.bench import Simulated
from benchrig.simulation.fault_list import HAND_TURNS
from benchrig.simulation.made import Made
from benchrig.simulation.mechanics import other_way

_LEAST_US: Final = 10.0
"""About a degree of a servo's horn (common practice): less is not seen at all."""
_STILL_PART: Final = 0.2
_MOVED_PART: Final = 0.35
"""Against the largest move that the same actuator makes on this bench: below the first a person calls it still,
above the second they name its way, and in between they do not say."""


@dataclass(frozen=True, slots=True)
class Sight:
    """One look: in this motion, this actuator moved so, in its own words, or was "still"."""

    motion: str
    actuator: str
    moved: str


def sights(simulated: Simulated) -> tuple[Sight, ...]:
    """Give every look of which the operator is sure, motion by motion.

    An actuator that drives something without words of its own (``drives = "other"``) is left out.
    """
    motions = [made for made in simulated.plan.motions if made.asked in HAND_TURNS]
    worded = [actuator for actuator in simulated.airframe.actuators if actuator.longer_pulse]
    looks = {actuator.name: _looks(simulated, actuator, motions) for actuator in worded}
    return tuple(
        Sight(made.asked, actuator.name, looks[actuator.name][index])
        for index, made in enumerate(motions)
        for actuator in worded
        if looks[actuator.name][index]
    )


def _looks(simulated: Simulated, actuator: Actuator, motions: list[Made]) -> list[str]:
    """Say what one actuator does in each motion, in words; an empty word where the operator is not sure."""
    pulse = simulated.pulses[actuator.name]
    changes = [_change(simulated.time, pulse, made) for made in motions]
    if actuator.name in simulated.faults.values("linkage-reversed"):
        changes = [-change for change in changes]
    largest = max((abs(change) for change in changes if np.isfinite(change)), default=0.0)
    return [_word(change, largest, actuator.longer_pulse) for change in changes]


def _change(time: Vector, pulse: Vector, made: Made) -> float:
    """Compare the hold's pulse with that of the rest before it, µs; NaN where there was no time to look."""
    held = pulse[(time > made.held + 0.15) & (time < made.released)]
    rest = pulse[(time > made.start - 0.4) & (time < made.start)]
    if not len(held) or not len(rest):
        return float("nan")
    return float(np.median(held) - np.median(rest))


def _word(change: float, largest: float, longer_pulse: str) -> str:
    if not np.isfinite(change):
        return ""
    if abs(change) < max(_LEAST_US, _STILL_PART * largest):
        return "still"
    if abs(change) < _MOVED_PART * largest:
        return ""
    return longer_pulse if change > 0 else other_way(longer_pulse)
