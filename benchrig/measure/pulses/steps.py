"""Where a channel of pulses stands still, and where it moves from one stand to the next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.recording import Pulses
from benchrig.geometry.directions import Vector

SHORTEST_HOLD: Final = 0.15
"""s: a channel that stays for less has not stopped."""

SLOPPINESS: Final = 0.5
"""s: how far a person's prompt times may be off."""

_LEAST_BAND: Final = 4.5e-6  # s: pulses are counted in whole microseconds, and waver by one or two
_BAND: Final = 6.0  # standard deviations of the channel's own jitter
_LEAST_RENEWALS: Final = 20  # fewer say nothing of a jitter
_EDGE: Final = 0.03  # s: left out at either end of a hold, where it may still be moving
_FRAME: Final = 0.02  # s: pulses are not counted as independent more often than this
_FEW: Final = 3
_COARSEST: Final = 4e-6  # s: the rounding of a usual counter


@dataclass(frozen=True, slots=True)
class Hold:
    """A stretch in which a channel stood still.

    Attributes
    ----------
    start, end : float, s
        Its first pulse, and the first pulse beyond it (its last one where the recording ends there).
    value, uncertainty : float, s
        Mean pulse with one standard deviation.
    silence : float, s
        The longest time in it without a pulse.
    """

    start: float
    end: float
    value: float
    uncertainty: float
    silence: float


@dataclass(frozen=True, slots=True)
class Move:
    """What lies between two holds.

    Attributes
    ----------
    before, after : Hold
    """

    before: Hold
    after: Hold

    @property
    def change(self) -> float:
        """Of the pulse, s."""
        return self.after.value - self.before.value

    @property
    def uncertainty(self) -> float:
        """One standard deviation of the change, s."""
        return float(np.hypot(self.before.uncertainty, self.after.uncertainty))

    @property
    def middle(self) -> float:
        """Half way between the end of one hold and the start of the other, s."""
        return 0.5 * (self.before.end + self.after.start)


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """A channel taken apart.

    Attributes
    ----------
    pulses : Pulses
    holds : tuple of Hold
    band : float, s
        Pulses of one hold differ by no more.
    """

    pulses: Pulses
    holds: tuple[Hold, ...]
    band: float

    def moves(self, start: float = -np.inf, end: float = np.inf) -> tuple[Move, ...]:
        """Give the moves whose middle lies in a span, s."""
        pairs = (Move(a, b) for a, b in zip(self.holds, self.holds[1:], strict=False))
        return tuple(m for m in pairs if abs(m.change) > self.band and start <= m.middle <= end)

    def excursions(self, start: float = -np.inf, end: float = np.inf) -> tuple[Move, ...]:
        """Give the pairs of holds in a span between which the channel went elsewhere, wherever it came back to."""
        pairs = (
            Move(a, b) for a, b in zip(self.holds, self.holds[1:], strict=False) if start <= Move(a, b).middle <= end
        )
        return tuple(m for m in pairs if self._strays(m))

    def stirs(self, start: float, end: float) -> bool:
        """Tell whether the channel moved at all in a span."""
        return bool(self.excursions(start, end))

    def _strays(self, move: Move) -> bool:
        _, width = self.between(move.before.end, move.after.start)
        return abs(move.change) > self.band or bool((np.abs(width - move.before.value) > self.band).any())

    def at(self, when: float) -> Hold | None:
        """Give the hold at an instant, or the last one before it."""
        earlier = [h for h in self.holds if h.start <= when]
        return earlier[-1] if earlier else (self.holds[0] if self.holds else None)

    def between(self, start: float, end: float) -> tuple[Vector, Vector]:
        """Give the times and widths of the pulses in a span, s."""
        inside = (self.pulses.time >= start) & (self.pulses.time <= end)
        return self.pulses.time[inside], self.pulses.width[inside]


def take_apart(pulses: Pulses, until: float | None = None) -> Steps:
    """Find where a channel stands still.

    A pulse counts until the next one comes: a logger may write only what changed.

    Parameters
    ----------
    pulses : Pulses
    until : float, optional, s
        Where the recording ends: the last pulse counts until then, if earlier ones stood for as long.

    Returns
    -------
    Steps

    Examples
    --------
    >>> time = np.arange(0.0, 2.0, 0.01)
    >>> steps = take_apart(Pulses(time, np.where(time < 1.0, 1500e-6, 1900e-6)))
    >>> [(round(h.start, 2), round(h.value * 1e6)) for h in steps.holds]
    [(0.0, 1500), (1.0, 1900)]
    """
    band = max(_LEAST_BAND, _BAND * jitter(pulses.width))
    grain = _grain(pulses.width)
    ends = np.append(pulses.time[1:], _last_end(pulses.time, until))
    spans = _joined(_still_spans(pulses, ends, band), pulses.width, 0.5 * band)
    return Steps(pulses, tuple(_hold(pulses, ends, start, stop, grain) for start, stop in spans), band)


def _last_end(time: Vector, until: float | None) -> float:
    """Give when the last pulse ends."""
    usual = float(np.diff(time).max()) if len(time) > 1 else 0.0
    return float(time[-1]) if until is None or until - time[-1] > usual else max(until, float(time[-1]))


def jitter(width: Vector) -> float:
    """Give the standard deviation by which a channel's pulses waver, s; 0 where they do not.

    Second differences leave steady moves out, and their median leaves out the ends of moves.
    """
    renewed = width[np.flatnonzero(np.diff(width, prepend=np.nan) != 0)]
    if len(renewed) < _LEAST_RENEWALS:
        return 0.0
    return float(np.median(np.abs(np.diff(renewed, 2))) / (0.6745 * np.sqrt(6.0)))


def _still_spans(pulses: Pulses, ends: Vector, band: float) -> list[tuple[int, int]]:
    """Give the longest runs, from the left, within which all pulses differ by no more than `band`."""
    time, until, width = pulses.time.tolist(), ends.tolist(), pulses.width.tolist()
    spans, i, count = [], 0, len(time)
    while i < count:
        low = high = width[i]
        j = i + 1
        while j < count:
            low, high = min(low, width[j]), max(high, width[j])
            if high - low > band:
                break
            j += 1
        if until[j - 1] - time[i] >= SHORTEST_HOLD:
            spans.append((i, j))
            i = j
        else:
            i += 1
    return spans


def _joined(spans: Sequence[tuple[int, int]], width: Vector, close: float) -> list[tuple[int, int]]:
    """Join neighbours that are one hold: a single pulse on the band's edge must not make two of it."""
    joined: list[tuple[int, int]] = []
    for start, stop in spans:
        if joined and joined[-1][1] == start:
            before = width[slice(*joined[-1])].mean()
            if abs(width[start:stop].mean() - before) <= close:
                joined[-1] = (joined[-1][0], stop)
                continue
        joined.append((start, stop))
    return joined


def _hold(pulses: Pulses, ends: Vector, start: int, stop: int, grain: float) -> Hold:
    time, width, end = pulses.time[start:stop], pulses.width[start:stop], float(ends[stop - 1])
    core = (time >= time[0] + _EDGE) & (time <= end - _EDGE)
    kept = width[core] if core.sum() > _FEW else width
    spread = float(kept.std(ddof=1)) if len(kept) > 1 else 0.0
    count = max(min(len(kept), (end - float(time[0])) / _FRAME), 1.0)
    # rounding is not averaged out where nothing wavers
    rounding = grain / np.sqrt(12.0) if spread < 0.5 * grain else 0.0
    silence = float(np.diff(np.append(time, end)).max())
    return Hold(
        start=float(time[0]),
        end=end,
        value=float(kept.mean()),
        uncertainty=float(np.hypot(spread / np.sqrt(count), rounding)),
        silence=silence,
    )


def _grain(width: Vector) -> float:
    """Give the smallest step between two pulses, s: what they may have been rounded to; counters are no coarser."""
    steps = np.abs(np.diff(np.unique(width)))
    steps = steps[steps > 1e-10]  # noqa: PLR2004 - s; what the arithmetic adds
    return min(float(steps.min()), _COARSEST) if len(steps) else 1e-6
