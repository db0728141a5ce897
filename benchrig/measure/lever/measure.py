"""`measure lever`: the sensor's place from spins and swings, judged and told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from benchrig import __version__
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.measure.lever import prior, spin, swing
from benchrig.measure.lever.arm import LARGEST_UNCERTAINTY, LeverEstimate, estimate, find_stands, readings_of
from benchrig.measure.lever.doubts import is_counted
from benchrig.measure.lever.fit import Fit, table_speed
from benchrig.measure.lever.judgement import distances, entries, findings, quantities
from benchrig.measure.lever.pictures import figures
from benchrig.measure.lever.stand import Remark, Stand
from benchrig.measure.lever.turn_count import count_turns
from benchrig.measure.measurement import Evidence, Measurement, Quantity
from benchrig.signals.calibration import applied, calibrated
from benchrig.signals.rests import find_rests
from benchrig.signals.time_base import uniform
from benchrig.signals.to_body import specific_force

CAUTIONS: Final = (
    (
        "A spinning airframe throws off what is loose: blades or propellers off, motor disconnected, battery and "
        "airframe strapped down; stand clear until the table has stopped."
    ),
    "An airframe that hangs or swings can fall: hang it low, over something soft, by a part that carries its weight.",
)
"""Common practice, no published source."""

_PIVOT: Final = (
    "Whether pivot_mm is right: an error there goes into the place in full. Motions about different points, or "
    "in different poses, must give one place."
)
_AXES: Final = (
    "Whether the unit's axes lie as declared: a unit that is turned in its place gives a place turned as much; "
    "benchrig check on six hand moves tells."
)
_GYRO: Final = (
    "Whether the gyro's scale is right, on which this place rests: a gyro that is 10 % wrong puts the sensor 20 % of "
    "its distance from the table's axis wrong, and on a level table nothing shows it. Shim the table by 1°, state its "
    "speed, or run benchrig measure sensor."
)
_FIT: Final = "f = −g + b + α × r + ω × (ω × r) is fitted by least squares"
_UNCERTAINTY: Final = (
    "The uncertainty (one standard deviation) holds the residuals, counted as fewer where neighbours are alike, and "
    f"what a consumer unit leaves open: scale {prior.SCALE:.1%} and cross-axis {prior.CROSS:.1%} of each channel "
    f"({prior.CALIBRATED:.1%} where calibrated), squareness {np.degrees(prior.SQUARE):g}°"
)
_TABLE: Final = (
    f"; beside it level {np.degrees(prior.LEVEL):.1f}°, the tilt of a bearing that starts "
    f"{np.degrees(prior.BEARING):.2f}°, a stated speed {prior.SPEED:.1%}, and the gyro's scale {prior.UNSHOWN:.0%} "
    "where neither a stated speed nor gravity bears it out"
)
_RPM: Final = 30 / np.pi


def listed(names: Sequence[str]) -> str:
    """Join names as a person does."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def measure_lever(airframe: Airframe, recordings: Sequence[Recording]) -> Measurement:
    """Measure where the sensor sits from the centre of gravity.

    Parameters
    ----------
    airframe : Airframe
    recordings : sequence of Recording
        With spins on a turntable or swings about a fixed point; joined to one answer.

    Returns
    -------
    Measurement
    """
    stands: list[Stand] = []
    remarks: list[Remark] = []
    for recording in recordings:
        read = calibrated(uniform(recording, airframe.sensor), airframe.calibration)
        even = replace(read, acceleration=specific_force(read.acceleration, airframe.sensor))
        readings = readings_of(airframe, even, find_rests(even), recording.manifest.name)
        if isinstance(readings, Remark):
            remarks.append(readings)
            continue
        found, odd = find_stands(readings, recording.turntable, recording.swing_pivot, recording.prompts)
        stands += found
        remarks += odd
    place = estimate(airframe, stands, remarks)
    judged = findings(place, airframe.sensor)
    return Measurement(
        kind="lever",
        title="Place of the sensor",
        airframe_name=airframe.name,
        airframe=Evidence(airframe.source.file, airframe.source.sha256),
        evidence=tuple(Evidence(r.manifest, r.sha256) for r in recordings),
        quantities=_quantities(place, airframe),
        findings=judged,
        figures=figures(place, airframe.sensor),
        entries=entries(place, airframe.sensor, judged),
        unknown=_unknown(place),
        method=(*_method(place), *applied(airframe.calibration)),
        cautions=CAUTIONS,
        software={"benchrig": __version__},
    )


def _quantities(place: LeverEstimate, airframe: Airframe) -> tuple[Quantity, ...]:
    from_cg = quantities(place, airframe.sensor)
    from_pivots = [q for s, e in place.about_pivot for q in distances(e, _origin(s))]
    return (*from_cg, *from_pivots, *(_speed(fit, k) for fit, k in _spins(place)))


def _origin(stand: Stand) -> str:
    return f"the {'turntable axis' if stand.kind == 'spin' else 'fixed point'} of {stand.place}"


def _spins(place: LeverEstimate) -> list[tuple[Fit, int]]:
    fits = [place.fit, *(e.fit for _, e in place.about_pivot)]
    return [(fit, k) for fit in fits if fit is not None for k, s in enumerate(fit.stands) if s.kind == "spin"]


def _speed(fit: Fit, index: int) -> Quantity:
    stand = fit.stands[index]
    speed, spread = table_speed(fit, stand)
    stated = None if stand.table_rate is None else stand.table_rate * _RPM
    ways = ["by the gyro"]
    ways += ["by gravity's once-a-turn"] if is_counted(count_turns(stand)) else []
    ways += ["as stated"] if stand.known_rate is not None else []
    ways += ["not as stated"] if stated is not None and stand.known_rate is None else []
    reason = f"{stand.turns:.1f} turns, {listed(ways)}"
    return Quantity(f"speed of the table, {stand.place}", speed * _RPM, spread * _RPM, "rpm", reason, stated)


def _unknown(place: LeverEstimate) -> tuple[str, ...]:
    words = ("forward or aft", "right or left", "down or up")
    untold: dict[str, list[str]] = {}
    for word, reason in zip(words, place.reason, strict=True):
        if reason:
            untold.setdefault(reason, []).append(word)
    told = [f"How far {', '.join(names)}: {reason}." for reason, names in untold.items()]
    stands = [*place.stands, *(s for s, _ in place.about_pivot)]
    return (
        *told,
        *((_GYRO,) if any(s.gyro_doubt for s in stands) else ()),
        _PIVOT,
        _AXES,
    )


def _method(place: LeverEstimate) -> tuple[str, ...]:
    stands = [*place.stands, *(s for s, _ in place.about_pivot)]
    return (
        *(_stand_in_words(s) for s in stands),
        *_fit_in_words(stands),
        f"An axis with an uncertainty over {LARGEST_UNCERTAINTY * 1e3:g} mm is not told.",
    )


def _fit_in_words(stands: Sequence[Stand]) -> tuple[str, ...]:
    kinds = {stand.kind for stand in stands}
    if not kinds:
        return ()
    over = [
        f"{length:g} s of a {kind}"
        for kind, length in (("spin", spin.WINDOW), ("swing", swing.WINDOW))
        if kind in kinds
    ]
    joined = ", all stands together" if len(stands) > 1 else ""
    corrected = ", whose scale gravity's once-a-turn corrects where the table leans" if "spin" in kinds else ""
    return (
        f"{_FIT}{joined}, averaged over {listed(over)}; the attitude comes from the gyro{corrected}.",
        f"{_UNCERTAINTY}{_TABLE if 'spin' in kinds else ''}.",
    )


def _stand_in_words(stand: Stand) -> str:
    if stand.kind == "swing":
        return f"{stand.place}: a swing, {len(stand.where.start) * stand.where.length:.1f} s of it used."
    rest = stand.still.sum() * stand.where.length
    return f"{stand.place}: a spin of {stand.turns:.1f} turns, {stand.pose}, with {rest:.1f} s of rest beside it."
