"""Describe an unknown stream: the job from file to proposal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.measure.describe.attitude import FoundAttitude, find_attitude
from benchrig.measure.describe.bins import Bins, bin_columns
from benchrig.measure.describe.choosing import Choice, choose
from benchrig.measure.describe.clock import FoundClock, find_clock
from benchrig.measure.describe.companions import is_pulse, is_temperature, kind_of_rest
from benchrig.measure.describe.compass import CLEARLY, Compass, find_compass
from benchrig.measure.describe.copies import is_one_unit
from benchrig.measure.describe.description import Description, Proposed
from benchrig.measure.describe.handedness import Axes
from benchrig.measure.describe.hints import axes_by_name
from benchrig.measure.describe.naming import propose_by_name
from benchrig.measure.describe.sensors import Sensors, propose_sensors
from benchrig.measure.describe.sizes import magnetometer_unit
from benchrig.measure.describe.unknown import Unknown, read_unknown

_NO_READING: Final = 1e9
"""No sensor of this trade gives such a number, in counts or in any unit."""

_MOSTLY_THERE: Final = 0.02
"""Share of the rows that must hold a value: a slow compass may write one in fifty."""


@dataclass(frozen=True, slots=True, eq=False)
class Material:
    """An unknown stream prepared for the search.

    Attributes
    ----------
    unknown : Unknown
    clock : FoundClock
    values : ndarray, shape (N, C)
        The rows that are kept.
    bins : Bins
    moving : tuple of int
        Columns that change, hold values, and are no clock or counter.
    whole : tuple of bool
        Which columns hold whole numbers alone.
    """

    unknown: Unknown
    clock: FoundClock
    values: Vector
    bins: Bins
    moving: tuple[int, ...]
    whole: tuple[bool, ...]

    @property
    def full(self) -> list[int]:
        """The moving columns with a value in every row, as gyro and accelerometer must have."""
        return [c for c in self.moving if np.isfinite(self.values[:, c]).all()]

    def names(self, columns: Sequence[int]) -> tuple[str, ...]:
        """Give the names of columns."""
        return tuple(self.unknown.names[c] for c in columns)


def describe(path: Path, rate_hz: float | None = None) -> Description:
    """Find out what the columns of a stream are.

    Parameters
    ----------
    path : Path
    rate_hz : float, optional
        Rows a second, where the stream has no clock.

    Returns
    -------
    Description

    Raises
    ------
    CaptureError
        If the file cannot be read, or has no clock and no rate is given.
    """
    material = _prepare(path, rate_hz)
    choice = choose(material.bins, material.unknown.names, material.whole, material.full)
    sensors = propose_sensors(choice, material.unknown.names)
    if not sensors.is_sure:
        sensors = propose_by_name(sensors, material.unknown, material.bins, material.full)
    groups, axes = [_time(material, sensors), *sensors.proposed], sensors.axes
    if choice is not None and axes is not None and sensors.is_sure:
        groups += _turned_by(material, choice, axes)
    rest = _rest(material, groups)
    warm = [c for c in rest if is_temperature(material.unknown.names[c], material.values[:, c])][:1]
    groups += [_temperature(material, c) for c in warm]
    pulses = [c for c in rest if c not in warm and is_pulse(material.values[:, c])]
    said = {material.unknown.names[c]: kind_of_rest(material.values[:, c]) for c in rest if c not in (*warm, *pulses)}
    counted = dict.fromkeys(material.clock.others, "only grows, as a counter or a second clock does")
    told_copies = {name: words for name, words in sensors.copies.items() if name in said}
    return Description(
        material.unknown,
        material.clock,
        tuple(group for group in groups if group.names),
        axes.agree if axes is not None and axes.is_sure and sensors.is_sure else None,
        sensors.agreement,
        material.names(pulses),
        {**said, **told_copies, **counted, **material.unknown.left_out},
        (*material.unknown.notes, *material.clock.notes),
    )


def _rest(material: Material, groups: Sequence[Proposed]) -> list[int]:
    """Give the columns that no group and no clock claims."""
    taken = {name for group in groups for name in group.names} | set(material.clock.others)
    return [c for c, name in enumerate(material.unknown.names) if name not in taken]


def _prepare(path: Path, rate_hz: float | None) -> Material:
    unknown = read_unknown(path)
    clock = find_clock(unknown, rate_hz)
    values = unknown.values[clock.rows]
    there = np.isfinite(values)
    sizes = np.abs(np.where(there, values, 0.0)).max(axis=0, initial=0.0)
    moving = tuple(
        c
        for c, name in enumerate(unknown.names)
        if name not in (clock.column, *clock.others)
        and there[:, c].mean() >= _MOSTLY_THERE
        and sizes[c] < _NO_READING
        and np.ptp(values[there[:, c], c]) > 0
    )
    whole = tuple(bool(np.all(v == np.rint(v))) for v in (values[there[:, c], c] for c in range(values.shape[1])))
    still = [c for c in range(values.shape[1]) if c not in moving]
    searched = values.copy()
    searched[:, still] = 0.0
    return Material(unknown, clock, values, bin_columns(clock.time, searched), moving, whole)


def _time(material: Material, sensors: Sensors) -> Proposed:
    """Propose the clock; a column that may count rows is believed where gravity gives the gyro a usual unit by it."""
    clock = material.clock
    if not clock.column:
        return Proposed("time", (), "s", None, False, clock.why)
    believed = clock.is_sure or sensors.confirms_clock
    surer = "" if believed else "the logger's settings say what the column is, and how many rows a second there are"
    return Proposed("time", (clock.column,), clock.unit, None, believed, clock.why, surer=surer)


def _turned_by(material: Material, choice: Choice, axes: Axes) -> list[Proposed]:
    """Find what else the gyro turns: a compass, and the unit's own attitude."""
    bins, turner = material.bins, choice.contest.turner
    rate = (bins.values - bins.level)[:, list(axes.gyro)] * turner.scale
    left = [c for c in material.moving if c not in (*axes.gyro, *axes.accelerometer)]
    found = []
    spread = bins.values.std(axis=0)
    copied = {
        copy.column
        for column, copies in choice.copies.items()
        for copy in copies
        if is_one_unit(spread[copy.column], spread[column])
    }
    compass = find_compass(bins, rate, [c for c in left if c not in copied])
    if compass is not None:
        found.append(_compass(material, compass))
        left = [c for c in left if c not in compass.columns]
    vector = choice.pair.vector
    force = vector.of(bins.values)[:, [vector.columns.index(c) for c in axes.accelerometer]]
    attitude = find_attitude(bins, force, rate @ axes.relation.T, left)
    if attitude is not None:
        found.append(_attitude(material, attitude, axes))
    return found


def _compass(material: Material, found: Compass) -> Proposed:
    places = axes_by_name(material.names(found.columns)) or (0, 1, 2)
    columns = [found.columns[place] for place in places]
    unit = magnetometer_unit(found.size, is_whole=all(material.whole[c] for c in columns))
    why = f"the gyro turns it as a field: that explains {100 * (1 - found.left):.0f} % of its changes; {unit.why}"
    surer = "" if unit.is_sure else "its data sheet says how many counts make one uT or gauss"
    surer = surer if found.left < CLEARLY else "turn the unit slowly about all three axes, away from iron"
    return Proposed("magnetometer", material.names(columns), unit.word, unit.count, not surer, why, surer=surer)


def _attitude(material: Material, found: FoundAttitude, axes: Axes) -> Proposed:
    """Propose the unit's own attitude; where gyro and accelerometer differ, roll and pitch cannot be told apart."""
    why = f"tilts agree with gravity to {np.degrees(found.tilt_miss):.1f}°, and the heading with the gyro"
    surer = ""
    if not axes.agree or not axes.is_sure:
        surer = "gyro and accelerometer must agree first: which angle is roll and which is pitch hangs on them"
    elif found.is_reversed:
        why = f"{why}, but for one sign that no mounting explains: `check` will name it"
    return Proposed("unit_attitude", material.names(found.columns), found.unit, None, not surer, why, surer=surer)


def _temperature(material: Material, column: int) -> Proposed:
    why = "its name says so, and its numbers could be; they alone would suit a voltage as well"
    return Proposed("temperature", material.names([column]), "C", None, False, why)
