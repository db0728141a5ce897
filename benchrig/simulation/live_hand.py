"""The simulated operator who waits to be asked: what was laid down so far can no longer change, what comes can."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import quote
from benchrig.errors import Problem, UsageError
from benchrig.geometry.turns import POSES
from benchrig.simulation.draft import Draft
from benchrig.simulation.fault_list import HAND_TURNS
from benchrig.simulation.faults import Faults
from benchrig.simulation.handling import rest_level
from benchrig.simulation.made import Made
from benchrig.simulation.options import Options
from benchrig.simulation.plan import Plan, begin, make
from benchrig.simulation.trajectory import Path, Wobble

LIVE_MOTIONS: Final = (*HAND_TURNS, "free", *POSES)
"""What can be asked of an operator at the bench, with nothing but the hands."""

REACTION_S: Final = (0.8, 1.4)
"""From a prompt to the move (common practice, no source); longer than anything looks ahead, so that what was felt
before the prompt never changes."""

_REACH_S: Final = 0.7  # what the latest and the earliest clock of an accelerometer reach back and ahead
_PUT_DOWN_S: Final = 0.2
_LOOKING_S: Final = 2.6  # a hold in which somebody watches what an actuator does
_IN_HAND_S: Final = 1.0


class LiveHand:
    """An operator, and the path of the airframe as far as it is laid down.

    Parameters
    ----------
    airframe : Airframe
    options : Options
    faults : Faults
    rng : Generator
    """

    def __init__(self, airframe: Airframe, options: Options, faults: Faults, rng: np.random.Generator) -> None:
        self._options = options
        self._draft: Draft = begin(options, faults, rng)
        self._draft.actuators = tuple(actuator.name for actuator in airframe.actuators)
        self._draft.hold_s = 0.0 if options.pulses else _LOOKING_S
        self._draft.still(0.1)
        self.gap_centres: list[float] = []
        self._over = 0.0

    @property
    def made(self) -> tuple[Made, ...]:
        """Every motion so far, planned ones with it."""
        return tuple(self._draft.made)

    @property
    def busy_until(self) -> float:
        """When the last motion that was asked for is over, with the rest after it, s."""
        return self._over

    def ask(self, motion: str, now: float) -> Made | None:
        """Let the operator make a motion, after what is still going on; None where a fault leaves it out.

        Raises
        ------
        UsageError
            If no hand makes such a motion.
        """
        if motion not in LIVE_MOTIONS:
            listed = f"one of: {', '.join(LIVE_MOTIONS)}"
            raise UsageError(Problem(quote(motion), "is no motion that a hand makes", listed, act="write another word"))
        draft = self._draft
        if motion in draft.faults.values("motion-missing"):
            return None
        self._wait_until(now + draft.rng.uniform(*REACTION_S))
        before = len(draft.made)
        if motion == "level":
            rest_level(draft, _PUT_DOWN_S)
        else:
            make(draft, motion, self._options)
        made, self._over = draft.made[before], draft.now
        if made.held > made.start and len(self.gap_centres) < int(draft.faults.number("gaps", 0)):
            self.gap_centres.append(0.5 * (made.start + made.held))
        return made

    def drop(self, now: float) -> float:
        """Let the airframe be knocked over and caught; give when, s."""
        draft = self._draft
        self._wait_until(now + REACTION_S[0])
        start, shape = draft.now, (1, 3)
        phase = draft.rng.uniform(0.0, 2 * np.pi, shape)
        draft.still(0.8)
        self._over = draft.now
        draft.turns.append(Wobble(np.full(shape, 0.15), np.full(shape, 3.0), phase, start, draft.now, 0.1, 4.0))
        draft.sways.append(Wobble(np.full(shape, 0.03), np.full(shape, 5.0), phase, start, draft.now, 0.1, 4.0))
        return start

    def keep_holding(self, until: float) -> None:
        """Go on shaking where the airframe is never put down."""
        draft = self._draft
        while draft.lifted and draft.now < until:
            begun = draft.now
            draft.still(_IN_HAND_S)
            draft.shake(begun, margin=0.0)

    def plan(self, start: float, end: float) -> Plan:
        """Give the part of the path that is felt between two times."""
        draft = self._draft
        legs = [leg for leg in draft.legs[:-1] if leg.end > start - _REACH_S and leg.start < end + _REACH_S]
        path = Path((*legs, draft.legs[-1]), _near(draft.turns, start, end), _near(draft.sways, start, end))
        return Plan(path, self.made, draft.now, draft.pivot, draft.plane)

    def _wait_until(self, when: float) -> None:
        draft = self._draft
        if draft.lifted:
            self.keep_holding(when)
        elif when > draft.now:
            draft.still(when - draft.now)


def _near(wobbles: list[Wobble], start: float, end: float) -> tuple[Wobble, ...]:
    return tuple(each for each in wobbles if each.end > start - _REACH_S and each.start < end + _REACH_S)
