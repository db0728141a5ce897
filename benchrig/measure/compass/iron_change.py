"""Whether the iron, or the field of the room, changed in the middle: one compass cannot be corrected for two rigs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.compass.iron import IronFit, lasting_misfit
from benchrig.measure.compass.stretch import Stretch

LEAST_CHANGE: Final = 2e-6
"""T: a smaller one is put down to a room whose field is not quite the same all over; simulated rigs in an even field
come to 0.2 µT, a published recording by hand to 1.2 µT."""

SURE: Final = 6.0
"""Standard deviations that a change must stand out by: several hundred spans are tried."""

_BOUNDS: Final = 24  # spans of a recording that are tried begin and end at so many places
_LEAST_SPAN: Final = 1.0  # s
_PLAINLY: Final = 1.5  # times the other kind's fall of chi squared
_FAR: Final = 100e-6  # T: a change beyond this is not looked for


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """Something added to the field over a span of one stretch.

    Attributes
    ----------
    kind : {"iron", "room", "either"}
        Iron turns with the airframe; the room's field stands still. Where the airframe hardly turned meanwhile, or both
        explain the readings nearly as well, it may be either.
    recording : int
    start, end : float, s
        From the first sample of that recording.
    from_the_start, to_the_end : bool
        Whether it begins with its stretch, or lasts to the end of it.
    size : ndarray, shape (3,), T
        Body axes for iron, world axes for the room.
    sureness : float
        Its size in standard deviations.
    """

    kind: Literal["iron", "room", "either"]
    recording: int
    start: float
    end: float
    from_the_start: bool
    to_the_end: bool
    size: Vector
    sureness: float

    @property
    def strength(self) -> float:
        """Size of what was added, T; 0 where it does not stand out."""
        return float(np.linalg.norm(self.size)) if self.sureness >= SURE else 0.0


def find_change(fit: IronFit, stretches: Sequence[Stretch]) -> Change | None:
    """Look for a span in which one constant field, turning with the airframe or not, explains what the fit leaves.

    All unknowns of the fit may answer such a field; only what they cannot take up counts.

    Parameters
    ----------
    fit : IronFit
    stretches : sequence of Stretch

    Returns
    -------
    Change or None
        The one that explains most, however little that is; None where there is too little to try any.
    """
    tried = [found for k in range(len(stretches)) for found in _spans(fit, stretches, k)]
    if not tried:
        return None
    best = max(tried, key=lambda one: one.gain)
    sure = float(np.sqrt(best.gain) * fit.spread / max(_spread_without(fit, best), 1e-9))
    other = max(one.gain for one in tried if one.kind != best.kind)
    stretch = stretches[best.stretch]
    at = stretch.time[stretch.chosen]
    return Change(
        kind=best.kind if best.gain > _PLAINLY * other else "either",
        recording=stretch.recording,
        start=float(at[best.start]),
        end=float(at[best.stop - 1]),
        from_the_start=best.start == 0,
        to_the_end=best.stop == len(at),
        size=best.size,
        sureness=sure,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Span:
    kind: Literal["iron", "room"]
    stretch: int
    start: int
    stop: int
    size: Vector
    gain: float  # by which chi squared falls


def _spans(fit: IronFit, stretches: Sequence[Stretch], k: int) -> list[_Span]:
    stretch = stretches[k]
    at = stretch.time[stretch.chosen]
    bounds = np.unique(np.searchsorted(at, np.linspace(at[0], at[-1], _BOUNDS + 1))).tolist()
    bounds[-1] = len(at)
    whole = len(stretches) == 1
    found = []
    directions = {"iron": np.broadcast_to(np.eye(3), fit.attitude[k].shape)}
    directions["room"] = np.swapaxes(fit.attitude[k], 1, 2)
    for kind, direction in directions.items():
        sums = _Sums.of(fit, k, direction)
        for i, start in enumerate(bounds[:-1]):
            for stop in bounds[i + 1 :]:
                everything = whole and start == 0 and stop == len(at)
                if at[stop - 1] - at[start] < _LEAST_SPAN or everything:
                    continue
                size, gain = sums.solve(start, stop)
                found.append(_Span("iron" if kind == "iron" else "room", k, start, stop, size, gain))
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Sums:
    """Running sums over one stretch, from which any span's normal equations are a difference."""

    right: Vector
    own: Matrix
    shared: Matrix
    whole: Matrix
    spread: float

    @classmethod
    def of(cls, fit: IronFit, k: int, direction: Matrix) -> _Sums:
        turned = np.swapaxes(direction, 1, 2)
        right = np.einsum("nij,nj->ni", turned, fit.residual[k])
        return cls(
            _running(right), _running(turned @ direction), _running(turned @ fit.slope[k]), fit.whole, fit.spread
        )

    def solve(self, start: int, stop: int) -> tuple[Vector, float]:
        shared = (self.shared[stop] - self.shared[start]) / self.spread**2
        right = (self.right[stop] - self.right[start]) / self.spread**2
        # the residual is what the fit could not take up already, so only the information is lessened
        information = (self.own[stop] - self.own[start]) / self.spread**2 - shared @ self.whole @ shared.T
        information += np.eye(3) * _FAR**-2.0
        size: Vector = np.linalg.solve(information, right)
        return size, float(right @ size)


def _running(values: Vector) -> Vector:
    return np.concatenate([np.zeros((1, *values.shape[1:])), np.cumsum(values, axis=0)])


def _spread_without(fit: IronFit, span: _Span) -> float:
    """Give the readings' spread if the change, and all that the fit answered it by, were taken out."""
    k, inside = span.stretch, slice(span.start, span.stop)
    eye = np.broadcast_to(np.eye(3), fit.attitude[k].shape)
    direction = eye if span.kind == "iron" else np.swapaxes(fit.attitude[k], 1, 2)
    added = np.zeros_like(fit.residual[k])
    added[inside] = direction[inside] @ span.size
    answered = fit.whole @ np.einsum("nip,ni->p", fit.slope[k], added) / fit.spread**2
    left = [r + s @ answered for r, s in zip(fit.residual, fit.slope, strict=True)]
    left[k] = left[k] - added
    return lasting_misfit(left)
