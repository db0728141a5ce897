"""The exact test of a gyro: carried through a move by the gyro's rates, a fixed vector must arrive where it is seen.

Between two moments at which a vector keeps its size (nothing but gravity in it, say), the turn is integrated exactly
and compared with where the vector is found. Every order, sign and scale of columns gives errors of its own; the
errors of a right one are small throughout, and heavy tails are forgiven.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import matrix_from_quaternion, multiply, quaternion_from_vector
from benchrig.measure.describe.bins import Bins, running_mean
from benchrig.measure.describe.transport import Turner
from benchrig.measure.describe.vectors import Directed
from benchrig.signals.body import BoolArray, IntArray

TOLERANCE: Final = 0.04
"""rad: how far a right gyro and a usual accelerometer disagree over a move."""

USUAL_BIAS: Final = 0.06
"""Of the size: 60 mg (common practice for a consumer unit that nobody calibrated)."""

_WIDTHS: Final = np.geomspace(0.012, 1.0, 18)
_ROUNDS: Final = 4
_AT_ONCE: Final = 200_000  # quaternions

_QUIET_SIZE: Final = 0.08
_QUIET_SPREAD: Final = 0.025
"""Of the size: how far it may be off, and vary within a fifth of a second, where the vector is taken for fixed."""

_ENOUGH: Final = 8  # passages between still moments

_QUIET_WINDOW: Final = 0.2  # s
_SETTLING: Final = 0.5  # s
_APART: Final = 0.3  # s: two moments nearer than this are one
_CHANGED: Final = np.radians(15.0)
_LONGEST: Final = 12.0  # s: beyond this the gyro's bias tells more than its rates
_MOST_PASSAGES: Final = 160

_COARSE: Final = np.geomspace(0.7, 1.6, 12)
_FINE: Final = np.geomspace(0.95, 1.05, 9)


@dataclass(frozen=True, slots=True, eq=False)
class Passages:
    """Moves from one quiet moment to the next, none overlapping another, as one vector sees them.

    Attributes
    ----------
    start, stop : ndarray, shape (P,), int
        Bins.
    before, after : ndarray, shape (P, 3)
        The vector as read, as parts of its size.
    """

    start: IntArray
    stop: IntArray
    before: Vector
    after: Vector

    def __len__(self) -> int:
        return len(self.start)

    @property
    def change(self) -> Vector:
        """Angle between the vectors before and after, shape (P,), rad."""
        sine = np.linalg.norm(np.cross(self.before, self.after), axis=1)
        return np.asarray(np.arctan2(sine, np.einsum("ij,ij->i", self.before, self.after)))


def find_passages(bins: Bins, vector: Directed) -> Passages:
    """Find the moves of a vector: from the last quiet moment before it changes to the first one after.

    Quiet is still; where the unit hardly ever was still, a size that hardly changes must do.
    """
    still = _passages(bins, vector, needs_still=True)
    if len(still) >= _ENOUGH:
        return still
    steady = _passages(bins, vector, needs_still=False)
    return steady if len(steady) > len(still) else still


def _passages(bins: Bins, vector: Directed, *, needs_still: bool) -> Passages:
    width = max(bins.count(_QUIET_WINDOW), 3)
    values = vector.of(bins.values)
    means = running_mean(values, width)
    length = np.linalg.norm(means, axis=1)
    spread = _spread(values if needs_still else np.linalg.norm(values, axis=1, keepdims=True), width)
    is_quiet = (spread < _QUIET_SPREAD) & (np.abs(length - 1) < _QUIET_SIZE)
    if needs_still:
        is_quiet &= _inner(spread < _QUIET_SPREAD, width // 2)
    units = means / np.maximum(length, 1e-9)[:, None]
    read = running_mean(bins.values[:, vector.columns] / vector.size, width)
    middle = width // 2
    gaps = np.concatenate([[0], np.cumsum(bins.broken)])
    pairs = [
        (i, j)
        for i, j in _paired(np.flatnonzero(is_quiet), units, bins.step)
        if (j - i) * bins.step <= _LONGEST and gaps[j + middle + 1] == gaps[i + middle]
    ]
    if needs_still:
        reach = bins.count(_SETTLING)
        pairs = [(_calmest(is_quiet, spread, i, -reach), _calmest(is_quiet, spread, j, reach)) for i, j in pairs]
    start, stop = np.array(_best_spread(pairs), dtype=np.int64).reshape(-1, 2).T
    return Passages(start + middle, stop + middle, read[start], read[stop])


def _spread(values: Vector, width: int) -> Vector:
    """Give how much values vary within a window, the most of any column."""
    square = running_mean(values**2, width) - running_mean(values, width) ** 2
    return np.asarray(np.sqrt(np.maximum(square, 0.0)).max(axis=1))


def _calmest(is_quiet: BoolArray, spread: Vector, moment: int, reach: int) -> int:
    """Step away from a move, to the calmest moment of the rest beside it: hands have let go by then."""
    beside = range(moment, min(max(moment + reach, 0), len(spread) - 1), 1 if reach > 0 else -1)
    rest = list(itertools.takewhile(lambda at: bool(is_quiet[at]), beside))
    return min(rest, key=lambda at: float(spread[at]), default=moment)


def _inner(mask: BoolArray, margin: int) -> BoolArray:
    """Leave out the edges: a move begins and ends with a push that has the right size by chance."""
    if len(mask) <= 2 * margin:
        return np.zeros_like(mask)
    whole = running_mean(mask[:, None].astype(np.float64), 2 * margin + 1)[:, 0] > 1 - 0.5 / (2 * margin + 1)
    return np.pad(whole, margin)


def _paired(quiet: IntArray, units: Vector, step: float) -> list[tuple[int, int]]:
    """Pair quiet moments across every change of direction and every stretch that is not quiet."""
    pairs: list[tuple[int, int]] = []
    if not len(quiet):
        return pairs
    apart = max(round(_APART / step), 1)
    bound = np.cos(_CHANGED)
    anchor = last = int(quiet[0])
    for moment in quiet[1:].tolist():
        if moment - last > apart:
            pairs.append((last, moment))
            anchor = moment
        elif moment - anchor >= apart and units[moment] @ units[anchor] < bound:
            pairs.append((anchor, moment))
            anchor = moment
        elif moment - anchor > 2 * apart and units[moment] @ units[anchor] > np.cos(_CHANGED / 5):
            anchor = moment - apart  # still: the move has not begun
        last = moment
    return pairs


def _best_spread(pairs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    if len(pairs) <= _MOST_PASSAGES:
        return pairs
    chosen = np.linspace(0, len(pairs) - 1, _MOST_PASSAGES).astype(int)
    return [pairs[i] for i in chosen]


def turns_of(bins: Bins, passages: Passages, turners: Sequence[Turner], scales: Sequence[float]) -> Vector:
    """Integrate every turner's rates over every passage.

    Parameters
    ----------
    bins : Bins
    passages : Passages
    turners : sequence of Turner, length T
        A column of -1 turns nothing.
    scales : sequence of float, length T, rad/s
        In place of the turners' own.

    Returns
    -------
    ndarray, shape (T, P, 4)
        Unit quaternions, scalar first: the body's turn from before to after.
    """
    columns = np.array([t.columns for t in turners])
    factors = np.array([t.signs for t in turners]) * np.asarray(scales)[:, None]
    moving = np.column_stack([bins.values - bins.level, np.zeros(len(bins.values))])
    span = passages.stop - passages.start
    turn = np.zeros((len(turners), len(passages), 4))
    turn[..., 0] = 1.0
    # passages of about one length go together, and as many turners at once as memory likes
    for length in sorted({_length(steps) for steps in span.tolist()}):
        chosen = np.flatnonzero([_length(steps) == length for steps in span.tolist()])
        at = np.minimum(passages.start[chosen, None] + np.arange(length), len(moving) - 2)
        steps = 0.5 * bins.step * (moving[at] + moving[at + 1])  # (P, L, C + 1)
        steps[np.arange(length) >= span[chosen, None]] = 0.0
        together = max(1, _AT_ONCE // steps[..., 0].size)
        for first in range(0, len(turners), together):
            part = slice(first, first + together)
            rates = np.moveaxis(steps[..., columns[part]], 2, 0) * factors[part, None, None]
            turn[part, chosen] = _product(quaternion_from_vector(rates))
    return turn


def _length(steps: int) -> int:
    """Give the next power of two."""
    return 1 << max(steps - 1, 0).bit_length()


def _product(steps: Vector) -> Vector:
    """Multiply quaternions along the last axis but one, in order, by halves; their number is a power of two."""
    while steps.shape[-2] > 1:
        steps = multiply(steps[..., ::2, :], steps[..., 1::2, :])
    return steps[..., 0, :]


def missed_by(passages: Passages, turn: Vector) -> tuple[Vector, Vector]:
    """Give by how much the vector is missed after each passage, under the bias of the vector that misses least.

    With R the turn, the vector a and its bias c, ``(a_after − c) = Rᵀ (a_before − c)``: linear in c, which is held
    near zero as far as a usual bias goes; large errors weigh little.

    Parameters
    ----------
    passages : Passages
    turn : ndarray, shape (T, P, 4)

    Returns
    -------
    missed : ndarray, shape (T, P)
        As parts of the vector's size: rad.
    bias : ndarray, shape (T, 3)
        As parts of the vector's size.
    """
    back = matrix_from_quaternion(turn).swapaxes(-1, -2)
    apart = back @ passages.before[:, :, None] - passages.after[:, :, None]
    design = np.eye(3) - back
    weight = np.ones(turn.shape[:2])
    bias = np.zeros((len(turn), 3, 1))
    left = apart
    for _ in range(_ROUNDS):
        heavy = design.swapaxes(-1, -2) * (weight / TOLERANCE**2)[..., None, None]
        normal = (heavy @ design).sum(axis=1) + np.eye(3) / USUAL_BIAS**2
        bias = -np.linalg.solve(normal, (heavy @ apart).sum(axis=1))
        left = apart + design @ bias[:, None]
        weight = 1 / (1 + np.einsum("tpij,tpij->tp", left, left) / TOLERANCE**2)
    return np.sqrt(np.einsum("tpij,tpij->tp", left, left)), bias[..., 0]


def evidence(missed: Vector) -> Vector:
    """Give the log-likelihood of errors under a heavy-tailed law in the plane, its width the likeliest one.

    Parameters
    ----------
    missed : ndarray, shape (T, P), rad

    Returns
    -------
    ndarray, shape (T,)
    """
    relative = (missed[..., None] / _WIDTHS) ** 2
    likely = -1.5 * np.log1p(relative).sum(axis=-2) - 2 * missed.shape[-1] * np.log(_WIDTHS)
    return np.asarray(likely.max(axis=-1))


def fit_scale(bins: Bins, passages: Passages, turner: Turner) -> float:
    """Find the scale under which a turner misses least, rad/s to one of the columns' unit."""
    scale = turner.scale
    for grid in (_COARSE, _FINE, 1 + (_FINE - 1) / 5):
        scales = scale * grid
        missed, _ = missed_by(passages, turns_of(bins, passages, [turner] * len(scales), scales.tolist()))
        scale = float(scales[int(np.argmax(evidence(missed)))])
    return scale
