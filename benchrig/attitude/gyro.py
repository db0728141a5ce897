"""The attitude by the gyro alone: the witness that no accelerometer can pull along."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import ceil, sqrt

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import multiply, quaternion_from_vector
from benchrig.signals.body import BodyRecording, IntArray


def segments(segment: IntArray) -> Iterator[tuple[int, int]]:
    """Give the sample range [start, stop) of each segment.

    Examples
    --------
    >>> list(segments(np.array([0, 0, 0, 1, 1])))
    [(0, 3), (3, 5)]
    """
    edges = [0, *(np.flatnonzero(np.diff(segment)) + 1).tolist(), len(segment)]
    return pairwise(edges)


def running_product(steps: Vector) -> Vector:
    """Multiply quaternions in order and keep every product on the way.

    Blocks of about √N run side by side, then each block is carried on from the one before it.

    Parameters
    ----------
    steps : ndarray, shape (N, 4)

    Returns
    -------
    ndarray, shape (N, 4)
        Row k is ``q0 ⊗ q1 ⊗ … ⊗ qk``, of length 1.
    """
    count = len(steps)
    length = ceil(sqrt(count))
    blocks = np.zeros((ceil(count / length), length, 4))
    blocks[..., 0] = 1.0
    blocks.reshape(-1, 4)[:count] = steps
    for k in range(1, length):
        blocks[:, k] = multiply(blocks[:, k - 1], blocks[:, k])
    for k in range(1, len(blocks)):
        blocks[k] = multiply(blocks[k - 1, -1], blocks[k])
    products = blocks.reshape(-1, 4)[:count]
    unit: Vector = products / np.linalg.norm(products, axis=1, keepdims=True)
    return unit


def gyro_attitude(body: BodyRecording) -> Vector:
    """Integrate the body rates in closed form, each segment from its own first sample.

    The rate of a sample holds over the step that ends with it, as in the reference filter: the same quaternions as
    ``ahrs.filters.AngularRate(method="closed")``, to 1e-12.

    Parameters
    ----------
    body : BodyRecording

    Returns
    -------
    ndarray, shape (N, 4)
        First sample of the segment from body, scalar first: the identity at the start of each segment.

    Examples
    --------
    A second at 90°/s to the right turns the nose right by 90°, which is positive.

    >>> rate = np.tile([0.0, 0.0, np.radians(90.0)], (101, 1))
    >>> force = np.tile([0.0, 0.0, -9.81], (101, 1))
    >>> body = BodyRecording(np.arange(101) * 0.01, 0.01, np.zeros(101, dtype=np.int64), rate, force, force)
    >>> gyro_attitude(body)[-1].round(6).tolist()
    [0.707107, 0.0, 0.0, 0.707107]
    """
    steps = quaternion_from_vector(body.angular_rate * body.step)
    result = np.empty_like(steps)
    for start, stop in segments(body.segment):
        steps[start] = (1.0, 0.0, 0.0, 0.0)
        result[start:stop] = running_product(steps[start:stop])
    return result
