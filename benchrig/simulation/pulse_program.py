"""What is ordered of each actuator past the unit: sweeps, the stick that lifts, switches, and a lost link."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import PULSE_STEPS
from benchrig.simulation.answer import END, answered, centre_of
from benchrig.simulation.faults import Faults
from benchrig.simulation.made import Made
from benchrig.simulation.mechanics import lifts
from benchrig.simulation.pulse_steps import OVER_S, RESTORE_S

LIFT: Final = 0.5
"""Part of the way to its end by which the stick that lifts moves an actuator."""
TRAVEL_S: Final = 0.1
"""From the centre to the end, of a servo of 0.1 s for 60° (common practice, no source)."""
_SLOW: Final = 5.0
_SWITCHED: Final = 0.6
_ELSEWHERE: Final = 0.15
_OVER: Final = 0.4  # of the way to an end, where the sticks are held before the link is lost
_APART_US: Final = 60.0  # how far from where it will go an actuator is held


@dataclass(frozen=True, slots=True, eq=False)
class Program:
    """What was done at the transmitter, in order of time, and what the receiver does when it loses the link.

    Attributes
    ----------
    steps : tuple of Made
    faults : Faults
    link_delay : float, s
    holds : mapping of actuator name to float, µs, or None
        Where an actuator goes when the link is lost; None, or not there, where it stays.
    """

    steps: tuple[Made, ...]
    faults: Faults
    link_delay: float
    holds: Mapping[str, float | None]

    def lift(self, when: Vector) -> Vector:
        """Give how far the stick that lifts is pushed at each time, 0 to 1."""
        pushed = np.zeros(len(when))
        for step in self._done("collective up"):
            pushed[(when >= step.start) & (when < step.released)] = 1.0
        return pushed

    def order(self, actuator: Actuator, when: Vector) -> Vector:
        """Give the pulse ordered of one actuator, µs; NaN where it is left to the unit."""
        order = np.full(len(when), np.nan)
        lowest, highest = ends_of(actuator)
        centre = centre_of(actuator)
        for step in self._done("sweep"):
            if step.label == actuator.name:
                order[(when >= step.start) & (when < step.held)] = highest
                order[(when >= step.held) & (when < step.released)] = lowest
                order[(when >= step.released) & (when < step.back)] = centre
        for number, step in enumerate(self._done("switch")):
            end = lowest if number % 2 else highest
            order[(when >= step.start) & (when < step.released)] = centre + _SWITCHED * (end - centre)
            if actuator.name in self.faults.values("switch-between"):
                order[(when >= step.released) & (when < step.back)] = centre + 0.5 * _SWITCHED * (end - centre)
        for step in self._done("transmitter off"):
            # the sticks are let go while it is off
            order[(when >= step.start - OVER_S) & (when < step.released)] = self._over(actuator)
        return order

    def _over(self, actuator: Actuator) -> float:
        """Give where an actuator is held before the link is lost, µs: away from its centre and from where it goes."""
        centre, goes_to = centre_of(actuator), self.holds.get(actuator.name)
        lower, upper = (centre + _OVER * (end - centre) for end in ends_of(actuator))
        return upper if goes_to is None or abs(goes_to - upper) >= _APART_US else lower

    def directed(self, actuator: Actuator, own: Vector, frame: Vector, acted_on: Vector) -> Vector:
        """Give the pulse that one actuator really gets, µs: the unit's own, but where something else was ordered.

        Parameters
        ----------
        own : ndarray, shape (N,), µs
        frame : ndarray, shape (N,), s
            When the pulse of each row was sent.
        acted_on : ndarray, shape (N,), s
            The time of what it answers.
        """
        centre = centre_of(actuator)
        order = self.order(actuator, acted_on)
        move = answered(actuator, np.nan_to_num(order - centre), np.inf, self.faults)
        pulse = np.where(np.isfinite(order), centre + move, own)
        pulse = np.round(self._slewed(actuator, pulse, frame, acted_on))
        for lost, found in self.losses():
            self._hold(actuator, pulse, (frame >= lost) & (frame < found))
        return pulse

    def losses(self) -> Iterator[tuple[float, float]]:
        """Give when the receiver acts on a lost link, and when it has it again, s."""
        for start, end in self.silences():
            yield start + self.link_delay, end

    def silences(self) -> Iterator[tuple[float, float]]:
        """Give from when until when no command arrives, s."""
        events = [step for step in self.steps if step.asked.startswith("transmitter")]
        ends = [step.start + RESTORE_S if step.asked == "transmitter on" else step.start for step in events]
        for (step, _), (_, end) in pairwise([*zip(events, ends, strict=True), (None, np.inf)]):
            if step is not None and step.asked == "transmitter off":
                yield step.start, end

    def _hold(self, actuator: Actuator, pulse: Vector, lost: NDArray[np.bool_]) -> None:
        """Put in where an actuator goes while the link is lost."""
        if not lost.any():
            return
        goes_to = self.holds.get(actuator.name)
        position = pulse[int(np.argmax(lost))] if goes_to is None else goes_to
        if actuator.name in self.faults.values("link-wrong"):
            position += _ELSEWHERE * centre_of(actuator)
        pulse[lost] = np.round(position)

    def _slewed(self, actuator: Actuator, pulse: Vector, frame: Vector, acted_on: Vector) -> Vector:
        """Let the pulse of a sweep, or of the stick that lifts, run no faster than a servo follows."""
        within = np.zeros(len(frame), dtype=bool)
        for step in (*self._done("sweep"), *self._done("collective up")):
            if step.label in (actuator.name, ""):
                within |= (acted_on >= step.start) & (acted_on < step.back)
        result = pulse.copy()
        pace = pace_of(actuator, self.faults)
        for row in np.flatnonzero(within):
            before, reach = result[row - 1], pace * (frame[row] - frame[row - 1])
            result[row] = min(max(pulse[row], before - reach), before + reach)
        return result

    def _done(self, name: str) -> list[Made]:
        return [step for step in self.steps if step.asked == name]


def program_of(motions: Iterable[Made], airframe: Airframe, faults: Faults, link_delay: float) -> Program:
    """Take what was done at the transmitter out of a plan."""
    goes_to = {} if airframe.link_loss is None else airframe.link_loss.goes_to
    holds = {name: None if pulse is None else pulse * 1e6 for name, pulse in goes_to.items()}
    return Program(tuple(made for made in motions if made.asked in PULSE_STEPS), faults, link_delay, holds)


def commands(program: Program, airframe: Airframe, time: Vector) -> dict[str, Vector]:
    """Give what is commanded of each actuator at each time, µs: at once, and without any fault of what answers.

    NaN while the transmitter is off.
    """
    sent: dict[str, Vector] = {}
    unfaulted = replace(program, faults=Faults(()))
    for actuator in airframe.actuators:
        centre = centre_of(actuator)
        order = unfaulted.order(actuator, time)
        lifted = centre + lift_move(actuator) * program.lift(time)
        commanded: Vector = np.where(np.isfinite(order), order, lifted)
        commanded = np.round(commanded)
        for start, end in program.silences():
            commanded[(time >= start) & (time < end)] = np.nan
        sent[actuator.name] = commanded
    return sent


def lift_move(actuator: Actuator) -> float:
    """Give the move, µs, that the stick that lifts asks of an actuator when it is pushed."""
    return lifts(actuator) * LIFT * END * centre_of(actuator)


def ends_of(actuator: Actuator) -> tuple[float, float]:
    """Give the shortest and the longest pulse of an actuator's travel, µs: as declared, or the unit's own ends."""
    centre = centre_of(actuator)
    lowest = (1.0 - END) * centre if actuator.lowest is None else actuator.lowest * 1e6
    highest = (1.0 + END) * centre if actuator.highest is None else actuator.highest * 1e6
    return float(np.round(lowest)), float(np.round(highest))


def pace_of(actuator: Actuator, faults: Faults) -> float:
    """Give the fastest that an actuator's pulse runs in a sweep, µs/s."""
    slow = _SLOW if actuator.name in faults.values("servo-slow") else 1.0
    return END * centre_of(actuator) / (slow * TRAVEL_S)
