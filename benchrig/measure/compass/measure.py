"""`benchrig measure magnetometer`: hard and soft iron, axes, field and surroundings of the compass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from benchrig import __version__
from benchrig.attitude.earth_field import EarthField
from benchrig.attitude.library import LIBRARY
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.measure.compass.clearance import ADVISED
from benchrig.measure.compass.figures import figures_of
from benchrig.measure.compass.findings import findings_of
from benchrig.measure.compass.hard_iron import ENTRY_IRON, hard_iron
from benchrig.measure.compass.iron import IronFit
from benchrig.measure.compass.iron_change import LEAST_CHANGE, SURE
from benchrig.measure.compass.quantities import gain_matrix, quantities_of
from benchrig.measure.compass.study import LARGEST_MISFIT, UNEVEN, CompassStudy, study_compass
from benchrig.measure.measurement import Entry, Evidence, Measurement, TomlValue

ENTRY_GAIN: Final = 0.02
"""The matrix is written down where one standard deviation of each part is no larger."""

ELLIPSOID: Final = (
    "No ellipsoid is fitted: two circles never fix a free one. Through both circles passes a whole family of "
    "ellipsoids, each the true one plus a multiple of the two circles' planes multiplied with each other; their "
    "centres, which would be the hard iron, lie many µT apart, and all of them fit without any error."
)

CAUTIONS: Final = (
    "Turn slowly, with the cable slack and nothing to trip over: you look at the airframe, not at the floor.",
    "Never run a motor to see its field in the compass while blades or propellers are on.",
)


def measure_magnetometer(
    airframe: Airframe, recordings: Sequence[Recording], place_field: EarthField | None = None
) -> Measurement:
    """Measure the compass by recordings in which the airframe was turned.

    Parameters
    ----------
    airframe : Airframe
    recordings : sequence of Recording
        One or more, all of one place and one state of the airframe: a level rest, a full turn level, a full turn with
        the nose raised by 30°. Any other turning helps.
    place_field : EarthField, optional
        The earth's field at the place, by the World Magnetic Model.

    Returns
    -------
    Measurement

    Raises
    ------
    AirframeFileError
        If no magnetometer is declared.
    CaptureError
        If a capture has no magnetometer columns.
    """
    study = study_compass(airframe, recordings, place_field)
    return Measurement(
        kind="magnetometer",
        title="The compass",
        airframe_name=airframe.name,
        airframe=Evidence(airframe.source.file, airframe.source.sha256),
        evidence=tuple(Evidence(r.manifest, r.sha256) for r in recordings),
        quantities=quantities_of(study),
        findings=findings_of(study),
        figures=figures_of(study),
        entries=tuple(_entries(study)),
        unknown=tuple(_unknown(study)),
        method=tuple(_method(study)),
        cautions=CAUTIONS,
        software={"benchrig": __version__, "ahrs": LIBRARY.removeprefix("ahrs ")},
    )


def _entries(study: CompassStudy) -> Iterator[Entry]:
    fit = study.fit
    if fit is None or not study.is_sound or any(one.severity == "fail" for one in findings_of(study)):
        return
    value, spread, reasons = hard_iron(study)
    if not any(reasons) and spread.max() <= ENTRY_IRON:
        axes = {axis: _rounded(v * 1e6, s * 1e6) for axis, v, s in zip("xyz", value, spread, strict=True)}
        unsure = ", ".join(f"{s * 1e6:.1g}" for s in spread)
        comment = f"measured by turns; ± {unsure} µT, one standard deviation"
        yield Entry(("calibration",), "magnetometer_bias_ut", dict(axes), comment)
        yield from _matrix_entry(study, fit)
    if (
        study.place_field is not None
        and study.compass.hemisphere is None
        and study.declared_sign * study.found_sign > 0
    ):
        side = "north" if study.declared_sign > 0 else "south"
        yield Entry(("magnetometer",), "hemisphere", side, "by the place given, and the dip agrees")


def _matrix_entry(study: CompassStudy, fit: IronFit) -> Iterator[Entry]:
    """Give the line for the matrix, where it surely differs from what the airframe file has it at."""
    gain, doubt = gain_matrix(study, fit)
    known = study.airframe.calibration
    declared = None if known is None else known.magnetometer_matrix
    inverse = np.linalg.inv(gain)
    differs = np.abs(inverse - (np.eye(3) if declared is None else declared / (np.trace(declared) / 3))) > 2 * doubt
    if doubt.max() <= ENTRY_GAIN and differs.any():
        rows: list[TomlValue] = [[round(float(v), 3) + 0.0 for v in row] for row in inverse]
        comment = f"gains, soft iron and its turn against the unit; ± {doubt.max():.1g} at most"
        yield Entry(("calibration",), "magnetometer_matrix", rows, comment)


def _rounded(value: float, spread: float) -> float:
    """Round to the first digit of the uncertainty."""
    return round(value, -int(np.floor(np.log10(max(spread, 1e-3))))) + 0.0


def _unknown(study: CompassStudy) -> Iterator[str]:
    _, _, reasons = hard_iron(study)
    for axis, reason in zip("xyz", reasons, strict=True):
        if reason and not study.doubt:
            yield f"Hard iron along its {axis} axis is not told: {reason}."
    if study.maps is not None and study.maps.found is None and not study.has_other_axes:
        many = f"These turns leave {len(study.maps.left)} axis maps, and the declared one is among them"
        if study.doubt:
            yield f"{many}, because {study.doubt}."
        elif study.was_raised:
            yield f"{many}, because gyro and compass do not agree well enough on these turns to leave one."
        else:
            yield f"{many}; a turn with the nose raised by 30° leaves one."
    if study.declared_sign == 0 and not study.nothing:
        yield (
            "The common sign of all three axes is not told without the place or the hemisphere: a compass with all "
            "signs turned follows the airframe just as well, and shows the opposite heading."
        )
    yield (
        "The field of motors, servos and leads whose current did not flow in these recordings is not seen here; "
        "only `nearby_current_a` in [magnetometer] lets a bound be told."
    )
    yield (
        "A field that steel bends alike all round the place looks like iron of the airframe: only another place, or "
        "the field of the World Magnetic Model, shows it."
    )
    yield (
        "The compass's common gain and the size of the field are only known as one product; the gains are taken "
        "to be 1 on average, which no heading depends on."
    )


def _method(study: CompassStudy) -> Iterator[str]:
    yield (
        "Each reading is y = M (Rᵀ m) + h: the earth's field m turned into the airframe by its attitude R, times gains "
        "and soft iron M, plus hard iron h. With R known this is linear, and one fit gives M, h and m together."
    )
    yield (
        "R comes from the gyro, held upright by gravity; scale, cross-axis and zero errors of gyro and accelerometer, "
        "and the compass's delay, are unknowns of the same least squares, held by what data sheets say of them. "
        "The uncertainties contain them."
    )
    yield ELLIPSOID
    yield (
        "The declared axes must be among the axis maps that explain the turns; the heading's sense is told from "
        "a level turn by the gyro alone."
    )
    yield (
        f"No number is given where more than {LARGEST_MISFIT:.0%} of the field is left over, rms of one axis, or "
        f"where a constant field of more than {LEAST_CHANGE * 1e6:g} µT, added over some span, stands out by {SURE:g} "
        "standard deviations."
    )
    yield (f"A smaller one that stands out widens the uncertainty by {UNEVEN:g} times its size: the room is uneven.")
    if study.place_field is not None:
        yield "The field of the place is that of the World Magnetic Model, of the earth alone, without buildings."
    if study.airframe.clearances:
        kept = " and ".join(f"{least * 1e3:.0f} mm" for _, least in ADVISED.values())
        yield f"Clearances of {kept} are common practice; no published source for them was found."
    if study.compass.nearby_current is not None:
        yield "The field of a lead is that of one long straight wire, µ₀ I / (2π r)."
