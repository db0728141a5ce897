"""Mahony's update without a compass as one scalar loop: the same source runs interpreted or compiled.

The reference library spends about 49 µs a sample, nearly all of it in making small arrays. This loop gives the same
quaternions to 1e-12 (proved in the tests, and replayed by the library itself in every run).
"""

from __future__ import annotations

from collections.abc import Callable, MutableSequence, Sequence
from functools import cache
from math import sqrt
from typing import Any, Final, cast

import numpy as np

from benchrig.geometry.directions import Vector

Bias = tuple[float, float, float]
Steps = Callable[..., Bias]

LONG: Final = 300_000
"""Samples from which the compiled loop is used.

Measured on a slow two-core machine: 1.0 µs a sample interpreted (2.0 µs with its lists), 0.06 µs compiled. Loading the
compiler and what it stored takes 0.5 s, which about 300 000 samples pay back; the first time of all takes 1.3 s more.
"""


def mahony_steps(  # noqa: PLR0917 - the compiler takes its arguments by position
    rate: Sequence[float],
    pull: Sequence[float],
    attitude: MutableSequence[float],
    first: int,
    stop: int,
    step: float,
    proportional: float,
    integral: float,
    bias: Bias,
) -> Bias:
    """Carry the attitude from sample ``first - 1`` to sample ``stop - 1``.

    Parameters
    ----------
    rate : flat sequence, 3 N floats, rad/s
        p, q, r of each sample.
    pull : flat sequence, 3 N floats
        Unit vectors along measured gravity (down at rest), body axes; three zeros where nothing was measured.
    attitude : flat sequence, 4 N floats
        World from body, scalar first. Read at ``first - 1``, written from `first` on.
    first, stop : int
    step : float, s
    proportional : float, 1/s
        Gain k_P.
    integral : float, 1/s²
        Gain k_I.
    bias : tuple of 3 floats, rad/s
        The integral's state after sample ``first - 1``.

    Returns
    -------
    tuple of 3 floats, rad/s
        The integral's state after the last sample.

    Notes
    -----
    A sample whose rate is exactly zero leaves everything as it was, and one without a measured pull is integrated
    without correction and without bias: so does the library.

    References
    ----------
    Mahony, Hamel, Pflimlin, Nonlinear complementary filters on the special orthogonal group, IEEE Transactions on
    Automatic Control 53(5), 2008, eqs. 32 and 48 as numbered in the source of `ahrs` 0.4.0.
    """
    b0, b1, b2 = bias
    half, growth = 0.5 * step, integral * step
    i = 4 * first
    w, x, y, z = attitude[i - 4], attitude[i - 3], attitude[i - 2], attitude[i - 1]
    for j in range(3 * first, 3 * stop, 3):
        p, q, r = rate[j], rate[j + 1], rate[j + 2]
        if p != 0.0 or q != 0.0 or r != 0.0:
            ax, ay, az = pull[j], pull[j + 1], pull[j + 2]
            if ax != 0.0 or ay != 0.0 or az != 0.0:
                vx = 2.0 * (x * z - w * y)
                vy = 2.0 * (w * x + y * z)
                vz = 1.0 - 2.0 * (x * x + y * y)
                ex = ay * vz - az * vy
                ey = az * vx - ax * vz
                ez = ax * vy - ay * vx
                b0 -= growth * ex
                b1 -= growth * ey
                b2 -= growth * ez
                p += proportional * ex - b0
                q += proportional * ey - b1
                r += proportional * ez - b2
            nw = w - half * (x * p + y * q + z * r)
            nx = x + half * (w * p + y * r - z * q)
            ny = y + half * (w * q - x * r + z * p)
            nz = z + half * (w * r + x * q - y * p)
            shrink = 1.0 / sqrt(nw * nw + nx * nx + ny * ny + nz * nz)
            w, x, y, z = nw * shrink, nx * shrink, ny * shrink, nz * shrink
        attitude[i], attitude[i + 1], attitude[i + 2], attitude[i + 3] = w, x, y, z
        i += 4
    return b0, b1, b2


@cache
def compiled_steps() -> Steps:
    """Compile `mahony_steps`, or load what an earlier run compiled."""
    import numba  # noqa: PLC0415 - takes 0.4 s, and only long recordings pay it back

    try:
        return cast("Steps", numba.njit(cache=True)(mahony_steps))
    except RuntimeError:  # no folder to keep the result in can be written: compile for this run alone
        return cast("Steps", numba.njit(mahony_steps))


class Loop:
    """One run of the filter over one segment, resumable so that its state can be looked at on the way.

    Parameters
    ----------
    rate : ndarray, shape (N, 3), rad/s
    pull : ndarray, shape (N, 3)
        Along measured gravity; any length.
    step : float, s
    gains : tuple of 2 floats
        k_P and k_I.
    start : ndarray, shape (4,)
        The attitude at the first sample.
    compiled : bool
    """

    def __init__(
        self, rate: Vector, pull: Vector, step: float, gains: tuple[float, float], start: Vector, *, compiled: bool
    ) -> None:
        size = np.linalg.norm(pull, axis=1, keepdims=True)
        unit = np.divide(pull, size, out=np.zeros_like(pull), where=size > 0)
        flat = [rate.ravel(), unit.ravel(), np.zeros(4 * len(rate))]
        flat[2][:4] = start
        # a list's items are Python floats already, an array makes one at each reading: three times the time
        self._buffers: list[Any] = flat if compiled else [part.tolist() for part in flat]
        self._steps: Steps = compiled_steps() if compiled else mahony_steps
        self._settings = (step, gains[0], gains[1])
        self._next = 1
        self.bias: Bias = (0.0, 0.0, 0.0)

    def run_to(self, stop: int) -> None:
        """Carry the attitude to sample ``stop - 1``."""
        if stop > self._next:
            self.bias = self._steps(*self._buffers, self._next, stop, *self._settings, self.bias)
            self._next = stop

    @property
    def attitude(self) -> Vector:
        """World from body, shape (N, 4); zeros where the loop has not been yet."""
        return np.array(self._buffers[2]).reshape(-1, 4)
