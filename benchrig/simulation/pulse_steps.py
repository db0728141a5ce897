"""What the simulated operator does at the transmitter while the airframe stands on the bench, and when."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.simulation.draft import Draft
from benchrig.simulation.made import Made

RESTORE_S: Final = 0.4
"""From switching the transmitter on to the first command that arrives."""
OVER_S: Final = 1.0
"""How long the sticks are held over before the transmitter is switched off."""
_HOLD_S: Final = 1.4
_LOOK_S: Final = 2.0


def sweep_each(draft: Draft) -> None:
    """Move each actuator to its highest pulse, to its lowest, and back to its centre.

    The first end is ordered at `start`, the second at `held`, and the centre at `released`.
    """
    for name in draft.actuators:
        _step(draft, "sweep", _HOLD_S, 2 * _HOLD_S, label=name)


def lift(draft: Draft) -> None:
    """Push the stick that lifts, at `start`, and pull it back, at `released`."""
    _step(draft, "collective up", 0.5, _LOOK_S)


def flip(draft: Draft) -> None:
    """Flip the next switch, at `start`, and back, at `released`."""
    number = 1 + sum(made.asked == "switch" for made in draft.made)
    _step(draft, "switch", 0.3, _LOOK_S, label=f"switch {number}")


def switch_off(draft: Draft, delay: float) -> None:
    """Hold the sticks over, switch the transmitter off, and wait for what the receiver does after `delay` (s)."""
    draft.stand()
    draft.still(OVER_S)
    _step(draft, "transmitter off", delay, delay + _LOOK_S)


def switch_on(draft: Draft) -> None:
    """Switch the transmitter on again."""
    _step(draft, "transmitter on", RESTORE_S, RESTORE_S + _LOOK_S)


def _step(draft: Draft, name: str, held: float, released: float, *, label: str = "") -> None:
    """Do one thing at the transmitter; `held` and `released` count from its start, s."""
    draft.stand()
    draft.still(0.3)
    start = draft.now
    draft.still(released + 1.0)
    made = Made(name, name, start, start + held, start + released, draft.now, np.zeros(3), label)
    draft.made.append(made)
    draft.still(draft.draw_pause(1.0, 1.6))
