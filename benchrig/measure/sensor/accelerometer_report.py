"""What the still poses say of the accelerometer, in quantities, findings and lines for the airframe file."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.geometry.directions import SENSOR_AXES
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.measure.figure import Curve, Figure
from benchrig.measure.measurement import Entry
from benchrig.measure.sensor.accelerometer import (
    PAIRS,
    TOLD_BIAS,
    TOLD_CROSS,
    TOLD_SCALE,
    AccelerometerFit,
)
from benchrig.measure.sensor.accelerometer_quantities import (
    FEWEST,
    FEWEST_SPARE,
    biases,
    crosses,
    is_sound,
    misfit,
    scales,
    why_not,
)
from benchrig.measure.sensor.channels import spoilt
from benchrig.measure.sensor.part import MG, Part, axis_in_words, deserved, listed
from benchrig.measure.sensor.pose_names import contradicts_axes, pose_findings
from benchrig.measure.sensor.poses import SAME_WAY, SHORTEST_POSE, distinct, missing_faces
from benchrig.measure.sensor.study import UnitStudy
from benchrig.outcome import Finding, Outcome, sentence
from benchrig.signals.body import BoolArray

LARGE_BIAS_MG: Final = 80.0
"""Data sheets of consumer units allow ±50 to ±80 mg (PS-MPU-6000A-00 rev. 3.4, p. 13)."""

WRONG_SIZE: Final = 0.10
"""By which a scale is off where a range or a unit is wrong, and no calibration is meant to mend it."""

FOR_THE_NOISE: Final = 30.0
"""s: of rest in a recording that is meant for the noise, and not for poses."""

SURE_BIAS: Final = 0.004 * STANDARD_GRAVITY
SURE_SCALE: Final = 0.004
"""Standard deviations (m/s², and parts of one) up to which values go into the airframe file."""


def accelerometer_part(study: UnitStudy) -> Part:
    """Tell bias, scale and cross-talk, each with its uncertainty or the reason why not."""
    fit = study.accelerometer
    findings = [*_size_findings(fit), *_pose_findings(study), *pose_findings(study)]
    return Part(
        quantities=(*biases(study), *scales(study), *crosses(study), *misfit(study)),
        findings=(*findings, *_calibration_findings(study)),
        figures=_figures(study),
        entries=_entries(study),
        unknown=_unknown(study),
        method=_method(study),
    )


def _size_findings(fit: AccelerometerFit | None) -> Iterator[Finding]:
    if fit is None or not fit.fits:
        return
    scale = fit.scale
    sure = fit.scale_uncertainty <= TOLD_SCALE
    if fit.size != 1.0:
        cause = (
            ": the numbers are m/s², the manifest says g" if abs(fit.size / STANDARD_GRAVITY - 1) < WRONG_SIZE else ""
        )
        cause = cause or (
            ": the numbers are g, the manifest says m/s²" if abs(fit.size * STANDARD_GRAVITY - 1) < WRONG_SIZE else ""
        )
        text = f"At rest the accelerometer reads {fit.size:.3g} g where 1 g is right{cause}."
        yield Finding("accelerometer-size", "fail", text, "Correct its unit, range or count, and measure again.")
    elif np.any(sure & _surely_wrong(fit)):
        off = [f"{name} by {scale[k]:.2f}" for k, name in enumerate(SENSOR_AXES) if abs(scale[k] - 1) > WRONG_SIZE]
        text = f"The accelerometer multiplies gravity on {listed(off)}."
        yield Finding("accelerometer-size", "fail", text, "Look for a broken unit, or one axis of another range.")
    bias = np.abs(fit.bias) / MG - 2 * fit.bias_uncertainty / MG
    large = [
        name for k, name in enumerate(SENSOR_AXES) if bias[k] > LARGE_BIAS_MG and fit.bias_uncertainty[k] < TOLD_BIAS
    ]
    if large and fit.size == 1.0:
        text = (
            f"The accelerometer's bias on {listed(large)} is over {LARGE_BIAS_MG:.0f} mg, more than data sheets allow; "
            f"uncorrected, it leans the attitude by {np.degrees(np.arcsin(min(bias.max() / 1000, 1))):.0f}° and more."
        )
        yield Finding("accelerometer-bias-large", "advice", text, "Calibrate the unit, or replace it.")


def _surely_wrong(fit: AccelerometerFit) -> BoolArray:
    """Mark the axes whose scale is off by more than a calibration is meant to mend."""
    return np.asarray(np.abs(fit.scale - 1) - 2 * fit.scale_uncertainty > WRONG_SIZE)


def _pose_findings(study: UnitStudy) -> Iterator[Finding]:
    fit, why = study.accelerometer, why_not(study)
    if fit is not None and distinct(study.poses) >= FEWEST and not fit.fits:
        fix = "Lay it down without holding it, on something firm, motors off; let it warm up; look for a loose unit."
        yield Finding("poses-disagree", "not shown", sentence(why), fix)
        return
    asked = {p.name for s in study.sessions for p in s.recording.prompts if p.name.startswith(("on ", "inverted"))}
    missing = missing_faces(study.poses, study.airframe.sensor)
    meant_otherwise = any(s.spins or s.resting >= FOR_THE_NOISE for s in study.sessions)
    if missing and (asked or not meant_otherwise or distinct(study.poses) > 1):
        text = f"{'A pose is' if len(missing) == 1 else 'Poses are'} missing: {listed(missing)}."
        fix = "Let the airframe lie still for 2 s in each of the six poses, blades or propellers off."
        # a spin is for the gyro, a long rest for the noise; without them too few poses tell nothing
        doubt = bool(asked) or (distinct(study.poses) < FEWEST and not meant_otherwise)
        yield Finding("poses-missing", "not shown" if doubt else "advice", text, fix)


def _calibration_findings(study: UnitStudy) -> Iterator[Finding]:
    wrong = [q for q in (*biases(study), *scales(study), *crosses(study)) if q.outcome is Outcome.FAIL]
    if wrong:
        said = "; ".join(f"{q.name} {q.value:.1f} {q.unit}, declared {q.declared:.1f} {q.unit}" for q in wrong)
        fix = "Put the new lines into the airframe file and into whatever flies the airframe; or look for what changed."
        yield Finding("calibration-differs", "fail", f"The declared calibration does not hold: {said}.", fix)


def _entries(study: UnitStudy) -> tuple[Entry, ...]:
    fit = study.accelerometer
    if fit is None or not is_sound(study) or contradicts_axes(study) or spoilt(study, "accelerometer"):
        return ()
    sure = fit.bias_uncertainty.max() <= SURE_BIAS and fit.scale_uncertainty.max() <= SURE_SCALE
    if not sure or _surely_wrong(fit).any():
        return ()
    crossed = bool(fit.cross_uncertainty.max() <= TOLD_CROSS)
    spread = fit.bias_uncertainty / MG
    bias = {name: deserved(float(fit.bias[k] / MG), float(spread[k])) for k, name in enumerate(SENSOR_AXES)}
    matrix = fit.matrix if crossed else np.diag(1 / fit.scale)
    spreads = np.diag(fit.scale_uncertainty)
    for value, pair in zip(fit.cross_uncertainty, PAIRS, strict=True):
        spreads[pair] = spreads[pair[::-1]] = value
    rows = [[deserved(float(matrix[k, j]), float(spreads[k, j])) for j in range(3)] for k in range(3)]
    from_poses = f"from {fit.poses} still poses"
    cross = (
        f", cross-talk ± {100 * fit.cross_uncertainty.max():.2f} %" if crossed else "; cross-talk not told, left at 0"
    )
    return (
        Entry(("calibration",), "accelerometer_bias_mg", dict(bias), f"{from_poses}, ± {spread.max():.1f} mg"),
        Entry(
            ("calibration",),
            "accelerometer_matrix",
            [list(row) for row in rows],
            f"{from_poses}, scale ± {100 * fit.scale_uncertainty.max():.2f} %{cross}",
        ),
    )


def _unknown(study: UnitStudy) -> tuple[str, ...]:
    if study.accelerometer is None:
        return ("The accelerometer's errors: no still pose was found.",)
    few: tuple[str, ...] = ()
    if distinct(study.poses) >= FEWEST and study.accelerometer.parameters.freedom < FEWEST_SPARE:
        said = "Whether each pose was good: there are hardly more poses than unknowns, so one bad pose would not show"
        few = (f"{said}; lay each face down twice.",)
    return (
        *few,
        "The bench's own gravity counts as 1 g; from equator to pole it grows by 0.5 %, which no pose shows.",
        "A turn of the accelerometer as a whole against the airframe: that is mounting, and benchrig check finds it.",
    )


def _method(study: UnitStudy) -> tuple[str, ...]:
    fit = study.accelerometer
    if fit is None:
        return ()
    held = sum(pose.by_hand for pose in study.poses)
    kinds = f", {held} of them held in the hand, which count for less" if held else ""
    axes = [axis_in_words(axis, study.airframe.sensor) for axis in range(3)]
    apart = distinct(study.poses)
    differ = f"; {apart} differ by {np.degrees(SAME_WAY):.0f}° or more" if apart > 1 else ""
    poses = "one still pose" if fit.poses == 1 else f"{fit.poses} still poses"
    return (
        sentence(f"{poses} of {SHORTEST_POSE:g} s or more{kinds}{differ}"),
        "Bias, scale and cross-talk are those under which every pose reads one gravity, however exactly it lay.",
        f"Axes are the unit's own: {listed(axes)}. Scale errors are reading over truth, less one.",
        "True = matrix × (reading − bias); for the gyro, factor × (reading − bias at rest).",
    )


def _figures(study: UnitStudy) -> tuple[Figure, ...]:
    fit = study.accelerometer
    if fit is None or distinct(study.poses) < FEWEST:
        return ()
    readings = np.array([pose.reading for pose in study.poses])
    before = np.linalg.norm(readings, axis=1) / STANDARD_GRAVITY
    after = np.linalg.norm((readings - fit.bias) @ fit.matrix.T, axis=1) / STANDARD_GRAVITY
    number = np.arange(1.0, len(readings) + 1)
    title = "The poses do not agree on one gravity, whatever the calibration."
    if fit.fits:
        title = "After calibration every pose reads the same gravity."
        if fit.parameters.freedom < FEWEST_SPARE:
            title = "What each pose reads: too few to prove the calibration, which would bring any six together."
    description = (
        f"Size of the mean reading of each of {fit.poses} poses: as read between {before.min():.3f} and "
        f"{before.max():.3f} g, after calibration between {after.min():.4f} and {after.max():.4f} g."
    )
    curves = (Curve("as read", number, before, "cross"), Curve("calibrated", number, after, "dots"))
    return (Figure(title, description, "pose, in order of time", "size of the reading, g", curves),)
