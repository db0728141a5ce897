"""Hard iron along the compass's own axes, the reason where it is not told, and what it does to a heading."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.geometry.directions import Matrix, Vector
from benchrig.measure.compass.clearance import heading_error
from benchrig.measure.compass.iron import IronFit
from benchrig.measure.compass.study import UNEVEN, CompassStudy, level_of

TOLD_IRON: Final = 2.5e-6
"""T: hard iron is not told where one standard deviation is larger: it would turn a heading by some 7°."""

ENTRY_IRON: Final = 1.2e-6
"""T: hard iron is written down where one standard deviation of each axis is no larger; 1 µT turns a heading by 3°."""

STEADY_IRON: Final = 0.1e-6
"""T: what a consumer compass wanders within minutes, at least (from memory)."""

USELESS: Final = np.radians(20.0)
"""rad: a heading that is off by more is of no use (common practice, no published source)."""

_MOST: Final = 0.5  # of an axis's length along the direction that was not seen


def hard_iron(study: CompassStudy) -> tuple[Vector, Vector, tuple[str, ...]]:
    """Give hard iron along the compass's own axes, T, its standard deviations, and why each cannot be told."""
    fit, reasons = study.fit, [study.doubt] * 3
    if fit is None:
        return np.full(3, np.nan), np.full(3, np.nan), tuple(reasons)
    compass_from_body = study.compass.body_from_sensor.T
    spread = np.sqrt(np.diag(compass_from_body @ hard_covariance(study, fit) @ compass_from_body.T))
    if not study.doubt:
        reasons = [_untold(study, float(s), compass_from_body[k]) for k, s in enumerate(spread)]
    return compass_from_body @ fit.hard, spread, tuple(reasons)


def hard_covariance(study: CompassStudy, fit: IronFit) -> Matrix:
    """Give that of the fit, widened by what an uneven room and the compass's own wander do; shape (3, 3), T²."""
    widened: Matrix = fit.hard_covariance + np.eye(3) * float(np.hypot(UNEVEN * study.unevenness, STEADY_IRON)) ** 2
    return widened


def _untold(study: CompassStudy, spread: float, axis: Vector) -> str:
    if study.is_no_earth:
        return "the size of the field is none of the earth's: its unit or range has to be mended first"
    seen = study.coverage
    if seen is not None and study.is_flat and abs(float(axis @ seen.weakest)) > _MOST:
        return (
            "the field keeps one size along this axis in all these turns, so iron along it looks just like a stronger "
            "field; turn the airframe with its nose raised by 30° too"
        )
    if spread > TOLD_IRON:
        return f"it is unsure by {spread * 1e6:.1f} µT; turn the airframe in more ways, the nose raised by 30° too"
    return ""


def iron_error(study: CompassStudy) -> float | None:
    """Give by how much iron left in turns a level heading at worst, rad; None where it is not told."""
    _, _, reasons = hard_iron(study)
    if study.fit is None or all(reasons):
        return None
    return heading_error(float(np.hypot(*study.fit.hard[:2])), level_of(study.fit)[0])
