"""One sweep of one channel: centre, ends, and how fast the pulse goes between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.pulses.estimate import Estimate, joined, unknown
from benchrig.measure.pulses.steps import SHORTEST_HOLD, Hold, Move, Steps

LEAST_SIDE: Final = 50e-6
"""s: an end closer to the centre than this (about 5° of a servo) is no end."""

RETURNS: Final = 40e-6
"""s: a sweep must come back to within this of where it began; the centre lies anywhere between the two."""

_LEAST_RENEWALS: Final = 5  # pulses on the way: fewer show no speed
_MIDDLE: Final = (0.1, 0.9)  # of the way: where the speed is taken
_EVEN: Final = 0.012  # rms off a straight line, of the way
_STARTING: Final = 0.05  # s: a frame at either end of a move, at which it neither stands nor goes
_ALIKE: Final = 0.10  # between the speeds of several ways


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """What one sweep shows of one channel.

    Attributes
    ----------
    start, end : float, s
        From the hold before its first move to the hold after its last.
    first : float, s
        Change of pulse in its first move: positive where it went to longer pulses first.
    centre, lowest, highest : Estimate, s
    speed : Estimate
        s of pulse per s.
    """

    start: float
    end: float
    first: float
    centre: Estimate
    lowest: Estimate
    highest: Estimate
    speed: Estimate


def measure_sweep(
    channel: Steps, start: float, end: float, *, command: Steps | None = None, is_motor: bool = False
) -> Sweep | None:
    """Take a sweep apart.

    Parameters
    ----------
    channel : Steps
    start, end : float, s
        Where the sweep lies, about.
    command : Steps, optional
        What was commanded meanwhile: it tells the unit's own limit of speed from the hand's.
    is_motor : bool
        A motor may rest at its lowest pulse: then that is an end, and no centre is shown.

    Returns
    -------
    Sweep or None
        None where the channel did not move.
    """
    moves = channel.excursions(start, end)
    if not moves:
        return None
    stands = [moves[0].before, *(m.after for m in moves)]
    first, last = stands[0], stands[-1]
    centre = _centre(first, last)
    lowest = _end_of(stands, float(channel.between(first.start, last.end)[1].min()), channel.band, -1)
    if is_motor and lowest.value is None and min(h.value for h in stands) > first.value - channel.band:
        lowest, centre = centre, unknown("a motor rests at its lowest pulse, so a sweep shows no centre")
    _, width = channel.between(first.start, last.end)
    return Sweep(
        start=first.end,
        end=last.start,
        first=moves[0].change,
        centre=centre,
        lowest=lowest,
        highest=_end_of(stands, float(width.max()), channel.band, 1),
        speed=_speed(channel, moves, command),
    )


def _centre(first: Hold, last: Hold) -> Estimate:
    off = abs(last.value - first.value)
    if off > RETURNS:
        began, ended = first.value * 1e6, last.value * 1e6
        return unknown(f"it began at {began:.0f} µs and ended at {ended:.0f} µs, so which is its centre is not shown")
    own = 0.5 * np.hypot(first.uncertainty, last.uncertainty)
    differs = off > 3 * np.hypot(first.uncertainty, last.uncertainty) + 1e-6
    began, ended = first.value * 1e6, last.value * 1e6
    reason = f"{began:.0f} µs before and {ended:.0f} µs after: a unit that levels itself adds to it" if differs else ""
    return Estimate(0.5 * (first.value + last.value), float(np.hypot(own, off / np.sqrt(12.0))), reason)


def _end_of(stands: Sequence[Hold], extreme: float, band: float, sense: int) -> Estimate:
    """Give the end of the travel in one sense: the furthest hold, if nothing went further and it is no centre."""
    furthest = max(stands, key=lambda hold: sense * hold.value)
    side = sense * (furthest.value - stands[0].value)
    beyond = sense * (extreme - furthest.value)
    word = "longer" if sense > 0 else "shorter"
    if beyond > band:
        return unknown(
            f"it went to {extreme * 1e6:.0f} µs and did not stay there for {SHORTEST_HOLD} s, so whether that is its "
            "end is not shown"
        )
    if side < LEAST_SIDE:
        return unknown(f"the sweep never held a pulse {LEAST_SIDE * 1e6:.0f} µs {word} than where it began")
    return Estimate(furthest.value, furthest.uncertainty)


def _speed(channel: Steps, moves: Sequence[Move], command: Steps | None) -> Estimate:
    long = [m for m in moves if abs(m.change) >= 2 * LEAST_SIDE]
    if not long:
        return unknown("no move was long enough to show a speed")
    ways = [way for move in long if (way := _along(channel, move)) is not None]
    if not ways:
        longest = max(long, key=lambda m: abs(m.change))
        took = f"{abs(longest.change) * 1e6:.0f} µs within {(longest.after.start - longest.before.end) * 1e3:.0f} ms"
        return unknown(f"it goes {took}: too few pulses on the way to show a speed")
    speed = joined(ways, "")
    if speed.value is None or any(w.value is None for w in ways):
        return unknown(next(w.reason for w in ways if w.value is None))
    if np.ptp([w.value or 0.0 for w in ways]) > _ALIKE * speed.value:
        return unknown("its moves are of unlike speeds, as by hand: its own limit, if there is one, is not shown")
    if command is not None and _follows(command, long, speed.value):
        return unknown("the command itself moved no faster, so the pulse's own limit is not shown")
    return speed


def _along(channel: Steps, move: Move) -> Estimate | None:
    """Fit a straight line to the renewed pulses on the way; give its slope's size, or None where they are too few."""
    time, width = _on_the_way(channel, move)
    if len(time) < _LEAST_RENEWALS:
        return None
    slope, level = np.polyfit(time - time[0], width, 1)
    left = width - level - slope * (time - time[0])
    # a row shows a pulse up to a row late
    by_rows = abs(slope) * float(np.median(np.diff(channel.pulses.time))) / np.sqrt(12.0)
    bent = np.sqrt(np.mean(left**2)) > np.hypot(_EVEN * abs(move.change), by_rows)
    # a hand begins and ends its move gently
    eased = move.after.start - move.before.end > 1.1 * abs(move.change / slope) + _STARTING
    if bent or eased:
        return unknown("it does not move evenly, as by hand: its own limit of speed, if there is one, is not shown")
    spread = np.sqrt(left @ left / (len(time) - 2) / np.sum((time - time.mean()) ** 2))
    # a line through whole microseconds is no surer than their rounding
    return Estimate(abs(float(slope)), float(max(spread, 1e-6 / np.sqrt(6.0) / np.ptp(time))))


def _on_the_way(channel: Steps, move: Move) -> tuple[Vector, Vector]:
    time, width = channel.between(move.before.end, move.after.start)
    renewed = np.diff(width, prepend=np.nan) != 0
    share = (width - move.before.value) / move.change
    keep = renewed & (share > _MIDDLE[0]) & (share < _MIDDLE[1])
    return time[keep], width[keep]


def _follows(command: Steps, moves: Sequence[Move], speed: float) -> bool:
    """Tell whether the command took about as long as the channel for each of its moves."""
    took = np.median([abs(m.change) / speed for m in moves])
    asked = [m.after.start - m.before.end for m in command.moves(moves[0].before.end - 1.0, moves[-1].after.start)]
    return bool(asked) and bool(np.median(asked) > 0.8 * took)
