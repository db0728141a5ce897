"""Places from the centre of gravity: quantities, what the airframe file says of them, and its new lines."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector, word_along
from benchrig.measure.cg.estimate import CentreOfGravity, axis_reason
from benchrig.measure.cg.reliance import resting_on
from benchrig.measure.cg.worksheet import Place
from benchrig.measure.guard_band import DEVIATIONS, held_against
from benchrig.measure.measurement import Entry, Quantity
from benchrig.outcome import Outcome

SIGN_SURE: Final = 3.0
"""Standard deviations from which on the side of the CG is told."""

LEAST_SIGN: Final = 0.020
"""m: a declared distance shorter than this says little about its side."""

GOOD_ENOUGH: Final = 0.010
"""m: a line for the airframe file needs a standard deviation no larger than this."""

ACROSS: Final = "the uncertainty reaches across the tolerance"
BOTH_SIDES: Final = "the uncertainty reaches to both sides of the CG"
"""Why a distance that was measured is not shown."""

_BESIDE: Final = (("forward of", "aft of"), ("right of", "left of"), ("below", "above"))


def declared_place(airframe: Airframe, name: str) -> Vector | None:
    """Give what the airframe file says of a place, m from the CG; None where it says nothing.

    A place of all zeros says nothing, unless a tolerance stands beside it.
    """
    where: Vector | None
    if name == "sensor":
        where = airframe.sensor.lever_arm
        if airframe.sensor.position_tolerance is not None:
            return where
    elif name == "magnetometer":
        where = None if airframe.magnetometer is None else airframe.magnetometer.position
    else:
        where = airframe.actuator(name).position
    return where if where is not None and where.any() else None


def place_quantities(airframe: Airframe, estimate: CentreOfGravity, place: Place) -> list[Quantity]:
    """Give a place's three distances from the CG, each held against the airframe file."""
    value, sd = estimate.from_cg(place.spot, f"place {place.name}")
    declared = declared_place(airframe, place.name)
    tolerance = airframe.sensor.position_tolerance if place.name == "sensor" else None
    return [
        _judged(
            _along(
                f"{place.name} from CG",
                axis,
                value[axis],
                sd[axis],
                reason=_reason(estimate, axis, value[axis], sd[axis], "the CG"),
                declared=None if declared is None else float(declared[axis]),
            ),
            None if tolerance is None else tolerance * 1e3,
        )
        for axis in range(3)
    ]


def cg_quantities(estimate: CentreOfGravity) -> list[Quantity]:
    """Give the CG's three distances from the reference."""
    value, sd = estimate.from_cg(None)
    reference = estimate.worksheet.reference
    return [
        _along(
            f"CG from {reference}",
            axis,
            -value[axis],
            sd[axis],
            reason=_reason(estimate, axis, -value[axis], sd[axis], reference),
        )
        for axis in range(3)
    ]


def point_quantities(estimate: CentreOfGravity) -> list[Quantity]:
    """Give every named point's distances from the CG, as a manifest's pivot needs them."""
    found: list[Quantity] = []
    for point in estimate.worksheet.points:
        value, sd = estimate.from_cg(point.spot, f"point {point.name}")
        for axis in range(3):
            reason = _reason(estimate, axis, value[axis], sd[axis], "the CG")
            found.append(_along(f"{point.name} from CG", axis, value[axis], sd[axis], reason=reason))
    return found


def _along(name: str, axis: int, value: float, sd: float, *, reason: str, declared: float | None = None) -> Quantity:
    """Give one distance along the word it was declared with, or lies along: nobody has to read signs."""
    leading = declared or (0.0 if np.isnan(value) else value)
    sign = -1.0 if leading < 0 else 1.0
    return Quantity(
        name=f"{name}, {word_along(axis, int(sign))}",
        value=_mm(sign * value + 0.0),
        uncertainty=_mm(sd),
        unit="mm",
        reason=reason,
        declared=None if declared is None else _mm(sign * declared + 0.0),
    )


def _mm(metres: float) -> float | None:
    return None if np.isnan(metres) else float(metres * 1e3)


def _reason(estimate: CentreOfGravity, axis: int, value: float, sd: float, origin: str) -> str:
    if np.isnan(value):
        return axis_reason(estimate, axis)
    digits = 0 if sd >= 0.5e-3 else 1  # noqa: PLR2004 - half a millimetre
    told = f"{abs(value) * 1e3:.{digits}f} mm {_BESIDE[axis][0 if value >= 0 else 1]} {origin}"
    return "; ".join(part for part in (told, resting_on(estimate.pillars[axis])) if part)


def _judged(quantity: Quantity, tolerance: float | None) -> Quantity:
    """Hold a distance against what is declared: within the tolerance, or at least on the same side."""
    if quantity.declared is None:
        return quantity
    if tolerance is not None:
        limit = f"within {tolerance:g} mm of the declared place, by {DEVIATIONS:g} standard deviations"
        return _reasoned(replace(quantity, outcome=_within(quantity, tolerance), limit=limit), ACROSS)
    if abs(quantity.declared) < LEAST_SIGN * 1e3:
        return quantity
    limit = (
        f"on the declared side of the CG, by {SIGN_SURE:g} standard deviations "
        "(no position_tolerance_mm says how near it has to be)"
    )
    return _reasoned(replace(quantity, outcome=_on_side(quantity, quantity.declared), limit=limit), BOTH_SIDES)


def _reasoned(quantity: Quantity, why: str) -> Quantity:
    """Say why a distance that has a number is not shown."""
    if quantity.outcome is not Outcome.NOT_SHOWN or quantity.value is None:
        return quantity
    return replace(quantity, reason=f"{quantity.reason}; {why}")


def _within(quantity: Quantity, tolerance: float) -> Outcome:
    if quantity.value is None or quantity.uncertainty is None or quantity.declared is None:
        return Outcome.NOT_SHOWN
    return held_against(quantity.value, quantity.uncertainty, quantity.declared, tolerance)


def _on_side(quantity: Quantity, declared: float) -> Outcome:
    if (
        quantity.value is None
        or quantity.uncertainty is None
        or abs(quantity.value) <= SIGN_SURE * quantity.uncertainty
    ):
        return Outcome.NOT_SHOWN
    return Outcome.PASS if quantity.value * declared > 0 else Outcome.FAIL


def place_entry(airframe: Airframe, estimate: CentreOfGravity, place: Place) -> Entry | None:
    """Give the line for the airframe file, or None where no axis is told well enough.

    A direction that is not told keeps what is declared: leaving it out would declare zero.
    """
    value, sd = estimate.from_cg(place.spot, f"place {place.name}")
    good = sd <= GOOD_ENOUGH
    if not good.any():
        return None
    declared = declared_place(airframe, place.name)
    kept = np.zeros(3) if declared is None else declared
    distances: dict[str, float | int] = {}
    notes: list[str] = []
    for axis in range(3):
        size = float(value[axis] if good[axis] else kept[axis]) * 1e3
        rounded = _rounded(size, sd[axis] * 1e3 if good[axis] else 0.0)
        word = word_along(axis, 1 if rounded >= 0 else -1)
        if rounded:
            distances[word] = abs(rounded)
        notes.append(f"{word} ± {_deserved(sd[axis] * 1e3)} mm" if good[axis] else f"{word} not measured")
    origin = estimate.worksheet.evidence[0].file.name
    table = (place.name,) if place.name in ("sensor", "magnetometer") else ("actuator", place.name)
    return Entry(table, "position_mm", {**distances} or {"forward": 0}, f"from {origin}: {', '.join(notes)}")


def _rounded(size: float, sd: float) -> float | int:
    """Round to whole millimetres, or to tenths where half a millimetre is known."""
    return round(size, 1) if sd < 0.5 and not float(size).is_integer() else round(size)  # noqa: PLR2004 - mm


def _deserved(sd: float) -> str:
    return f"{sd:.1f}" if sd < 2 else f"{sd:.0f}"  # noqa: PLR2004 - mm; a small one keeps a digit more
