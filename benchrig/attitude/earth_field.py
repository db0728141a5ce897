"""The earth's field at a place and day, by the World Magnetic Model: the adapter of the `ahrs` library for it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
from ahrs.utils import WMM

from benchrig.errors import Problem, UsageError
from benchrig.geometry.directions import Vector

FIRST_DAY: Final = date(2015, 1, 1)
LAST_DAY: Final = date(2029, 12, 31)
"""What the library's coefficients are for (World Magnetic Models 2015, 2020 and 2025)."""

HEIGHTS: Final = (-1e3, 100e3)
"""m: the model itself holds from 1 km below the ellipsoid to 850 km above it (its technical report, from memory)."""

SIZE_SPREAD: Final = 0.15e-6
DIP_SPREAD: Final = np.radians(0.25)
"""T and rad, one standard deviation: the model's own error out of doors (133 nT and 0.2° by its report, from memory).
Steel in a building bends a field by far more."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a bench stands: latitude north and longitude east positive, rad; height above the ellipsoid, m."""

    latitude: float
    longitude: float
    height: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class EarthField:
    """The earth's field.

    Attributes
    ----------
    vector : ndarray, shape (3,), T
        North, east, down (true north).
    """

    vector: Vector

    @property
    def size(self) -> float:
        """In T."""
        return float(np.linalg.norm(self.vector))

    @property
    def dip(self) -> float:
        """By which it points below the horizon, rad; negative south of the magnetic equator."""
        return float(np.arctan2(self.vector[2], np.hypot(self.vector[0], self.vector[1])))

    @property
    def declination(self) -> float:
        """By which magnetic north lies east of true north, rad."""
        return float(np.arctan2(self.vector[1], self.vector[0]))


def earth_field(place: Place, day: date) -> EarthField:
    """Give the field at a place and day.

    Parameters
    ----------
    place : Place
    day : date
        From 2015 to 2029.

    Returns
    -------
    EarthField

    Raises
    ------
    UsageError
        If the model does not hold there or then.

    References
    ----------
    NCEI and British Geological Survey, World Magnetic Model 2025, test values.

    Examples
    --------
    >>> field = earth_field(Place(np.radians(80.0), 0.0), date(2025, 1, 1))
    >>> round(field.size * 1e6, 1), round(float(np.degrees(field.dip)), 1)
    (55.2, 83.2)
    """
    _check(place, day)
    year = _year(day)
    model = WMM(year)
    # asked in a second step: given with the date, the equator and the meridian of Greenwich count as no place at all
    model.magnetic_field(np.degrees(place.latitude), np.degrees(place.longitude), place.height / 1e3, date=year)
    return EarthField(np.array([model.X, model.Y, model.Z]) * 1e-9)


def _year(day: date) -> float:
    start = date(day.year, 1, 1)
    return day.year + (day - start).days / (date(day.year + 1, 1, 1) - start).days


def _check(place: Place, day: date) -> None:
    problems = []
    if not FIRST_DAY <= day <= LAST_DAY:
        allowed = f"{FIRST_DAY.isoformat()} to {LAST_DAY.isoformat()}"
        act = "give the day of the recording with --date, or leave the place out"
        problems.append(Problem("--date", day.isoformat(), f"{allowed}, for which the field's model holds", act=act))
    if not abs(place.latitude) <= np.pi / 2:
        problems.append(Problem("--latitude", f"{np.degrees(place.latitude):g}°", "90° at most", act="correct it"))
    if not abs(place.longitude) <= np.pi:
        problems.append(Problem("--longitude", f"{np.degrees(place.longitude):g}°", "180° at most", act="correct it"))
    if not HEIGHTS[0] <= place.height <= HEIGHTS[1]:
        allowed = f"{HEIGHTS[0]:g} to {HEIGHTS[1]:g} m"
        problems.append(Problem("--height-m", f"{place.height:g} m", allowed, act="give metres above sea level"))
    if problems:
        raise UsageError(*problems)
