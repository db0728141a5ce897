"""What the airframe is doing now: still or not, and how far it has turned since it was last at rest."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.integration import LONGEST_EXACT_TURN
from benchrig.geometry.rotations import multiply, quaternion_from_vector, vector_from_quaternion
from benchrig.live.stillness import Grade, Stillness, Window
from benchrig.signals.time_base import LONGEST_BRIDGE

BLOCK_S: Final = 0.025
"""Of samples that are looked at together: the guide is never later than this."""

_ORDINARY_STEPS: Final = 2.5  # a longer step than so many ordinary ones is a gap
_REST_WINDOWS: Final = 40  # of a quarter second each: of a longer rest the last ten seconds count
_DEGREES: Final = np.pi / 180
_LEARNED: Final = 0.05  # by how much one step changes what is held to be ordinary


@dataclass(frozen=True, slots=True, eq=False)
class Sensed:
    """One moment, by the unit's own sensors.

    Attributes
    ----------
    time : float, s
        From the first sample.
    grade : {"", "hand", "bench"}
        Whether it is still, and how still.
    still_for, bench_for : float, s
        How long it has been still without a break, and as still as on the bench.
    left_at : float, s
        When it was last still.
    turn, mirrored_turn : ndarray, shape (3,), rad
        Net turn since the last anchor, of the rates and of the rates reversed; sensor axes at the anchor.
    gravity_angle : float, rad
        Between the accelerometer's readings now and at the anchor.
    lean : float, rad
        Between its readings now and at the level rest; 0 where there was none.
    gap : bool
        Whether the stream broke since the anchor.
    gyro_sd, acceleration_sd : float, rad/s and parts of g
        Over the last quarter second, of the channel that varies most.
    """

    time: float
    grade: Grade
    still_for: float
    bench_for: float
    left_at: float
    turn: Vector
    mirrored_turn: Vector
    gravity_angle: float
    lean: float
    gap: bool
    gyro_sd: float = 0.0
    acceleration_sd: float = 0.0

    @property
    def angle(self) -> float:
        """The larger of what gyro and accelerometer say it has turned by, rad."""
        return max(float(np.linalg.norm(self.turn)), self.gravity_angle)

    def in_body(self, body_from_sensor: Matrix) -> Vector:
        """Give the net turn in body axes, shape (3,), rad; a mounting with determinant -1 reads the reversed rates."""
        if np.linalg.det(body_from_sensor) < 0:
            turn: Vector = -(body_from_sensor @ self.mirrored_turn)
            return turn
        return np.asarray(body_from_sensor @ self.turn)


class Watch:
    """Follows the samples of one unit; sensor axes, SI units.

    The work for a sample does not grow with the recording. Turns are integrated block by block, which is near enough
    to guide a hand; the judge integrates every sample anew.

    Attributes
    ----------
    scale : float or None
        By which the rates are multiplied from the next anchor on, where the judge knows it.
    """

    def __init__(self) -> None:
        self._stillness = Stillness()
        self._rest: deque[Window] = deque(maxlen=_REST_WINDOWS)
        self._time = float("nan")
        self._reading = np.zeros(6)
        self._step: float | None = None
        self._still_since: float | None = None
        self._bench_since: float | None = None
        self.scale: float | None = None
        self._scale = 1.0
        self._left_at = 0.0
        self._force: Vector | None = None
        self._level: Vector | None = None
        self.anchor()

    @property
    def is_level_known(self) -> bool:
        """Whether a level rest has shown which way gravity points."""
        return self._level is not None

    def anchor(self) -> None:
        """Count turns from here."""
        self._rescale()
        self._whole = np.array([[1.0, 0.0, 0.0, 0.0], [1.0, 0.0, 0.0, 0.0]])
        self._plain = np.zeros(3)
        self._gap = False
        self._anchor_force = self._force

    def _rescale(self) -> None:
        """Take the rates for what they are found to be; a gyro that reads degrees shows it before it is judged."""
        wanted = self.scale
        if wanted is None:
            wanted = _DEGREES if self._stillness.reads_degrees else self._scale
        if wanted != self._scale:
            ratio = wanted / self._scale
            self._scale = wanted
            self._reading = self._reading * np.array([ratio, ratio, ratio, 1.0, 1.0, 1.0])
            self._stillness.rescale(ratio)
            self._rest.clear()
            self._still_since = self._bench_since = None

    def settle(self, *, level: bool) -> None:
        """Take the gyro's bias from the bench rest that goes on now, and, if it is level, the way gravity points."""
        if not self._rest:
            return
        self._stillness.bias = np.mean([window.rate for window in self._rest], axis=0)
        if level:
            self._level = np.mean([window.force for window in self._rest], axis=0)

    def feed(self, time: Vector, readings: Vector) -> Iterator[Sensed]:
        """Take samples, shape (n,) and (n, 6): rates (rad/s), then the accelerometer's readings (m/s²).

        Yields
        ------
        Sensed
            One a block; what is done between two of them counts for the next.
        """
        begin = 0
        # a scale that changes while these are looked at holds for what is left of them
        while begin < len(time):
            stop = self._block_end(time, begin)
            scale = np.array([self._scale, self._scale, self._scale, 1.0, 1.0, 1.0])
            sensed = self._block(time[begin:stop], readings[begin:stop] * scale)
            begin = stop
            if sensed is not None:
                yield sensed

    def _block_end(self, time: Vector, begin: int) -> int:
        """End a block after `BLOCK_S`, and before a gap."""
        previous = time[begin] if np.isnan(self._time) else self._time
        if self._is_gap(float(time[begin]) - float(previous)):
            return begin + 1
        stop = max(int(np.searchsorted(time, time[begin] + BLOCK_S)), begin + 1)
        steps = np.diff(time[begin:stop])
        breaks = np.flatnonzero(steps > self._longest())
        return begin + int(breaks[0]) + 1 if len(breaks) else stop

    def _longest(self) -> float:
        return LONGEST_BRIDGE if self._step is None else max(LONGEST_BRIDGE, _ORDINARY_STEPS * self._step)

    def _is_gap(self, step: float) -> bool:
        return step > self._longest()

    def _block(self, time: Vector, readings: Vector) -> Sensed | None:
        if np.isnan(self._time):
            self._time, self._reading = float(time[0]), readings[0]
        before = self._time
        if self._is_gap(float(time[0]) - before) and self._step is not None:
            self._break(time, readings)
            return None
        self._integrate(time, readings)
        window = self._stillness.add(before, float(time[-1]), readings)
        self._time, self._reading = float(time[-1]), readings[-1]
        if window is None:
            return None
        self._note(window)
        return self._sensed(window)

    def _break(self, time: Vector, readings: Vector) -> None:
        """Begin again after a gap: nothing is known of what was done meanwhile."""
        self._stillness.clear()
        self._still_since = self._bench_since = None
        self._rest.clear()
        self._gap = True
        self._time, self._reading = float(time[-1]), readings[-1]

    def _integrate(self, time: Vector, readings: Vector) -> None:
        steps = np.diff(time, prepend=self._time)
        ordinary = float(np.median(steps))
        if self._step is None and ordinary > 0:
            self._step = ordinary
        elif self._step is not None:
            self._step += _LEARNED * (ordinary - self._step)
        rates = np.vstack([self._reading[:3], readings[:, :3]])
        bias = np.zeros(3) if self._stillness.bias is None else self._stillness.bias
        turn = ((0.5 * (rates[1:] + rates[:-1]) - bias) * steps[:, None]).sum(axis=0)
        self._plain = self._plain + turn
        self._whole = multiply(self._whole, quaternion_from_vector(np.array([turn, -turn])))

    def _note(self, window: Window) -> None:
        self._force = window.force
        if self._anchor_force is None:
            self._anchor_force = window.force
        if window.grade:
            self._still_since = window.start if self._still_since is None else self._still_since
            self._left_at = window.end
        else:
            self._still_since = None
        if window.grade == "bench":
            self._bench_since = window.start if self._bench_since is None else self._bench_since
            if not self._rest or window.start >= self._rest[-1].end:
                self._rest.append(window)
        else:
            self._bench_since = None
            self._rest.clear()

    def _sensed(self, window: Window) -> Sensed:
        now = window.end
        turn, mirrored = self._turns()
        return Sensed(
            time=now,
            grade=window.grade,
            still_for=0.0 if self._still_since is None else now - self._still_since,
            bench_for=0.0 if self._bench_since is None else now - self._bench_since,
            left_at=self._left_at,
            turn=turn,
            mirrored_turn=mirrored,
            gravity_angle=_angle(self._anchor_force, window.force),
            lean=_angle(self._level, window.force),
            gap=self._gap,
            gyro_sd=window.gyro_sd,
            acceleration_sd=window.acceleration_sd,
        )

    def _turns(self) -> tuple[Vector, Vector]:
        """Follow the turn through half and full turns, as the judge does."""
        if np.linalg.norm(self._plain) > LONGEST_EXACT_TURN:
            return self._plain, -self._plain
        turn, mirrored = vector_from_quaternion(self._whole)
        return _unwound(turn, self._plain), _unwound(mirrored, -self._plain)


def _unwound(shortest: Vector, plain: Vector) -> Vector:
    angle = float(np.linalg.norm(shortest))
    if angle < 1e-9:  # noqa: PLR2004 - rad: no axis
        return shortest
    axis = shortest / angle
    turns = np.round((plain @ axis - angle) / (2 * np.pi))
    result: Vector = (angle + 2 * np.pi * turns) * axis
    return result


def _angle(first: Vector | None, second: Vector) -> float:
    if first is None:
        return 0.0
    return float(np.arctan2(np.linalg.norm(np.cross(first, second)), first @ second))
