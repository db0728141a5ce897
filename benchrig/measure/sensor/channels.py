"""The channels of each recording, and which of them carry numbers that no calibration should rest on."""

from __future__ import annotations

import numpy as np

from benchrig.geometry.directions import SENSOR_AXES, Vector
from benchrig.measure.sensor.counting import Channel, look_at_channels
from benchrig.measure.sensor.study import Session, UnitStudy, noise_at_rest
from benchrig.signals.time_base import clipped


def channels_of(study: UnitStudy, session: Session) -> dict[str, list[Channel]]:
    """Look at the channels of one recording, by ``gyro`` and ``accelerometer``."""
    sensor, recording = study.airframe.sensor, session.recording
    noise = noise_at_rest(session)
    full = {
        "gyro": sensor.gyro_range or recording.gyro_full_scale,
        "accelerometer": sensor.accelerometer_range or recording.accelerometer_full_scale,
    }
    values = {"gyro": recording.angular_rate, "accelerometer": recording.acceleration}
    return {
        name: look_at_channels(
            values[name], _clipped(values[name], full[name]), None if noise is None else noise[index], full[name]
        )
        for index, name in enumerate(values)
    }


def spoilt(study: UnitStudy, sensor: str) -> tuple[str, ...]:
    """Name the axes of ``gyro`` or ``accelerometer`` that are dead, or of which bits are stuck in some recording.

    Bits that no channel ever uses are a matter of the range, and spoil nothing.
    """
    names: set[str] = set()
    for session in study.sessions:
        found = channels_of(study, session)[sensor]
        stuck = [c for c in found if c.stuck_bits]
        names |= {c.name for c in found if c.is_dead}
        names |= {c.name for c in stuck} if len(stuck) < len(found) else set()
    return tuple(name for name in SENSOR_AXES if name in names)


def clips_at_rest(session: Session) -> bool:
    """Whether the accelerometer stands at the end of its range while the airframe lies still."""
    rests = (slice(r.start, r.stop) for r in session.stillness.rests)
    return any(bool(session.even.accelerometer_clipped[rest].any()) for rest in rests)


def _clipped(values: Vector, full_scale: float | None) -> Vector:
    return np.column_stack([clipped(column[:, None], full_scale) for column in values.T])
