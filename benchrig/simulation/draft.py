"""A plan in the making: the time and the pose reached so far, and what was laid down on the way."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.spatial.transform import Rotation

from benchrig.geometry.directions import Vector
from benchrig.simulation.faults import Faults
from benchrig.simulation.hand import tremor
from benchrig.simulation.made import Made
from benchrig.simulation.trajectory import Leg, Wobble


@dataclass(slots=True, eq=False)
class Draft:
    """A plan in the making.

    A leg may turn about another point than the bench's `pivot`, but only where no wobble runs across its ends: the
    path would jump there.

    Attributes
    ----------
    plane : Rotation
        The bench's or the turntable's, to world.
    heading : float, rad
        Of the nose, where the airframe stands on the bench.
    pivot : ndarray, shape (3,), m
        What all turning is about that does not say otherwise, from the CG, in body axes.
    place : ndarray, shape (3,), m
        Of the pivot, in world axes.
    pose : Rotation
        Body to world.
    lifted : bool
        Whether it is held in the hand between motions.
    lies : str
        The pose in which it lies on the bench; empty where it is not on the bench.
    actuators : tuple of str
        By their names.
    hold_s : float, s
        How long a turn is held at least.
    """

    rng: np.random.Generator
    faults: Faults
    plane: Rotation
    heading: float
    pivot: Vector
    place: Vector
    pose: Rotation
    now: float = 0.0
    lifted: bool = False
    lies: str = "level"
    actuators: tuple[str, ...] = ()
    hold_s: float = 0.0
    legs: list[Leg] = field(default_factory=list)
    turns: list[Wobble] = field(default_factory=list)
    sways: list[Wobble] = field(default_factory=list)
    made: list[Made] = field(default_factory=list)

    def draw_pause(self, shortest: float, longest: float) -> float:
        """Draw how long a rest or a hold lasts, s."""
        drawn = self.rng.uniform(shortest, longest)
        return 0.05 if self.faults.has("no-rest") else drawn

    def draw_move(self) -> float:
        """Draw how long a move lasts, s."""
        return self.faults.number("too-slow", self.rng.uniform(0.7, 1.1))

    def leg(
        self, seconds: float, turn: Vector, shift: Vector, *, spins: bool = False, about: Vector | None = None
    ) -> None:
        """Add a stretch of path.

        Parameters
        ----------
        turn : ndarray, shape (3,), rad
            Axis times angle in body axes.
        shift : ndarray, shape (3,), m
            In world axes.
        spins : bool
            Whether it turns at a constant rate.
        about : ndarray, shape (3,), m, optional
            The point it turns about, from the CG, in body axes.
        """
        offset = None if about is None else about - self.pivot
        place = self.place if offset is None else self.place + self.pose.apply(offset)
        leg = Leg(self.now, self.now + seconds, self.pose, turn, place, shift, spins, offset)
        self.legs.append(leg)
        self.now, self.pose, self.place = leg.end, leg.end_pose, place + shift
        if offset is not None:
            self.place = self.place - self.pose.apply(offset)

    def still(self, seconds: float, *, about: Vector | None = None) -> None:
        """Stand still, but for wobbles, which turn it about `about`."""
        self.leg(seconds, np.zeros(3), np.zeros(3), about=about)

    def shake(self, start: float, *, margin: float = 0.1) -> None:
        """Let the hand shake from `start` until now, and `margin` (s) more on both sides."""
        shake = self.faults.number("shaky", 1.0)
        attitude, place = tremor(self.rng, start - margin, self.now + margin, shake=shake)
        self.turns.append(attitude)
        self.sways.append(place)

    def carry(self, pose: Rotation, shift: Vector) -> None:
        """Carry the airframe to another pose by hand; the hand lets go of it at the end."""
        start = self.now
        self.leg(1.5 * self.draw_move(), (self.pose.inv() * pose).as_rotvec(), shift)
        self.shake(start, margin=0.0)
        self.lifted, self.lies = False, ""

    def stand(self) -> None:
        """Stand the airframe on the bench again, if it lies otherwise or is away from it."""
        if self.lies != "level":
            self.carry(standing(self.plane, self.heading), np.zeros(3))
            self.lies = "level"
            self.still(0.3)

    def go_back(self, shift: Vector) -> None:
        """Come back to the bench, or, if it is never put down, to about level in the hand."""
        self.heading += self.rng.normal(0.0, np.radians(2.0))
        target = standing(self.plane, self.heading)
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

    @property
    def down(self) -> Vector:
        """The vertical in body axes, pointing down."""
        return vertical(self.pose)


def standing(plane: Rotation, heading: float) -> Rotation:
    """Stand the airframe on a plane, with its nose at `heading` (rad clockwise from north)."""
    return plane * Rotation.from_rotvec([0.0, 0.0, heading])


def vertical(pose: Rotation) -> Vector:
    """Give the vertical in body axes, pointing down."""
    down: Vector = pose.inv().apply([0.0, 0.0, 1.0])
    return down
