"""Where a simulated airframe is and how it is turned, as functions of time, and what a sensor on it would feel.

Rates and forces are not written down: they come from differentiating the attitude once and the sensor's place
twice. The judge integrates rates and adds lever-arm terms; here neither appears.
World axes are north, east, down; rotations are `scipy.spatial.transform.Rotation` from body to world.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from benchrig.geometry.directions import Vector

STANDARD_GRAVITY: Final = 9.80665
"""m/s², exact (3rd CGPM, 1901)."""
_STEP: Final = 1e-3
"""s: between the points that are differenced; the error is below 1e-6 of the motions made here."""


class Trajectory(Protocol):
    """Anything that moves: attitude and place of its pivot, at any time."""

    def attitude(self, time: Vector) -> Rotation:
        """Give the rotation from body to world at each time (s)."""

    def pivot(self, time: Vector) -> Vector:
        """Give the place, shape (N, 3), m, in world axes, of the point the airframe is turned about."""


def angular_rate(trajectory: Trajectory, time: Vector) -> Vector:
    """Differentiate the attitude to body rates.

    Parameters
    ----------
    time : ndarray, shape (N,), s

    Returns
    -------
    ndarray, shape (N, 3), rad/s
        p, q, r: positive right side down, nose up, nose right.
    """

    def mean_rate(reach: float) -> Vector:
        before, after = trajectory.attitude(time - reach), trajectory.attitude(time + reach)
        return (before.inv() * after).as_rotvec() / (2 * reach)

    # two reaches cancel the error of second order
    result: Vector = (4 * mean_rate(_STEP) - mean_rate(2 * _STEP)) / 3
    return result


def specific_force(trajectory: Trajectory, time: Vector, pivot_to_sensor: Vector) -> Vector:
    """Differentiate the sensor's place twice, take gravity off, and turn the result into body axes.

    Parameters
    ----------
    time : ndarray, shape (N,), s
    pivot_to_sensor : ndarray, shape (3,), m
        In body axes.

    Returns
    -------
    ndarray, shape (N, 3), m/s²
        In body axes; level at rest reads (0, 0, -g).
    """

    def place(moment: Vector) -> Vector:
        return trajectory.pivot(moment) + trajectory.attitude(moment).apply(pivot_to_sensor)

    near = place(time - _STEP) + place(time + _STEP)
    far = place(time - 2 * _STEP) + place(time + 2 * _STEP)
    acceleration = (16 * near - far - 30 * place(time)) / (12 * _STEP**2)
    acceleration[:, 2] -= STANDARD_GRAVITY
    result: Vector = trajectory.attitude(time).inv().apply(acceleration)
    return result


def minimum_jerk(progress: Vector) -> Vector:
    """Go from 0 to 1 the way a hand does, and stay there.

    References
    ----------
    Flash & Hogan, "The coordination of arm movements", J. Neurosci. 5(7), 1985 (from memory).
    """
    x = np.clip(progress, 0.0, 1.0)
    return x * x * x * (10.0 - 15.0 * x + 6.0 * x * x)


SPIN_RAMP: Final = 0.08
"""Part of a spin that each of its ramps takes."""


def steady_spin(progress: Vector, ramp: float = SPIN_RAMP) -> Vector:
    """Go from 0 to 1 at a constant rate, but for smooth ramps at both ends.

    Parameters
    ----------
    ramp : float
        Part of the time that each ramp takes.
    """
    x = np.clip(progress, 0.0, 1.0)
    total = 1.0 - ramp

    def run_up(part: Vector) -> Vector:
        # the integral of 3 s² - 2 s³, a rate that starts and ends its rise smoothly
        s = np.clip(part, 0.0, 1.0)
        return ramp * (s**3 - 0.5 * s**4)

    middle = np.clip(x - ramp, 0.0, 1.0 - 2 * ramp)
    result: Vector = (run_up(x / ramp) + middle + run_up(np.ones_like(x)) - run_up((1.0 - x) / ramp)) / total
    return result


@dataclass(frozen=True, slots=True, eq=False)
class Wobble:
    """A sum of sines that swells and dies away: tremor, a wave of the hand, or a turntable's runout.

    Attributes
    ----------
    amplitude, frequency_hz, phase : ndarray, shape (J, 3)
        Of each axis; rad or m, Hz, rad.
    start, end : float, s
    ramp : float, s
        Time it takes to swell, and to die away at its end.
    decay : float, 1/s
        By which it dies away from the start, like a pendulum let go.
    """

    amplitude: Vector
    frequency_hz: Vector
    phase: Vector
    start: float
    end: float
    ramp: float
    decay: float = 0.0

    def at(self, time: Vector) -> Vector:
        """Give the wobble at each time, shape (N, 3)."""
        result = np.zeros((len(time), 3))
        goes_on = (time > self.start) & (time < self.end)
        when = time[goes_on]
        swell = minimum_jerk((when - self.start) / self.ramp) * minimum_jerk((self.end - when) / self.ramp)
        angle = 2 * np.pi * self.frequency_hz * when[:, None, None] + self.phase
        if self.decay:
            swell = swell * np.exp(-self.decay * (when - self.start))
        result[goes_on] = swell[:, None] * (self.amplitude * np.sin(angle)).sum(axis=1)
        return result


@dataclass(frozen=True, slots=True, eq=False)
class Leg:
    """One stretch of the path: a turn about a body-fixed axis and a shift, both along one profile.

    Attributes
    ----------
    start, end : float, s
    pose : Rotation
        From body to world at the start.
    turn : ndarray, shape (3,), rad
        Axis times angle in the body axes at the start; may be more than a full turn.
    place, shift : ndarray, shape (3,), m
        Of the point turned about in world axes: at the start, and its move.
    spins : bool
        Whether it turns at a constant rate; else the way a hand does.
    about : ndarray, shape (3,), m, or None
        The point it turns about, whose place and shift these are, from the path's pivot, in body axes; None where it is
        the pivot itself.
    """

    start: float
    end: float
    pose: Rotation
    turn: Vector
    place: Vector
    shift: Vector
    spins: bool = False
    about: Vector | None = None

    @property
    def end_pose(self) -> Rotation:
        """The rotation from body to world at the end."""
        return self.pose * Rotation.from_rotvec(self.turn)


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """Legs end to end, with wobbles on top; before the first and after the last leg everything stands still.

    Attributes
    ----------
    legs : tuple of Leg
    turns : tuple of Wobble
        Of the attitude, rad, in body axes.
    sways : tuple of Wobble
        Of the pivot, m, in world axes.
    """

    legs: tuple[Leg, ...]
    turns: tuple[Wobble, ...] = ()
    sways: tuple[Wobble, ...] = ()

    def _leg(self, time: Vector) -> NDArray[np.int64]:
        starts = [each.start for each in self.legs]
        return np.clip(np.searchsorted(starts, time, side="right") - 1, 0, len(self.legs) - 1)

    def _progress(self, time: Vector, leg: NDArray[np.int64]) -> Vector:
        start = np.array([each.start for each in self.legs])[leg]
        part = (time - start) / (np.array([each.end for each in self.legs])[leg] - start)
        spins = np.array([each.spins for each in self.legs])[leg]
        return np.where(spins, steady_spin(part), minimum_jerk(part)) if spins.any() else minimum_jerk(part)

    def attitude(self, time: Vector) -> Rotation:
        """Give the rotation from body to world at each time (s)."""
        leg = self._leg(time)
        turn = np.array([each.turn for each in self.legs])[leg] * self._progress(time, leg)[:, None]
        pose = Rotation.from_quat(np.array([each.pose.as_quat() for each in self.legs])[leg]) * Rotation.from_rotvec(
            turn
        )
        if not self.turns:
            return pose
        return pose * Rotation.from_rotvec(np.sum([wobble.at(time) for wobble in self.turns], axis=0))

    def pivot(self, time: Vector) -> Vector:
        """Give the place of the pivot in world axes, shape (N, 3), m."""
        leg = self._leg(time)
        shift = np.array([each.shift for each in self.legs])[leg] * self._progress(time, leg)[:, None]
        place: Vector = np.array([each.place for each in self.legs])[leg] + shift
        for wobble in self.sways:
            place = place + wobble.at(time)
        if any(each.about is not None for each in self.legs):
            about = np.array([np.zeros(3) if each.about is None else each.about for each in self.legs])[leg]
            place = place - self.attitude(time).apply(about)
        return place
