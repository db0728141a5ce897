"""How long a channel takes to answer its command."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from benchrig.measure.pulses.estimate import Estimate, unknown
from benchrig.measure.pulses.steps import Move, Steps

LEAST_KNOWN: Final = 0.005
"""s: a latency less sure than this is not told."""

_LEAST_CHANGE: Final = 20e-6  # s of command: a smaller one is no step
_LONGEST: Final = 0.5  # s: an answer later than this is looked for no more
_EARLY: Final = 0.05  # s: a pulse that comes so much before its command shows two clocks
_LEAST_STEPS: Final = 2


def command_of(name: str, channel: Steps, commands: Mapping[str, Steps], start: float, end: float) -> str | None:
    """Find the command that a channel answers: the one of its own name, or else the only one that steps before it.

    Returns
    -------
    str or None
        None where none fits, or several do.
    """
    if name in commands:
        return name
    answered = {key: _answered(command, channel, start, end) for key, command in commands.items()}
    fitting = [key for key, pairs in answered.items() if len(pairs) >= _LEAST_STEPS]
    return fitting[0] if len(fitting) == 1 else None


def latency_of(command: Steps, channel: Steps, start: float, end: float, row: float) -> Estimate:
    """Measure the time from a change of the command to the first changed pulse, the wait for its frame included.

    Parameters
    ----------
    command, channel : Steps
    start, end : float, s
        Where to look.
    row : float, s
        Between two rows: an instant is known no better.

    Returns
    -------
    Estimate, s
    """
    # what one clock is off by, command and answer share; only two clocks leave it between them
    apart = np.sqrt(abs(command.pulses.delay_uncertainty**2 - channel.pulses.delay_uncertainty**2))
    lags = np.array(
        [later.before.end - earlier.before.end for earlier, later in _answered(command, channel, start, end)]
    )
    if len(lags) < _LEAST_STEPS:
        return unknown("its command has no two clear steps that it answers within 0.5 s")
    if np.median(lags) < 0:
        return unknown("its pulse moves before its command: the two columns are exchanged, or of two clocks")
    scatter = float(lags.std(ddof=1))
    spread = max(scatter, row / np.sqrt(6.0)) / np.sqrt(len(lags))
    if spread > LEAST_KNOWN:
        reason = f"±{spread * 1e3:.0f} ms is all that {len(lags)} steps in rows of {row * 1e3:.0f} ms show"
        return unknown(f"{reason}: sweep more often, or record more rows a second")
    return Estimate(float(lags.mean()), float(np.hypot(spread, apart)))


def _answered(command: Steps, channel: Steps, start: float, end: float) -> list[tuple[Move, Move]]:
    """Pair each step of a command with the first move of the channel that begins after it."""
    pairs = []
    moves = channel.moves(start, end + _LONGEST)
    for asked in command.moves(start, end):
        if abs(asked.change) < _LEAST_CHANGE:
            continue
        late = [(m.before.end - asked.before.end, m) for m in moves]
        fitting = [(lag, m) for lag, m in late if -_EARLY <= lag <= _LONGEST]
        if fitting:
            pairs.append((asked, min(fitting, key=lambda item: abs(item[0]))[1]))
    return pairs
