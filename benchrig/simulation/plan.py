"""What the simulated operator does, from the first rest to the last: drawn once, then a path through time."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import AXIS_NAMES, TURNS, turn_word
from benchrig.simulation.faults import Faults
from benchrig.simulation.hand import hand_turn, tremor, wave
from benchrig.simulation.options import Options
from benchrig.simulation.trajectory import SPIN_RAMP, Leg, Path, Wobble

_SIZE_DEG: Final = (25.0, 45.0)
_SPIN_S: Final = 10.0
_WAVE_S: Final = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """One motion as it was really made.

    Attributes
    ----------
    asked, done : str
        What the prompt said, and what the operator did.
    start, held, released, back : float, s
        Start of the outward move, start and end of the hold, end of the return.
    turn : ndarray, shape (3,), rad
        Net turn of the outward move: axis times angle, in body axes at its start.
    """

    asked: str
    done: str
    start: float
    held: float
    released: float
    back: float
    turn: Vector


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The whole bench: its path, its motions, its length (s), and the pivot all turning is about (m from the CG)."""

    path: Path
    motions: tuple[Made, ...]
    duration: float
    pivot: Vector


def draw_plan(options: Options, faults: Faults, rng: np.random.Generator) -> Plan:
    """Draw what the operator does."""
    draft = _Draft.begin(options, faults, rng)
    for index, name in enumerate(options.motions):
        if name in faults.values("motion-missing"):
            continue
        if name == "level":
            draft.level(3.0 if index == 0 else 2.0)
        elif name == "free":
            draft.free()
        elif name.startswith("turntable"):
            draft.spin(name, options.turntable_rpm)
        else:
            draft.turn(name, options.slop_deg)
    return draft.plan()


def really_done(asked: str, faults: Faults) -> str:
    """Give the motion an operator makes when asked for `asked`."""
    axis, sign = TURNS[asked]
    wrong = asked in faults.values("operator-wrong")
    wrong ^= AXIS_NAMES[axis] in faults.values("operator-wrong-pair")
    wrong ^= faults.has("operator-reversed") and axis in (0, 1)
    if asked in faults.values("operator-other"):
        axis = (axis + 1) % 3
    return turn_word(axis, -sign if wrong else sign)


@dataclass(slots=True, eq=False)
class _Draft:
    """A plan in the making: time and pose reached so far, and what was laid down."""

    rng: np.random.Generator
    faults: Faults
    plane: Rotation
    heading: float
    pivot: Vector
    place: Vector
    pose: Rotation
    now: float = 0.0
    lifted: bool = False
    legs: list[Leg] = field(default_factory=list)
    turns: list[Wobble] = field(default_factory=list)
    sways: list[Wobble] = field(default_factory=list)
    made: list[Made] = field(default_factory=list)

    @classmethod
    def begin(cls, options: Options, faults: Faults, rng: np.random.Generator) -> _Draft:
        tilt = np.radians(faults.number("unlevel-start", rng.uniform(0.0, 2.0)))
        downhill = rng.uniform(0, 2 * np.pi)
        plane = Rotation.from_rotvec(tilt * np.array([np.cos(downhill), np.sin(downhill), 0.0]))
        heading = rng.uniform(0, 2 * np.pi)
        pivot = rng.normal(0.0, 0.06, 3)
        if any(name.startswith("turntable") for name in options.motions):
            pivot = np.array(options.turntable_pivot)
        return cls(rng, faults, plane, heading, pivot, np.zeros(3), _standing(plane, heading))

    def draw_pause(self, shortest: float, longest: float) -> float:
        drawn = self.rng.uniform(shortest, longest)
        return 0.05 if self.faults.has("no-rest") else drawn

    def draw_move(self) -> float:
        return self.faults.number("too-slow", self.rng.uniform(0.7, 1.1))

    def leg(self, seconds: float, turn: Vector, shift: Vector, *, spins: bool = False) -> None:
        leg = Leg(self.now, self.now + seconds, self.pose, turn, self.place, shift, spins)
        self.legs.append(leg)
        self.now, self.pose, self.place = leg.end, leg.end_pose, self.place + shift

    def still(self, seconds: float) -> None:
        self.leg(seconds, np.zeros(3), np.zeros(3))

    def shake(self, start: float) -> None:
        attitude, place = tremor(self.rng, start - 0.1, self.now + 0.1, shake=self.faults.number("shaky", 1.0))
        self.turns.append(attitude)
        self.sways.append(place)

    def go_back(self, shift: Vector) -> None:
        """Come back to the bench, or, if it is never put down, to about level in the hand."""
        self.heading += self.rng.normal(0.0, np.radians(2.0))
        target = _standing(self.plane, self.heading)
        about = Rotation.from_rotvec(self.rng.normal(0.0, np.radians(1.5), 3))
        self.lifted = self.faults.has("hand-rests")
        self.leg(self.draw_move(), (self.pose.inv() * (target * about if self.lifted else target)).as_rotvec(), -shift)

    def rest(self, start: float) -> None:
        """Rest after a motion that began at `start`; in the hand the shaking goes on."""
        if self.lifted:
            self.still(self.draw_pause(1.0, 1.6))
            self.shake(start)
        else:
            self.shake(start)
            self.still(self.draw_pause(1.0, 1.6))

    def level(self, seconds: float) -> None:
        if self.lifted:
            begin = self.now
            self.lifted = False
            self.leg(0.6, (self.pose.inv() * _standing(self.plane, self.heading)).as_rotvec(), np.zeros(3))
            self.shake(begin)
            self.still(0.3)
        start = self.now
        self.still(seconds)
        self.made.append(Made("level", "level", start, start, self.now, self.now, np.zeros(3)))

    def turn(self, asked: str, slop_deg: float) -> None:
        size = self.rng.uniform(*_SIZE_DEG)
        if self.faults.has("short-tilts"):
            short = self.faults.number("short-tilts", size) * self.rng.uniform(0.9, 1.1)
            slop_deg, size = slop_deg * short / size, short
        done = really_done(asked, self.faults)
        turn = hand_turn(self.rng, done, size, slop_deg, np.radians(self.faults.number("operator-nose", 0.0)))
        lift = np.array([*self.rng.normal(0.0, 0.03, 2), -self.rng.uniform(0.05, 0.15)])
        start = self.now
        self.leg(self.draw_move(), turn, lift)
        held = self.now
        self.still(self.draw_pause(0.8, 1.3))
        released = self.now
        self.go_back(lift)
        self.made.append(Made(asked, done, start, held, released, self.now, turn))
        self.rest(start)

    def free(self) -> None:
        start = self.now
        attitude, place = wave(self.rng, start, start + _WAVE_S)
        self.turns.append(attitude)
        self.sways.append(place)
        self.still(_WAVE_S)
        self.made.append(Made("free", "free", start, self.now, self.now, self.now, np.zeros(3)))
        self.rest(start)

    def spin(self, asked: str, rpm: float) -> None:
        """Turn on a table whose bearing wobbles once a turn."""
        rate = 2 * np.pi * rpm / 60.0
        _, sign = TURNS[asked]
        start = self.now
        turn = np.array([0.0, 0.0, sign * rate * _SPIN_S])
        # steady_spin loses one ramp of the time to its two ramps
        self.leg(_SPIN_S / (1.0 - SPIN_RAMP), turn, np.zeros(3), spins=True)
        amplitude = np.radians([[0.03, 0.03, 0.0]])
        once_a_turn = np.full((1, 3), rate / (2 * np.pi))
        self.turns.append(Wobble(amplitude, once_a_turn, np.array([[0.0, np.pi / 2, 0.0]]), start, self.now, 1.0))
        self.made.append(Made(asked, asked, start, self.now, self.now, self.now, turn))
        self.heading += turn[2]
        self.still(2.0)

    def plan(self) -> Plan:
        return Plan(
            Path(tuple(self.legs), tuple(self.turns), tuple(self.sways)), tuple(self.made), self.now, self.pivot
        )


def _standing(plane: Rotation, heading: float) -> Rotation:
    """Stand the airframe on a plane, with its nose at `heading` (rad clockwise from north)."""
    return plane * Rotation.from_rotvec([0.0, 0.0, heading])
