"""The adapter of the `ahrs` library: nothing else in the program imports it, and every sign it needs is set here.

What its code does, and how it is met:

- It wants the reading of an accelerometer that points *down* at rest: see `pull_of_gravity`.
- A rate of exactly zero skips the accelerometer's correction; a NaN poisons all that follows; float32 is refused: see
  `fed_rate`.
- An unknown keyword is ignored without a word, a gain of zero is refused, and the bias stays in the object: a new
  object is made for each run here, with the keywords that `self_test` has seen working.
"""

from __future__ import annotations

from typing import Final

import ahrs
import numpy as np
from ahrs.common.orientation import acc2q
from ahrs.filters import AngularRate, Mahony

from benchrig.geometry.directions import Vector
from benchrig.geometry.rotations import (
    angles_from_matrix,
    gravity_reading,
    matrix_from_quaternion,
    quaternion_from_vector,
)

LIBRARY: Final = f"ahrs {ahrs.__version__}"

STILL: Final = 1e-30
"""Rate, rad/s, that stands for an exact zero: too small to turn anything, large enough not to be taken for zero."""


class ReferenceFilterError(RuntimeError):
    """The reference filter is not what this program was proved with; no verdict can rest on it."""


def fed_rate(angular_rate: Vector) -> Vector:
    """Prepare body rates for the filter.

    Parameters
    ----------
    angular_rate : ndarray, shape (N, 3), rad/s

    Returns
    -------
    ndarray, shape (N, 3), rad/s
        A float64 copy in which no row is exactly zero.

    Raises
    ------
    ValueError
        If a value is not finite.
    """
    rate = _finite(angular_rate, "rate")
    rate[~rate.any(axis=1), 0] = STILL
    return rate


def pull_of_gravity(specific_force: Vector) -> Vector:
    """Turn specific force into what the library calls acceleration: the only change of sign on the way to it.

    Parameters
    ----------
    specific_force : ndarray, shape (N, 3), m/s²
        Forward, right, down: level at rest reads (0, 0, -g).

    Returns
    -------
    ndarray, shape (N, 3), m/s²
        Points down at rest.

    Raises
    ------
    ValueError
        If a value is not finite.
    """
    return -_finite(specific_force, "specific force")


def _finite(values: Vector, what: str) -> Vector:
    copy = np.array(values, dtype=np.float64)
    bad = np.flatnonzero(~np.isfinite(copy).all(axis=1))
    if len(bad):
        message = (
            f"the {what} of sample {bad[0]} is {copy[bad[0]].tolist()}; the filter would carry it to all that follow"
        )
        raise ValueError(message)
    return copy


def upright_attitude(pull: Vector) -> Vector:
    """Give the attitude of heading zero in which gravity pulls along `pull`.

    Parameters
    ----------
    pull : ndarray, shape (3,)
        Body axes, any length.

    Returns
    -------
    ndarray, shape (4,)
        World from body, scalar first.
    """
    return np.asarray(acc2q(pull), dtype=np.float64)


def library_mahony(
    rate: Vector,
    pull: Vector,
    step: float,
    gains: tuple[float, float],
    start: Vector,
    *,
    bias: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> Vector:
    """Run the library's own loop.

    Parameters
    ----------
    rate, pull : ndarray, shape (N, 3)
        From `fed_rate` and `pull_of_gravity`.
    step : float, s
    gains : tuple of 2 floats
        k_P and k_I, above zero.
    start : ndarray, shape (4,)
        Attitude of the first sample.
    bias : tuple of 3 floats, rad/s
        State of the integral at the first sample.

    Returns
    -------
    ndarray, shape (N, 4)
        World from body, scalar first.
    """
    run = Mahony(gyr=rate, acc=pull, Dt=step, k_P=gains[0], k_I=gains[1], q0=start, b0=np.array(bias))
    return np.asarray(run.Q, dtype=np.float64)


def library_gyro(rate: Vector, step: float) -> Vector:
    """Run the library's own integration of rates in closed form, from the identity; shapes as above."""
    return np.asarray(AngularRate(gyr=rate, Dt=step, method="closed").Q, dtype=np.float64)


_SIDEWAYS: Final = quaternion_from_vector(np.radians([25.0, -15.0, 0.0]))
_KNOWN_FORCES: Final = (
    ("level", gravity_reading(0.0, 0.0, 9.81), (0.0, 0.0)),
    ("right side down by 30°", np.array([0.0, -0.5, -0.8660254037844386]) * 9.81, (30.0, 0.0)),
    ("nose up by 20°", np.array([0.3420201433256687, 0.0, -0.9396926207859084]) * 9.81, (0.0, 20.0)),
)


def self_test() -> None:
    """Feed the library four inputs whose answer is known, before anything is trusted to it; takes a few ms.

    Level, right side down and nose up are each found twice: at once from gravity, and by the filter's correction from
    a wrong start. A turn to the right must make the heading grow, in the filter and in the integration of rates.

    Raises
    ------
    ReferenceFilterError
        If an answer is wrong: the library has changed its signs, axes or keywords.
    """
    still = fed_rate(np.zeros((31, 3)))
    for name, force, expected in _KNOWN_FORCES:
        pull = pull_of_gravity(np.tile(force, (31, 1)))
        _expect(f"the start attitude for {name}", upright_attitude(pull[0]), (*expected, 0.0), 1e-6)
        settled = library_mahony(still, pull, 0.1, (2.0, 1e-3), _SIDEWAYS)[-1]
        _expect(f"the filter's attitude for {name}", settled, (*expected, None), 1.0)
    turning = fed_rate(np.tile([0.0, 0.0, 0.5], (11, 1)))
    pull = pull_of_gravity(np.tile(_KNOWN_FORCES[0][1], (11, 1)))
    heading = np.degrees(0.5)
    level = upright_attitude(pull[0])
    _expect(
        "the filter's turn to the right",
        library_mahony(turning, pull, 0.1, (2.0, 1e-3), level)[-1],
        (0, 0, heading),
        0.1,
    )
    _expect("the gyro's turn to the right", library_gyro(turning, 0.1)[-1], (0, 0, heading), 1e-6)


def _expect(what: str, attitude: Vector, expected: tuple[float | None, ...], tolerance: float) -> None:
    found = np.degrees(angles_from_matrix(matrix_from_quaternion(attitude)))
    for name, angle, wanted in zip(("roll", "pitch", "yaw"), found, expected, strict=True):
        if wanted is not None and not abs(angle - wanted) <= tolerance:
            message = (
                f"{LIBRARY} failed its self-test: {what} has {name} {angle:+.3f}° where {wanted:+.3f}° is right; "
                "its signs or keywords have changed, so install the version this program names"
            )
            raise ReferenceFilterError(message)
