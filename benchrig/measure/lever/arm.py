"""The sensor's place from the centre of gravity, joined from every spin and swing: what the data show, and no more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt, Turntable
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.lever.doubts import (
    alone_on_gyro,
    beyond_range,
    disagreement,
    impossible_speed,
    miscount,
    odd_speed,
    resting_on_gyro,
    restless,
    rests_on_gyro,
)
from benchrig.measure.lever.fit import Fit, fit
from benchrig.measure.lever.prior import UNSHOWN, Beforehand
from benchrig.measure.lever.spin import find_spins, size_at_rest
from benchrig.measure.lever.stand import Readings, Remark, Stand
from benchrig.measure.lever.swing import find_swings
from benchrig.measure.lever.turn_count import count_turns
from benchrig.signals.body import BoolArray, EvenRecording
from benchrig.signals.rests import Stillness

LARGEST_UNCERTAINTY: Final = 0.010
"""m: an axis that is known worse than this is not told."""
EXPECTED_WITHIN: Final = 0.050
"""m: by how much, and as far again as it lies from the pivot, the place may differ from the declared one along the axis
of a spin, where the readings show nothing."""
ANYWHERE: Final = 0.5
"""m: how far from where it is expected the sensor may be along an axis that the readings show."""

_MOSTLY_ACROSS: Final = 0.5  # the cosine of 60°

_NOWHERE: Final = np.full(3, np.nan)


@dataclass(frozen=True, slots=True, eq=False)
class LeverEstimate:
    """The sensor's place, m, body axes.

    Attributes
    ----------
    value, uncertainty : ndarray, shape (3,), m
        From the CG; NaN where it is not told. The uncertainty is one standard deviation.
    reason : tuple of str
        For each axis, why it is not told; empty where it is.
    stands : tuple of Stand
        That it rests on.
    remarks : tuple of Remark
    fit : Fit or None
    about_pivot : tuple of (Stand, LeverEstimate)
        For stands about a point whose place is not known: the sensor from that point.
    """

    value: Vector
    uncertainty: Vector
    reason: tuple[str, str, str]
    stands: tuple[Stand, ...]
    remarks: tuple[Remark, ...]
    fit: Fit | None = None
    about_pivot: tuple[tuple[Stand, LeverEstimate], ...] = ()


def lever_arm_of(
    airframe: Airframe,
    even: EvenRecording,
    stillness: Stillness,
    *,
    turntable: Turntable | None,
    swing_pivot: Vector | None,
    prompts: Sequence[Prompt],
    name: str = "the recording",
) -> LeverEstimate:
    """Measure the sensor's place in one recording.

    Parameters
    ----------
    airframe : Airframe
    even : EvenRecording
        Sensor axes, calibration applied, acceleration as specific force.
    stillness : Stillness
    turntable : Turntable or None
    swing_pivot : ndarray, shape (3,), m, or None
    prompts : sequence of Prompt
    name : str
        Of the recording, for messages.

    Returns
    -------
    LeverEstimate
    """
    read = readings_of(airframe, even, stillness, name)
    if isinstance(read, Remark):
        return estimate(airframe, (), (read,))
    return estimate(airframe, *find_stands(read, turntable, swing_pivot, prompts))


def readings_of(airframe: Airframe, even: EvenRecording, stillness: Stillness, name: str) -> Readings | Remark:
    """Turn a recording into body axes, or say why it cannot be: without a rest the gyro's bias is not known."""
    if stillness.bias is None:
        reason = "the airframe never lies still, so the gyro's bias is not known"
        return Remark("lever-never-still", name, reason, "begin and end with 3 s at rest")
    body = airframe.sensor.body_from_sensor
    rate = (even.angular_rate - stillness.bias.value) @ body.T
    return Readings(even, rate, even.acceleration @ body.T, stillness, name, airframe.sensor.gyro_range)


def find_stands(
    read: Readings, turntable: Turntable | None, swing_pivot: Vector | None, prompts: Sequence[Prompt]
) -> tuple[tuple[Stand, ...], tuple[Remark, ...]]:
    """Find the spins and swings of one recording that can be used, and say why the others cannot."""
    spins, no_spins = find_spins(read, turntable, prompts)
    swings, no_swings = find_swings(read, swing_pivot, prompts)
    kept, remarks = list(swings), [*no_spins, *no_swings]
    for spin in spins:
        count = count_turns(spin)
        wrong, odd = impossible_speed(spin, count) or miscount(spin, count), odd_speed(spin, count)
        if wrong is not None:
            remarks.append(wrong)
            continue
        kept.append(resting_on_gyro(spin if odd is None else replace(spin, speed_counts=False), count))
        remarks += [odd] if odd is not None else []
    outside = beyond_range(read)
    return ((), (*remarks, outside)) if outside is not None else (tuple(kept), tuple(remarks))


def estimate(airframe: Airframe, stands: Sequence[Stand], remarks: Sequence[Remark]) -> LeverEstimate:
    """Join stands of one or more recordings.

    Parameters
    ----------
    airframe : Airframe
    stands : sequence of Stand
    remarks : sequence of Remark
        On what was found, and cannot be used or is odd.

    Returns
    -------
    LeverEstimate
    """
    alone = [(s, solve(airframe, [s])) for s in stands]
    moved = [restless(s, f) for s, f in alone]
    remarked = [*remarks, *(r for r in moved if r is not None)]
    steady = [pair for pair, r in zip(alone, moved, strict=True) if r is None]
    remarked += [rests_on_gyro(s) for s in alone_on_gyro([s for s, _ in steady])]
    known = [(s, f) for s, f in steady if s.pivot is not None]
    unknown = [(s, f) for s, f in steady if s.pivot is None]
    about = tuple((s, _told((s,), f, ())) for s, f in unknown)
    clash = disagreement(known)
    if clash is not None:
        remarked.append(clash)
    if clash is not None or not known:
        why = _why_nothing(remarked, pivots_missing=bool(unknown))
        return LeverEstimate(_NOWHERE, _NOWHERE, (why, why, why), (), tuple(remarked), None, about)
    used = tuple(s for s, _ in known)
    found = known[0][1] if len(known) == 1 else solve(airframe, used)
    return replace(_told(used, found, tuple(remarked)), about_pivot=about)


def solve(airframe: Airframe, stands: Sequence[Stand]) -> Fit:
    """Fit stands that share one unknown place: all about known points, or one about an unknown point."""
    pivots = [s.pivot for s in stands if s.pivot is not None]
    expected, spread = np.zeros(3), np.full(3, ANYWHERE)
    if pivots:
        expected = airframe.sensor.lever_arm
        doubt = EXPECTED_WITHIN + np.abs(expected - np.array(pivots)).max(axis=0)
        # only along the axis of a spin, of which it shows nothing: a lean brings a part of it into the other two
        spread = np.where(_spun_along(stands), doubt, spread)
    sizes = [size_at_rest(s) for s in stands if s.kind == "spin"]
    size_error = max((abs(size / STANDARD_GRAVITY - 1) for size in sizes), default=0.0)
    alone = alone_on_gyro(stands)
    held = _spun_along(alone)
    found = fit(stands, Beforehand(expected, spread, airframe.calibration, size_error, _first_guess(stands), held))
    declared = airframe.calibration is not None and airframe.calibration.gyro_scale is not None
    # a declared scale is as good as one that gravity counts, unless a stated speed speaks against it
    return _doubted(found, [s for s in alone if s.gyro_doubt > UNSHOWN or not declared])


def _doubted(found: Fit, stands: Sequence[Stand]) -> Fit:
    """Add what a wrong scale of the gyro makes of the place, along the axis of each of these spins."""
    covariance, budget, gyro = found.covariance, dict(found.budget), found.gyro_covariance
    for stand in stands:
        axis = stand.turning / np.linalg.norm(stand.turning)
        along = np.outer(axis, axis).ravel()
        slope = found.place_and_gyro @ along / (along @ found.gyro_covariance @ along)
        more = stand.gyro_doubt**2 * np.outer(slope, slope)
        covariance, budget["gyro"] = covariance + more, budget["gyro"] + more
        gyro = gyro + stand.gyro_doubt**2 * np.outer(along, along)
    return replace(found, covariance=covariance, budget=budget, gyro_covariance=gyro)


def _spun_along(stands: Sequence[Stand]) -> BoolArray:
    """Mark the body axes that lie in part along the axis of a spin."""
    axes = [np.abs(s.turning) / np.linalg.norm(s.turning) for s in stands if s.kind == "spin"]
    return np.any([axis > _MOSTLY_ACROSS for axis in axes], axis=0) if axes else np.zeros(3, dtype=np.bool_)


def _first_guess(stands: Sequence[Stand]) -> Matrix:
    """Start from gravity's count of the turns: over many turns a gyro's scale error is more than half a turn."""
    guess = np.zeros((3, 3))
    for stand in stands:
        if stand.kind == "spin":
            ratio = count_turns(stand).ratio
            axis = stand.turning / np.linalg.norm(stand.turning)
            error = 0.0 if ratio is None else ratio - 1.0
            guess += (error - axis @ guess @ axis) * np.outer(axis, axis)
    return guess


def _told(stands: tuple[Stand, ...], found: Fit, remarks: tuple[Remark, ...]) -> LeverEstimate:
    """Tell the axes that are known well enough."""
    spread = np.sqrt(np.diag(found.covariance))
    told = spread < LARGEST_UNCERTAINTY
    reasons = tuple("" if told[axis] else _untold(stands, axis) for axis in range(3))
    return LeverEstimate(
        value=np.where(told, found.place, np.nan),
        uncertainty=np.where(told, spread, np.nan),
        reason=(reasons[0], reasons[1], reasons[2]),
        stands=stands,
        remarks=remarks,
        fit=found,
    )


def _why_nothing(remarks: Sequence[Remark], *, pivots_missing: bool) -> str:
    if pivots_missing:
        return "the manifest does not say where the point that it turned about lies from the CG (pivot_mm)"
    if remarks:
        return remarks[0].reason
    return "hand motions do not show the sensor's place: the hand itself moves; a spin on a turntable does"


def _untold(stands: Sequence[Stand], axis: int) -> str:
    if any(s.kind == "swing" for s in stands):
        return "the swing turned too little about the axes that would show it"
    along = [s for s in stands if abs(s.turning[axis]) > 0.9 * np.linalg.norm(s.turning)]
    if len(along) == len(stands):
        pose = "on its tail" if axis == 2 else "level"  # noqa: PLR2004 - down
        return f"a spin shows nothing along its axis; one with the airframe {pose} would show it"
    return "the airframe leaned on the table, which mixes in what the spin does not show; spin it upright as well"
