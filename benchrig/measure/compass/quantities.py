"""The numbers that a study of a compass gives, each with its uncertainty or the reason for none."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.attitude.earth_field import DIP_SPREAD, SIZE_SPREAD, EarthField
from benchrig.geometry.directions import Matrix, Vector
from benchrig.geometry.rotations import vector_from_matrix
from benchrig.measure.compass.clearance import clearances, heading_error, wire_field
from benchrig.measure.compass.hard_iron import hard_covariance, hard_iron
from benchrig.measure.compass.iron import IronFit
from benchrig.measure.compass.study import LEAST_DIP, UNEVEN, CompassStudy, dip_of, level_of, size_of
from benchrig.measure.guard_band import DEVIATIONS, held_against
from benchrig.measure.measurement import Quantity
from benchrig.outcome import Outcome

STEADY_GAIN: Final = 2e-3
"""Parts of one: what the gains of a consumer compass wander within minutes, at least (from memory)."""

SENSE_TOLERANCE: Final = 0.1
BIAS_TOLERANCE: Final = 2e-6
SIZE_TOLERANCE: Final = 0.15
DIP_TOLERANCE: Final = np.radians(8.0)
"""Of the heading's sense; T, of a declared hard iron; of the model's field; and rad, of its dip. Common practice, no
published source: gains of an uncalibrated compass and steel in a building come to so much."""

_SURELY: Final = f"by {DEVIATIONS:g} standard deviations"
_AXES: Final = ("x", "y", "z")
_TURNS: Final = ("roll", "pitch", "yaw")
_STEP: Final = 1e-6
_UNSURE: Final = 0.1  # of the field
_BLURRED: Final = 0.3  # an uncertainty of the heading's sense beyond which no number is given


def quantities_of(study: CompassStudy) -> tuple[Quantity, ...]:
    """Give every number, in the order in which a person reads them."""
    return (
        _maps(study),
        sense_quantity(study),
        *_hard(study),
        *_headings(study),
        *_field(study),
        *_gains(study),
        *_quality(study),
        *_surroundings(study),
    )


def gain_matrix(study: CompassStudy, fit: IronFit) -> tuple[Matrix, Matrix]:
    """Give gains and soft iron along the compass's own axes, 1 on average, and their standard deviations."""
    turn = np.kron(study.compass.body_from_sensor.T, study.compass.body_from_sensor.T)
    gain = (turn @ fit.gain.ravel()).reshape(3, 3)
    mean = float(np.trace(gain)) / 3
    common = np.eye(9) - np.outer(np.eye(3).ravel(), np.eye(3).ravel()) / 3
    covariance = common @ turn @ fit.covariance[:9, :9] @ turn.T @ common.T / mean**2
    uneven = UNEVEN * study.unevenness / max(float(np.linalg.norm(fit.earth)), 1e-12)
    return gain / mean, np.hypot(np.sqrt(np.diag(covariance)).reshape(3, 3), np.hypot(uneven, STEADY_GAIN))


def _maps(study: CompassStudy) -> Quantity:
    name = "axis maps that explain the turns"
    limit = "the declared one and no other of the 24, and the dip of the field tells it from its opposite"
    if study.maps is None:
        return Quantity(name, None, None, "", study.nothing, None, Outcome.NOT_SHOWN, limit)
    count = float(len(study.maps.left))
    if study.has_other_axes:
        return Quantity(name, count, None, "", "the declared one is not among them", None, Outcome.FAIL, limit)
    if study.doubt:
        return Quantity(name, None, None, "", study.doubt, None, Outcome.NOT_SHOWN, limit)
    if count > 1:
        return Quantity(name, count, None, "", "the declared one is among them", None, Outcome.NOT_SHOWN, limit)
    outcome = {1: Outcome.PASS, 0: Outcome.NOT_SHOWN, -1: Outcome.FAIL}[study.declared_sign * study.found_sign]
    return Quantity(name, count, None, "", _which_sign(study), None, outcome, limit)


def _which_sign(study: CompassStudy) -> str:
    """Say how far the dip tells the declared map from its opposite."""
    if study.is_signed:
        return "the declared one"
    if study.is_reversed:
        return "the opposite of the declared one: the field's dip has the wrong sign"
    if study.declared_sign == 0:
        return "the declared one or its opposite: neither hemisphere nor place says which"
    return "the declared one or its opposite: these turns do not tell the field's dip surely enough"


def sense_quantity(study: CompassStudy) -> Quantity:
    """Judge whether the heading turns the way the gyro says."""
    name, limit = "heading against the gyro", f"1 ± {SENSE_TOLERANCE:g}, {_SURELY}"
    if study.sense is None:
        reason = study.nothing or "the airframe was not turned by half a turn or more while it stood level"
        shown = study.maps is not None and study.maps.found is not None
        outcome = Outcome.NOT_APPLICABLE if shown else Outcome.NOT_SHOWN
        return Quantity(name, None, None, "", reason, 1.0, outcome, "" if shown else limit)
    if study.sense.uncertainty > _BLURRED:
        reason = "the level readings make no circle along the declared axes"
        return Quantity(name, None, None, "", reason, 1.0, Outcome.NOT_SHOWN, limit)
    slope, spread = study.sense.slope, study.sense.uncertainty
    outcome = held_against(slope, spread, 1.0, SENSE_TOLERANCE)
    reason = "degrees of the compass for each degree of the gyro"
    if study.doubt and not study.has_other_axes:
        outcome = Outcome.NOT_SHOWN
    return Quantity(name, slope, spread, "", reason, 1.0, outcome, limit)


def _hard(study: CompassStudy) -> Iterator[Quantity]:
    value, spread, reasons = hard_iron(study)
    known = study.airframe.calibration
    declared = None if known is None else known.magnetometer_bias
    limit = f"within {BIAS_TOLERANCE * 1e6:g} µT of the declared one, {_SURELY}"
    for k, axis in enumerate(_AXES):
        name = f"hard iron along its {axis} axis"
        said = None if declared is None else float(declared[k]) * 1e6
        if reasons[k]:
            outcome = Outcome.NOT_APPLICABLE if said is None else Outcome.NOT_SHOWN
            yield Quantity(name, None, None, "uT", reasons[k], said, outcome, limit if said is not None else "")
        elif said is None:
            yield Quantity(name, float(value[k]) * 1e6, float(spread[k]) * 1e6, "uT")
        else:
            found, unsure = float(value[k]) * 1e6, float(spread[k]) * 1e6
            outcome = held_against(found, unsure, said, BIAS_TOLERANCE * 1e6)
            yield Quantity(name, found, unsure, "uT", "", said, outcome, limit)


def _headings(study: CompassStudy) -> Iterator[Quantity]:
    """Say what the iron does to a heading, and what is left once it is taken out."""
    names = ("largest error of a level heading by this iron", "error of a level heading left with the iron taken out")
    if study.fit is None or study.doubt:
        yield from (Quantity(name, None, None, "deg", study.doubt) for name in names)
        return
    level, _ = level_of(study.fit)
    across = study.fit.hard[:2]
    size = float(np.hypot(*across))
    covariance = hard_covariance(study, study.fit)[:2, :2]
    spread = float(np.sqrt(across @ covariance @ across)) / max(size, 1e-12)
    error = heading_error(size, level)
    slope = 1.0 / np.sqrt(max(level**2 - size**2, (0.1 * level) ** 2))
    reason = "" if error < np.pi else "the iron is stronger than the earth's field along the horizon"
    yield Quantity(names[0], float(np.degrees(error)), float(np.degrees(slope * spread)), "deg", reason)
    left = float(np.sqrt(np.trace(covariance) / 2) / level)
    yield Quantity(names[1], _two_digits(np.degrees(left)), None, "deg", "one standard deviation, by hard iron alone")


def _field(study: CompassStudy) -> Iterator[Quantity]:
    model = study.place_field
    names = ("size of the field", "dip of the field below the horizon")
    reason = field_untold(study)
    if study.fit is None or reason:
        judged = Outcome.NOT_APPLICABLE if model is None else Outcome.NOT_SHOWN
        said = (None, None) if model is None else _said(model)
        for name, unit, one in zip(names, ("uT", "deg"), said, strict=True):
            yield Quantity(name, None, None, unit, reason, one, judged)
        return
    size, size_spread = size_of(study.fit)
    dip, dip_spread = dip_of(study.fit)
    found, unsure = float(np.degrees(dip)), float(np.degrees(dip_spread))
    if model is None:
        yield Quantity(names[0], size * 1e6, size_spread * 1e6, "uT", "as the compass counts: its gains average 1")
        yield _signed_dip(study, Quantity(names[1], found, unsure, "deg"))
        return
    said_size, said_dip = _said(model)
    of_size, of_dip = against_the_model(study.fit, model)
    limit = f"within {SIZE_TOLERANCE:.0%} of the World Magnetic Model, {_SURELY}"
    yield Quantity(names[0], size * 1e6, size_spread * 1e6, "uT", "", said_size, of_size, limit)
    limit = f"within {np.degrees(DIP_TOLERANCE):.0f}° of the World Magnetic Model, {_SURELY}"
    yield Quantity(names[1], found, unsure, "deg", "", said_dip, of_dip, limit)
    east = float(np.degrees(model.declination))
    reason = "from the World Magnetic Model; a compass shows magnetic north, east of true north by this"
    yield Quantity("declination at the place", east, float(np.degrees(DIP_SPREAD)), "deg", reason)


def against_the_model(fit: IronFit, model: EarthField) -> tuple[Outcome, Outcome]:
    """Hold size and dip of the field against the World Magnetic Model, with the model's own error in the account."""
    size, size_spread = size_of(fit)
    dip, dip_spread = dip_of(fit)
    return (
        held_against(size, float(np.hypot(size_spread, SIZE_SPREAD)), model.size, SIZE_TOLERANCE * model.size),
        held_against(dip, float(np.hypot(dip_spread, DIP_SPREAD)), model.dip, DIP_TOLERANCE),
    )


def _said(model: EarthField) -> tuple[float, float]:
    """Give size, µT, and dip, deg, of the model's field, as finely as it means anything."""
    return round(model.size * 1e6, 2), round(float(np.degrees(model.dip)), 1)


def field_untold(study: CompassStudy) -> str:
    """Say why size and dip of the field cannot be told; empty where they can."""
    if study.fit is None or study.doubt:
        return study.doubt
    if study.is_flat:
        return "in these turns its upright part adds up with iron along the same axis; raise the nose by 30° too"
    size, spread = size_of(study.fit)
    return f"it is unsure by {spread * 1e6:.0f} µT" if spread > _UNSURE * size else ""


def _signed_dip(study: CompassStudy, dip: Quantity) -> Quantity:
    if study.compass.hemisphere is None:
        return dip
    side = "down" if study.compass.hemisphere == "north" else "up"
    outcome = {1: Outcome.PASS, 0: Outcome.NOT_SHOWN, -1: Outcome.FAIL}[study.declared_sign * study.found_sign]
    limit = f"the field points {side} by more than {np.degrees(LEAST_DIP):.0f}°, as in the declared hemisphere"
    return Quantity(dip.name, dip.value, dip.uncertainty, dip.unit, "", None, outcome, limit)


def _gains(study: CompassStudy) -> Iterator[Quantity]:
    fit = study.fit
    if fit is None or study.doubt:
        return
    gain, spread = gain_matrix(study, fit)
    for k, axis in enumerate(_AXES):
        reason = "beside the mean of all three"
        yield Quantity(f"gain of its {axis} axis", float(gain[k, k]), float(spread[k, k]), "", reason)
    turn = _turned(fit.gain)
    slope = np.array([(_turned(fit.gain + _STEP * one.reshape(3, 3)) - turn) / _STEP for one in np.eye(9)]).T
    unsure = np.sqrt(np.diag(slope @ fit.covariance[:9, :9] @ slope.T))
    for k, name in enumerate(_TURNS):
        told, doubt = float(np.degrees(turn[k])), float(np.degrees(unsure[k]))
        yield Quantity(f"turned against the unit, {name}", told, doubt, "deg", "beside what is declared of both")


def _turned(gain: Matrix) -> Vector:
    """Give the turn of the compass against the unit that is nearest to its gains: they turn what it reads back."""
    left, _, right = np.linalg.svd(gain)
    return -vector_from_matrix(left @ right)


def _quality(study: CompassStudy) -> Iterator[Quantity]:
    if study.fit is None or study.coverage is None:
        return
    seen = study.coverage
    if not study.doubt:
        spread = float(np.sqrt(study.fit.covariance[15, 15])) * 1e3
        yield Quantity("the compass is late by", study.fit.delay * 1e3, spread, "ms", "against the gyro")
    reason = "rms of one axis: noise, and what no iron explains"
    yield Quantity("left over", _two_digits(study.fit.misfit * 1e6), None, "uT", reason)
    if study.unevenness:
        reason = "a constant field over some span, which stands out; hard iron is told the less surely for it"
        yield Quantity("unevenness of the field", _two_digits(study.unevenness * 1e6), None, "uT", reason)
    yield Quantity("headings seen, level", float(np.degrees(seen.level)), None, "deg", "of 360°, in sectors of 10°")
    yield Quantity("headings seen, leaning by 15° to 75°", float(np.degrees(seen.raised)), None, "deg", "of 360°")
    reason = "0 for one level turn, 0.58 for all directions alike"
    yield Quantity("spread of the field's directions, least", _two_digits(seen.spread), None, "", reason)


def _two_digits(value: float) -> float:
    """Round a number of unknown uncertainty."""
    return float(f"{value:.2g}")


def _surroundings(study: CompassStudy) -> Iterator[Quantity]:
    for one in clearances(study.airframe):
        reason = f"common practice keeps {one.advised * 1e3:.0f} mm or more"
        name = f"clearance to {one.meant}"
        yield Quantity(name, one.declared * 1e3, None, "mm", reason)
    distance, current = study.airframe.clearances.get("magnetometer_to_motor"), study.compass.nearby_current
    if current is None or distance is None:
        return
    field = wire_field(current, distance)
    reason = f"one long lead with {current:g} A at {distance * 1e3:.0f} mm, its return lead far away: the worst"
    yield Quantity("field of the declared current", round(field * 1e6, 2), None, "uT", reason)
    level = None
    if study.place_field is not None:
        level = float(np.hypot(*study.place_field.vector[:2]))
    elif study.fit is not None and not study.doubt:
        level, _ = level_of(study.fit)
    if level is not None:
        worst = _two_digits(np.degrees(heading_error(field, level)))
        yield Quantity("largest error of a level heading by it", worst, None, "deg", "while that current flows")
