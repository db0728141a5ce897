"""Everything that the turns show of a compass, before it is put into words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.attitude.earth_field import EarthField
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe, Magnetometer
from benchrig.errors import AirframeFileError, CaptureError, Problem
from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.compass.axes import AxisMaps, Coverage, HeadingSense, axis_maps, coverage_of, heading_sense
from benchrig.measure.compass.iron import IronFit, fit_iron, gyro_attitudes
from benchrig.measure.compass.iron_change import LEAST_CHANGE, Change, find_change
from benchrig.measure.compass.stretch import Stretch, still_channels, stretches_of
from benchrig.measure.compass.thinning import thinned
from benchrig.measure.guard_band import DEVIATIONS

LARGEST_MISFIT: Final = 0.10
"""Of the field: with more left, rms of one axis, one earth's field and one iron do not explain the readings."""

EARTH_SIZES: Final = (20e-6, 70e-6)
"""T: the earth's field is 22 to 67 µT (from memory); outside of these it is something else, or another unit."""

FAR_OUT: Final = 3.0
"""Times the largest field of the earth: no iron makes a field that turns like that."""

LARGEST_STRAIN: Final = 4.5
"""Standard deviations by which gyro and accelerometer may be off before they must be calibrated first."""

LARGEST_BEND: Final = 0.3
"""By which a gain may differ from the mean of all three, or one axis take up another: beyond, a channel is dead, or has
another range (common practice, no published source)."""

FLAT: Final = 0.02
"""A smaller `Coverage.spread` is one circle: across it, iron and the field itself add up to one number."""

UNEVEN: Final = 2.0
"""Times the unexplained field, by which hard iron may be off: steel below simulated rigs, 1 to 6 µT at the compass, put
it off by 1 to 3 times that along each axis (5 times at the worst), two parts of a published recording by once."""

LEAST_DIP: Final = np.radians(10.0)
"""rad: a smaller dip does not tell a compass's sign in a building."""


@dataclass(frozen=True, slots=True, eq=False)
class CompassStudy:
    """What was declared, and what the turns show.

    Attributes
    ----------
    place_field : EarthField or None
        By the model, where the place was given.
    attitudes : tuple of ndarray, shape (M, 3, 3)
        World from body at the readings, by the gyro alone.
    maps : AxisMaps or None
    sense : HeadingSense or None
    fit : IronFit or None
    steepest : Change or None
        The constant field over some span that would explain most of what is left.
    coverage : Coverage or None
        All None where there is no stretch.
    nothing : str
        Why there is none; empty where there is one.
    """

    airframe: Airframe
    compass: Magnetometer
    recordings: tuple[Recording, ...]
    place_field: EarthField | None
    stretches: tuple[Stretch, ...]
    attitudes: tuple[Matrix, ...]
    maps: AxisMaps | None
    sense: HeadingSense | None
    fit: IronFit | None
    steepest: Change | None
    coverage: Coverage | None
    nothing: str = ""

    @property
    def change(self) -> Change | None:
        """What changed in the middle; None where nothing did."""
        return self.steepest if self.unevenness > LEAST_CHANGE else None

    @property
    def unevenness(self) -> float:
        """The field, T, that no iron and no turn explains, over the span where it stands out; 0 where none does."""
        return 0.0 if self.steepest is None else self.steepest.strength

    @property
    def has_other_axes(self) -> bool:
        """Whether the turns exclude the declared axes."""
        return self.maps is not None and not self.maps.leaves(self.compass.body_from_sensor)

    @property
    def doubt(self) -> str:
        """Why no number of the fit can be given; empty where nothing stands against them."""
        if self.fit is None:
            return self.nothing
        size, left = float(np.linalg.norm(self.fit.earth)), self.fit.misfit
        still = still_channels(self.stretches, self.compass.body_from_sensor)
        unlike = (
            "its channels are too unlike: a gain differs from the mean of the three, or an axis takes up another, "
            f"by {self.bend:.0%}"
        )
        misfit = (
            f"{left * 1e6:.1f} µT rms are left of {size * 1e6:.0f} µT: one earth's field and one iron do not "
            "explain the readings"
        )
        checks = (
            (self.is_far_out, "the size of the field is none of the earth's: its unit or range has to be mended first"),
            (self.has_other_axes, "the readings do not follow the turns along the declared axes"),
            (
                self.fit.strain > LARGEST_STRAIN,
                "gyro and accelerometer do not agree well enough to tell how the airframe was turned",
            ),
            (self.change is not None, "the field that the compass feels changed in the middle of the recording"),
            (bool(still), f"its {' and '.join(still)} reading never changes: look at its plug, driver and columns"),
            (self.bend > LARGEST_BEND, unlike),
            (left > LARGEST_MISFIT * size, misfit),
        )
        return next((text for holds, text in checks if holds), "")

    @property
    def bend(self) -> float:
        """By how much the gains and soft iron differ from one gain for all, at most."""
        if self.fit is None:
            return 0.0
        mean = float(np.trace(self.fit.gain)) / 3
        return float(np.abs(self.fit.gain / mean - np.eye(3)).max())

    @property
    def is_flat(self) -> bool:
        """Whether the field's direction in the airframe stayed on one circle."""
        return self.coverage is not None and self.coverage.spread < FLAT

    @property
    def declared_sign(self) -> int:
        """+1 where the field must point down (north of the magnetic equator), -1 where up, 0 where it was not said."""
        if self.place_field is not None and abs(self.place_field.dip) > LEAST_DIP:
            return 1 if self.place_field.dip > 0 else -1
        return {"north": 1, "south": -1, None: 0}[self.compass.hemisphere]

    @property
    def found_sign(self) -> int:
        """+1 or -1 by which the field points down along the declared axes; 0 where that is not sure."""
        if self.fit is None or self.doubt or self.is_flat:
            return 0
        dip, spread = dip_of(self.fit)
        return 0 if abs(dip) < max(LEAST_DIP, 4 * spread) else int(np.sign(dip))

    @property
    def is_signed(self) -> bool:
        """Whether the field's dip confirms the common sign of all three axes."""
        return self.declared_sign * self.found_sign > 0

    @property
    def is_no_earth(self) -> bool:
        """Whether the field's size is surely none that the earth has: another unit, or a dead compass."""
        if self.is_far_out:
            return True
        if self.fit is None or self.doubt:
            return False
        size, spread = size_of(self.fit)
        low, high = EARTH_SIZES
        return not low - DEVIATIONS * spread <= size <= high + DEVIATIONS * spread

    @property
    def is_far_out(self) -> bool:
        """Whether readings that follow the turns are of another unit: so large a field strains the fit itself."""
        maps = self.maps
        return maps is not None and maps.field > FAR_OUT * EARTH_SIZES[1] and maps.misfit < LARGEST_MISFIT * maps.field

    @property
    def was_raised(self) -> bool:
        """Whether headings over half a circle or more were seen with the airframe leaning."""
        return self.coverage is not None and self.coverage.raised >= np.pi

    @property
    def is_reversed(self) -> bool:
        """Whether the field points up where it must point down, or the other way about."""
        return self.declared_sign * self.found_sign < 0

    @property
    def is_sound(self) -> bool:
        """Whether what was found may go into the airframe file."""
        return self.fit is not None and not self.doubt and not self.is_reversed


def study_compass(airframe: Airframe, recordings: Sequence[Recording], place_field: EarthField | None) -> CompassStudy:
    """Study a compass by recordings in which the airframe was turned.

    Parameters
    ----------
    airframe : Airframe
    recordings : sequence of Recording
    place_field : EarthField or None

    Returns
    -------
    CompassStudy

    Raises
    ------
    AirframeFileError
        If no magnetometer is declared.
    CaptureError
        If a capture has no magnetometer columns.
    """
    compass = _declared(airframe)
    _refuse_bare(recordings)
    parts = [stretches_of(airframe, compass, recording, number) for number, recording in enumerate(recordings)]
    stretches = tuple(thinned(stretch) for part in parts for stretch in part)
    if not stretches:
        nothing = _nothing(recordings)
        return CompassStudy(
            airframe, compass, tuple(recordings), place_field, (), (), None, None, None, None, None, nothing
        )
    attitudes = tuple(gyro_attitudes(stretches))
    maps = axis_maps(compass.body_from_sensor, attitudes, stretches)
    fit = fit_iron(stretches, airframe.calibration)
    return CompassStudy(
        airframe=airframe,
        compass=compass,
        recordings=tuple(recordings),
        place_field=place_field,
        stretches=stretches,
        attitudes=attitudes,
        maps=maps,
        sense=heading_sense(attitudes, stretches),
        fit=fit,
        steepest=find_change(fit, stretches) if maps.leaves(compass.body_from_sensor) else None,
        coverage=coverage_of(fit.attitude, fit.earth),
    )


def _declared(airframe: Airframe) -> Magnetometer:
    if airframe.magnetometer is None:
        act = 'add it with axes = { x = "forward", y = "right", z = "down" } and the words that hold'
        raise AirframeFileError(Problem(airframe.source.file.name, "declares no [magnetometer]", act=act))
    return airframe.magnetometer


def _refuse_bare(recordings: Sequence[Recording]) -> None:
    bare = [r for r in recordings if r.magnetic_field is None]
    if bare:
        raise CaptureError(*(_bare(r) for r in bare))


def _bare(recording: Recording) -> Problem:
    """Tell columns that are blank all the way down, which the reader leaves out with a note, from none at all."""
    if any(note.startswith("magnetometer:") for note in recording.history):
        finding, wanted = "names magnetometer columns that are blank in every row", "readings of the compass"
        cause = "the compass was not plugged in, or its driver gave nothing"
        act = "look at its plug and at the logger, and record again"
        return Problem(recording.manifest.name, finding, wanted, cause, act)
    act = "name them under [columns] if the stream has them"
    return Problem(recording.manifest.name, "names no magnetometer columns", act=act)


def _nothing(recordings: Sequence[Recording]) -> str:
    fields = [r.magnetic_field for r in recordings if r.magnetic_field is not None]
    moving = any(
        (np.nanmax(f, axis=0) > np.nanmin(f, axis=0)).any() for f in fields if np.isfinite(f).all(axis=1).any()
    )
    if not moving:
        return "the compass's reading never changes: look at its plug, its driver and its columns"
    return (
        "no unbroken stretch of 3 s or more holds both a rest on the bench, which gives the gyro's zero and gravity, "
        "and 50 readings of the compass"
    )


def dip_of(fit: IronFit) -> tuple[float, float]:
    """Give the dip of the field, rad, and one standard deviation of it."""
    north, east, down = fit.earth
    level = max(float(np.hypot(north, east)), 1e-12)
    square = level**2 + down**2
    slope: Vector = np.array([-down * north / level, -down * east / level, level]) / square
    return float(np.arctan2(down, level)), float(np.sqrt(slope @ fit.earth_covariance @ slope))


def size_of(fit: IronFit) -> tuple[float, float]:
    """Give the size of the field, T, and one standard deviation of it."""
    size = float(np.linalg.norm(fit.earth))
    along = fit.earth / max(size, 1e-12)
    return size, float(np.sqrt(along @ fit.earth_covariance @ along))


def level_of(fit: IronFit) -> tuple[float, float]:
    """Give the field's part along the horizon, T, and one standard deviation of it."""
    level = float(np.hypot(*fit.earth[:2]))
    along = np.array([fit.earth[0], fit.earth[1], 0.0]) / max(level, 1e-12)
    return level, float(np.sqrt(along @ fit.earth_covariance @ along))
