"""The exact test of a gyro: carried through a move by the gyro's rates, a fixed vector must arrive where it is seen.

Between two moments at which a vector keeps its size (nothing but gravity in it, say), the turn is integrated exactly
and compared with where the vector is found. Every order, sign and scale of columns gives errors of its own; the
errors of a right one are small throughout, and heavy tails are forgiven.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import matrix_from_quaternion, multiply, quaternion_from_vector
from benchrig.measure.describe.bins import Bins
from benchrig.measure.describe.passages import Passages
from benchrig.measure.describe.transport import Turner

TOLERANCE: Final = 0.04
"""rad: how far a right gyro and a usual accelerometer disagree over a move."""

USUAL_BIAS: Final = 0.06
"""Of the size: 60 mg (common practice for a consumer unit that nobody calibrated)."""

_WIDTHS: Final = np.geomspace(0.012, 1.0, 18)
_ROUNDS: Final = 4
_AT_ONCE: Final = 200_000  # quaternions

_COARSE: Final = np.geomspace(0.7, 1.6, 12)
_FINE: Final = np.geomspace(0.95, 1.05, 9)


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
