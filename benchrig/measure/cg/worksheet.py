"""A worksheet as read: what was hung, weighed and measured with a ruler, in SI units and body axes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from benchrig.capture.recording import Prompt, Recording
from benchrig.geometry.directions import Vector
from benchrig.measure.measurement import Evidence

LEAST_SPREAD: Final = 0.030
"""m: supports that lie closer together than this, along any direction, tell nothing of the CG along it."""


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How good the readings are, each as one standard deviation.

    Attributes
    ----------
    distance : float, m
        Of each direction of a place.
    angle : float, rad
    mass : float, kg
    assumed : tuple of str
        Which of the three the worksheet does not state, in words.
    """

    distance: float
    angle: float
    mass: float
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """A place as it was measured: `offset` (shape (3,), m, body axes) from a named point, or from the reference."""

    offset: Vector
    origin: str | None


@dataclass(frozen=True, slots=True, eq=False)
class NamedPoint:
    """A second point to measure from."""

    name: str
    spot: Spot


@dataclass(frozen=True, slots=True)
class Angles:
    """How the airframe stood, by hand.

    Attributes
    ----------
    nose : float, rad
        Nose down positive: in a picture square from the side, from the airframe's own down to the plumb line; with an
        inclinometer, of the airframe's length below the horizontal.
    across : float or None, rad
        Of the airframe's right below the horizontal; None where it was not measured.
    by : {"pictures", "inclinometer"}
    upside_down : bool
        For the inclinometer, which reads the same either way up.
    """

    nose: float
    across: float | None
    by: Literal["pictures", "inclinometer"]
    upside_down: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """A second place on the plumb line; `across` says whether its right or left was measured too."""

    spot: Spot
    across: bool


@dataclass(frozen=True, slots=True, eq=False)
class Hung:
    """The accelerometer's own record of a hang."""

    recording: Recording
    prompt: Prompt


@dataclass(frozen=True, slots=True, eq=False)
class Hang:
    """One hang from one point: `reading` says where the vertical lay in the airframe.

    `place` names file and line.
    """

    name: str
    spot: Spot
    reading: Angles | Mark | Hung
    place: str


@dataclass(frozen=True, slots=True, eq=False)
class Support:
    """What one scale carried, kg, and where it carried it."""

    spot: Spot
    mass: float


@dataclass(frozen=True, slots=True, eq=False)
class Weighing:
    """One weighing on two supports or more; `angles` is None where the airframe stood level."""

    name: str
    supports: tuple[Support, ...]
    angles: Angles | None
    place: str

    @property
    def mass(self) -> float:
        """What all scales carried together, kg."""
        return sum(support.mass for support in self.supports)


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A place that the airframe file declares from the CG: "sensor", "magnetometer", or an actuator's name."""

    name: str
    spot: Spot


@dataclass(frozen=True, slots=True, eq=False)
class Worksheet:
    """Everything that was written down at the bench.

    Attributes
    ----------
    reference : str
        The point that all distances start from, in the builder's words.
    mass : float or None, kg
        Of the whole airframe, weighed at once.
    evidence : tuple of Evidence
        The worksheet, and the captures it names.
    """

    reference: str
    accuracy: Accuracy
    points: tuple[NamedPoint, ...]
    hangs: tuple[Hang, ...]
    weighings: tuple[Weighing, ...]
    places: tuple[Place, ...]
    mass: float | None
    operator: str | None
    evidence: tuple[Evidence, ...]

    def where(self, spot: Spot) -> Vector:
        """Give a place from the reference, shape (3,), m, body axes."""
        total = spot.offset
        for name in self.chain(spot):
            total = total + self._point(name).spot.offset
        return np.asarray(total)

    def chain(self, spot: Spot) -> tuple[str, ...]:
        """Name the points that a place was measured by way of, the nearest first."""
        names: list[str] = []
        origin = spot.origin
        while origin is not None:
            names.append(origin)
            origin = self._point(origin).spot.origin
        return tuple(names)

    def _point(self, name: str) -> NamedPoint:
        return next(point for point in self.points if point.name == name)
