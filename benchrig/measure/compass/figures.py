"""The pictures of a compass: its circle before and after, its heading against the gyro, and what is left over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.compass.axes import UPRIGHT, lean, levelled
from benchrig.measure.compass.quantities import sense_quantity
from benchrig.measure.compass.study import CompassStudy, level_of
from benchrig.measure.figure import Curve, Figure
from benchrig.outcome import Outcome

_POINTS: Final = 300


def figures_of(study: CompassStudy) -> tuple[Figure, ...]:
    """Give the pictures that there is something to show in."""
    return (*_circles(study), *_headings(study), *_residuals(study))


def _thin(count: int) -> slice:
    return slice(None, None, max(count // _POINTS, 1))


def _circles(study: CompassStudy) -> Iterator[Figure]:
    fit = study.fit
    if fit is None or study.doubt:
        return
    level = [lean(a) < UPRIGHT for a in fit.attitude]
    poses: Matrix = np.concatenate([a[one] for a, one in zip(fit.attitude, level, strict=True)])
    raw: Vector = np.concatenate([s.reading[one] for s, one in zip(study.stretches, level, strict=True)])
    if len(raw) < 2:  # noqa: PLR2004 - nothing to draw
        return
    poses, raw = poses[_thin(len(raw))], raw[_thin(len(raw))]
    read = levelled(poses, raw)
    mended = levelled(poses, (raw - fit.hard) @ np.linalg.inv(fit.gain).T)
    size, _ = level_of(fit)
    around = np.linspace(0.0, 2 * np.pi, 73)
    off = float(np.hypot(*fit.hard[:2])) * 1e6
    yield Figure(
        title="With the iron taken out, level readings lie on one circle about zero.",
        description=(
            f"Level readings, forward and right, the lean taken out. As read their circle lies {off:.1f} µT off zero; "
            f"with iron and gains taken out they lie on the circle of the earth's level field, {size * 1e6:.1f} µT."
        ),
        x_label="right, µT",
        y_label="forward, µT",
        curves=(
            Curve("as read", read[:, 1] * 1e6, read[:, 0] * 1e6, "cross"),
            Curve("iron taken out", mended[:, 1] * 1e6, mended[:, 0] * 1e6, "dots"),
            Curve("the earth's level field", size * 1e6 * np.sin(around), size * 1e6 * np.cos(around), "dashed"),
        ),
        scale="equal",
    )


_TITLES: Final[Mapping[Outcome, str]] = {
    Outcome.PASS: "The compass's heading turns the way the gyro says.",
    Outcome.FAIL: "The compass's heading does not turn the way the gyro says.",
    Outcome.NOT_SHOWN: "The compass's heading beside the gyro's: these turns do not show whether they agree.",
    Outcome.NOT_APPLICABLE: "The compass's heading beside the gyro's.",
}


def _headings(study: CompassStudy) -> Iterator[Figure]:
    sense = study.sense
    if sense is None:
        return
    few = _thin(len(sense.gyro))
    gyro, compass = np.degrees(sense.gyro[few]), np.degrees(sense.compass[few])
    ends = np.array([gyro.min(), gyro.max()])
    yield Figure(
        title=_TITLES[sense_quantity(study).outcome],
        description=(
            f"Heading turned by the compass over heading turned by the gyro: {sense.slope:+.3f} ± "
            f"{sense.uncertainty:.3f} degrees for each. The dashed line is one for one."
        ),
        x_label="turned by the gyro, deg",
        y_label="turned by the compass, deg",
        curves=(Curve("compass", gyro, compass, "dots"), Curve("one for one", ends, ends, "dashed")),
    )


def _residuals(study: CompassStudy) -> Iterator[Figure]:
    if study.fit is None:
        return
    size = float(np.linalg.norm(study.fit.earth)) * 1e6
    for number, recording in enumerate(study.recordings):
        parts = [k for k, s in enumerate(study.stretches) if s.recording == number]
        if not parts:
            continue
        at: Vector = np.concatenate([study.stretches[k].time[study.stretches[k].chosen] for k in parts])
        left = np.concatenate([study.fit.residual[k] for k in parts]) * 1e6
        few = _thin(len(at))
        yield Figure(
            title=f"What the fit leaves over in {recording.manifest.name}.",
            description=(
                f"Reading minus fit of the three body axes over time: {np.sqrt((left**2).mean()):.2f} µT rms of one "
                f"axis, {np.abs(left).max():.1f} µT at most, in a field of {size:.0f} µT."
            ),
            x_label="time, s",
            y_label="left over, µT",
            curves=tuple(Curve(word, at[few], left[few, k]) for k, word in enumerate(("forward", "right", "down"))),
        )
