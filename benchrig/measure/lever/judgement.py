"""The measured place held against the declared one: outcomes, findings, and the line for the airframe file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import floor, log10
from typing import Final

import numpy as np

from benchrig.declaration.airframe import Sensor
from benchrig.geometry.directions import DIRECTIONS, Vector, opposite, word_along
from benchrig.measure.guard_band import held_against, within
from benchrig.measure.lever.arm import LeverEstimate
from benchrig.measure.measurement import Entry, Quantity
from benchrig.outcome import Finding, Outcome, gravest_first, sentence

SIDE: Final = 3.0
"""Standard deviations from zero at which a side is sure."""
SMALLEST_SIDE: Final = 0.020
"""m: a declared distance below it has no side that could be judged."""
GOOD: Final = 0.005
"""m: standard deviation up to which a place is good enough for the airframe file."""
GRAVE: Final = frozenset(
    {
        "spin-sense",
        "spin-miscounted",
        "spin-speed",
        "spin-too-fast",
        "gyro-beyond-range",
        "lever-stands-disagree",
    }
)
"""Remarks that leave a doubt about all of a measurement, whatever else it gave."""

MECHANISMS: Final[Mapping[str, str]] = {
    "noise": "noise",
    "accelerometer": "the accelerometer's scale and cross-axis errors",
    "squareness": "the unit's squareness to the airframe",
    "gyro": "the gyro's scale and cross-axis errors",
    "side": "gravity's size and the table's stated speed and level",
    "along": "the place along the axis of the spin",
    "bearing": "the table's bearing",
    "delay": "the delay between the two sensors",
}

_MM: Final = 1e3


def is_declared(sensor: Sensor) -> bool:
    """Tell a declared place from one that was left out: a sensor that is said to be at the CG has a tolerance."""
    return bool(sensor.lever_arm.any()) or sensor.position_tolerance is not None


def quantities(estimate: LeverEstimate, sensor: Sensor) -> tuple[Quantity, ...]:
    """Give the three distances from the CG, each along the word it was declared with."""
    declared = sensor.lever_arm if is_declared(sensor) else None
    return tuple(_quantity(estimate, axis, declared, sensor.position_tolerance) for axis in range(3))


def distances(estimate: LeverEstimate, origin: str) -> tuple[Quantity, ...]:
    """Give the three distances from a point that is nowhere in the declaration."""
    return tuple(_quantity(estimate, axis, None, None, origin) for axis in range(3))


def judged(value: float, spread: float, declared: float, tolerance: float | None) -> tuple[Outcome, str, str]:
    """Judge one distance, all in m.

    Returns
    -------
    outcome : Outcome
    limit : str
        The rule, with its numbers.
    reason : str
        Why it failed or is in doubt; empty for a pass.

    Examples
    --------
    >>> judged(0.1782, 0.0005, 0.180, 0.005)[0].value
    'pass'
    >>> judged(-0.1782, 0.0005, 0.180, None)[0].value
    'fail'
    """
    sided, sure = abs(declared) >= SMALLEST_SIDE, has_sure_side(value, spread)
    if sided and sure and value * declared < 0:
        return Outcome.FAIL, _side_rule(), "it lies on the other side of the CG than declared"
    if tolerance is None and sided:
        doubt = "" if sure else "it lies too near the CG to tell on which side"
        return Outcome.PASS if sure else Outcome.NOT_SHOWN, _side_rule(), doubt
    if tolerance is None:
        return Outcome.NOT_APPLICABLE, "", "no tolerance is declared that it could be held to"
    limit = within(tolerance * _MM, "mm", "the declared place")
    outcome = held_against(value, spread, declared, tolerance)
    reasons = {
        Outcome.FAIL: f"it differs by {abs(value - declared) * _MM:.1f} mm",
        Outcome.NOT_SHOWN: "the uncertainty reaches across the tolerance",
    }
    return outcome, limit, reasons.get(outcome, "")


def has_sure_side(value: float, spread: float) -> bool:
    """Whether a distance is so far from zero that its side is sure."""
    return abs(value) > SIDE * spread


def findings(estimate: LeverEstimate, sensor: Sensor) -> tuple[Finding, ...]:
    """Say what is wrong or odd, the gravest first."""
    found = [*_against_declared(estimate, sensor)]
    told = bool(np.isfinite(estimate.value).any())
    for remark in estimate.remarks:
        advice = not remark.refused or (told and remark.code not in GRAVE)
        text = sentence(f"{remark.reason} ({remark.place})")
        found.append(Finding(remark.code, "advice" if advice else "not shown", text, sentence(remark.fix)))
    if estimate.about_pivot and not told:
        text = "The place is told from the point that it turned about, and not from the CG."
        fix = "Measure where that point lies from the CG, and write pivot_mm in the manifest."
        found.append(Finding("lever-pivot-unknown", "advice", text, fix))
    if not told and not estimate.about_pivot and not estimate.remarks:
        text = "There is no spin on a turntable and no swing about a fixed point in these captures."
        fix = "Spin it for 10 s at 33⅓ rpm with 3 s of rest before and after, and name the motion in the manifest."
        found.append(Finding("lever-not-measured", "not shown", text, fix))
    if all(f.severity != "fail" for f in found):
        found += _too_coarse(estimate, sensor)
    return gravest_first(found)


def _too_coarse(estimate: LeverEstimate, sensor: Sensor) -> list[Finding]:
    """Say how to measure finer, where the uncertainty reaches across the tolerance of a place that is not wrong."""
    if not is_declared(sensor):
        return []
    coarse = [q for q in quantities(estimate, sensor) if q.value is not None and q.outcome is Outcome.NOT_SHOWN]
    if not coarse:
        return []
    axes = " and ".join(f"{q.name.rpartition(', ')[2]} (± {_short(q.uncertainty or 0.0)} mm)" for q in coarse)
    text = f"The place is not known finely enough for the declared tolerance: {axes}."
    nearer = "Stand the unit itself near the table's axis, from which its errors grow, and write where the axis is then"
    if estimate.stands and all(stand.kind == "swing" for stand in estimate.stands):
        nearer = "Swing it about a point near the unit, from which its errors grow, and write where the point is then"
    fix = f"{nearer}; or calibrate it (benchrig measure sensor); or declare the position_tolerance_mm that you need."
    return [Finding("lever-too-coarse", "advice", text, fix)]


def entries(estimate: LeverEstimate, sensor: Sensor, found: Sequence[Finding]) -> tuple[Entry, ...]:
    """Give the line for the airframe file, if what was measured is sure enough to stand there."""
    told = np.isfinite(estimate.value)
    # a place that rests on the gyro's scale may be wrong by more than is said, and nothing shows it
    doubtful = {f.code for f in found} & (GRAVE | {"lever-other-side", "spin-rests-on-gyro"})
    if not told.any() or doubtful or np.nanmax(estimate.uncertainty) > GOOD:
        return ()
    value: dict[str, float | int] = {}
    notes = []
    for axis in range(3):
        place = estimate.value[axis] if told[axis] else sensor.lever_arm[axis]
        word = word_along(axis, 1 if place >= 0 else -1)
        if told[axis]:
            spread = float(estimate.uncertainty[axis])
            shown = rounded(abs(place) * _MM, spread * _MM)
            notes.append(f"{word} ± {_short(spread * _MM)}")
        else:
            shown = round(abs(place) * _MM, 1)
            shown = round(shown) if shown == round(shown) else shown
        if shown:
            value[word] = shown
    kept = [word_along(axis, 1) for axis in range(3) if not told[axis]]
    comment = f"measured: {', '.join(notes)} mm" + (f"; along {' and '.join(kept)} as it was" if kept else "")
    return (Entry(("sensor",), "position_mm", dict(value) or {"forward": 0}, comment),)


def rounded(value: float, spread: float) -> float | int:
    """Round to what the uncertainty deserves: half of it, or finer.

    Examples
    --------
    >>> rounded(178.234, 0.4), rounded(178.234, 2.4)
    (178.2, 178)
    """
    decimals = min(max(-floor(log10(max(spread, 1e-9) / 2)), 0), 1)
    return round(value, decimals) if decimals else round(value)


def distance(value: float, word: str) -> str:
    """Write a distance, m, along a direction word without a sign.

    Examples
    --------
    >>> distance(-0.0123, "forward")
    '12.3 mm aft'
    """
    return f"{abs(value) * _MM:.1f} mm {word if value >= 0 else opposite(word)}"


def _quantity(
    estimate: LeverEstimate, axis: int, declared: Vector | None, tolerance: float | None, origin: str = "CG"
) -> Quantity:
    value, spread = float(estimate.value[axis]), float(estimate.uncertainty[axis])
    claimed = None if declared is None else float(declared[axis])
    # along the word on which it was found: a distance is never below zero
    leading = value if np.isfinite(value) and value else claimed or 1.0
    word = word_along(axis, 1 if leading >= 0 else -1)
    sign = DIRECTIONS[word][1]
    name = f"sensor from {origin}, {word}"
    shown = None if claimed is None else sign * claimed * _MM + 0.0
    if not np.isfinite(value):
        outcome = Outcome.NOT_APPLICABLE if claimed is None else Outcome.NOT_SHOWN
        return Quantity(name, None, None, "mm", estimate.reason[axis], shown, outcome)
    outcome, limit, reason = Outcome.NOT_APPLICABLE, "", ""
    if claimed is not None:
        outcome, limit, reason = judged(value, spread, claimed, tolerance)
        if value * claimed < 0:
            aside = f"declared {distance(claimed, word_along(axis, 1))}"
            reason = f"{reason}, {aside}" if reason else aside
    parts = f"{reason}; {_parts(estimate, axis)}" if reason else _parts(estimate, axis)
    return Quantity(name, sign * value * _MM, spread * _MM, "mm", parts, shown, outcome, limit)


def _parts(estimate: LeverEstimate, axis: int) -> str:
    """Name what the uncertainty is made of, the largest first."""
    if estimate.fit is None:
        return ""
    shares = {name: float(np.sqrt(max(part[axis, axis], 0.0))) * _MM for name, part in estimate.fit.budget.items()}
    total = float(estimate.uncertainty[axis]) * _MM
    named = sorted(((size, name) for name, size in shares.items() if size > total / 3), reverse=True)
    spun = any(stand.kind == "spin" for stand in estimate.stands)
    called = MECHANISMS if spun else {**MECHANISMS, "side": "gravity's size"}
    return "uncertain by " + ", ".join(f"{called[name]} ({_short(size)} mm)" for size, name in named)


def _short(size: float) -> str:
    """Write an uncertainty with one or two figures.

    Examples
    --------
    >>> _short(0.433), _short(2.31), _short(14.2)
    ('0.43', '2.3', '14')
    """
    return f"{size:.{max(1 - floor(log10(max(size, 1e-9))), 0)}f}"


def _side_rule() -> str:
    return f"on the declared side, {SIDE:g} standard deviations or more from the CG"


def _against_declared(estimate: LeverEstimate, sensor: Sensor) -> list[Finding]:
    if not is_declared(sensor):
        return []
    failed = []
    for axis in np.flatnonzero(np.isfinite(estimate.value)):
        value, spread, declared = estimate.value[axis], estimate.uncertainty[axis], sensor.lever_arm[axis]
        if judged(value, spread, declared, sensor.position_tolerance)[0] is Outcome.FAIL:
            failed.append((int(axis), float(value), float(declared)))
    if not failed:
        return []
    turned = [f for f in failed if f[1] * f[2] < 0 and abs(f[2]) >= SMALLEST_SIDE]
    apart = [f for f in failed if f not in turned]
    found = []
    if turned:
        text = (
            f"The sensor sits {_told(turned)}: on the other side of the CG. A unit that is turned in its place looks "
            "the same."
        )
        fix = (
            "Look where the unit sits; correct position_mm or pivot_mm if a word is wrong there; if they are right, "
            "the unit's axes are not as declared: benchrig check on six hand moves tells."
        )
        found.append(Finding("lever-other-side", "fail", text, fix))
    if apart:
        fix = "Correct position_mm, or measure pivot_mm from the CG again."
        found.append(Finding("lever-differs", "fail", f"The sensor sits {_told(apart)}.", fix))
    return found


def _told(failed: Sequence[tuple[int, float, float]]) -> str:
    return " and ".join(f"{_place(axis, value)}, declared {_place(axis, declared)}" for axis, value, declared in failed)


def _place(axis: int, value: float) -> str:
    return distance(value, word_along(axis, 1))
