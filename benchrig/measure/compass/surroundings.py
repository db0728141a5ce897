"""What iron, currents and distances on the airframe mean for its compass."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from benchrig.measure.compass.clearance import clearances, heading_error, wire_field
from benchrig.measure.compass.hard_iron import ENTRY_IRON, USELESS, hard_iron, iron_error
from benchrig.measure.compass.study import CompassStudy, level_of
from benchrig.outcome import Finding

_LARGE_ERROR: Final = np.radians(10.0)


def surroundings(study: CompassStudy) -> Iterator[Finding]:
    """Name what is too near, a current that matters, and iron stronger than the earth's field."""
    for one in clearances(study.airframe):
        if one.is_close:
            text = (
                f"The compass is {one.declared * 1e3:.0f} mm from the {one.meant}; common practice keeps "
                f"{one.advised * 1e3:.0f} mm or more (no published source)."
            )
            fix = "Move it away, twist the leads of each current together, and measure again."
            yield Finding("compass-too-close", "advice", text, fix)
    distance, current = study.airframe.clearances.get("magnetometer_to_motor"), study.compass.nearby_current
    if study.fit is None or study.doubt:
        return
    level, _ = level_of(study.fit)
    if current is not None and distance is not None:
        error = heading_error(wire_field(current, distance), level)
        if error > _LARGE_ERROR:
            text = f"A current of {current:g} A in one lead at {distance * 1e3:.0f} mm would turn the heading by "
            text += f"{_degrees(error)}."
            fix = "Twist both leads together, or move the compass: the field falls with the distance."
            yield Finding("compass-current", "advice", text, fix)
    _, _, reasons = hard_iron(study)
    if not any(reasons) and float(np.linalg.norm(study.fit.hard)) > float(np.linalg.norm(study.fit.earth)):
        text = f"The airframe's own iron makes {np.linalg.norm(study.fit.hard) * 1e6:.0f} µT, more than the earth."
        fix = "Look for a magnet, a steel screw or a loudspeaker near it; another place is better than a correction."
        yield Finding("compass-iron-large", "advice", text, fix)


def left_in(study: CompassStudy) -> Iterator[Finding]:
    """Say that the iron makes the heading useless, where nothing is declared that takes it out."""
    known = study.airframe.calibration
    error = iron_error(study)
    if error is None or error < USELESS or (known is not None and known.magnetometer_bias is not None):
        return
    text = (
        f"The airframe's own iron turns a level heading by up to {np.degrees(error):.0f}°, and nothing declared takes "
        f"it out; from {np.degrees(USELESS):.0f}° on a heading is of no use (common practice, no published source)."
    )
    _, spread, reasons = hard_iron(study)
    if any(reasons) or spread.max() > ENTRY_IRON:
        fix = "Measure it surely enough to take it out: level, with the nose raised by 30°, and far from steel."
    else:
        fix = (
            "Put it into [calibration] with `--write`, and see that whatever flies the airframe applies it; or move "
            "the compass away from the iron, and measure again."
        )
    yield Finding("compass-iron-left-in", "not shown", text, fix)


def _degrees(angle: float) -> str:
    return "any amount" if angle >= np.pi else f"{np.degrees(angle):.0f}° at worst"
