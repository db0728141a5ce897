"""Poses by their words: those asked for against those seen, and what lies between two of them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from benchrig.capture.recording import Prompt
from benchrig.declaration.airframe import Sensor
from benchrig.geometry.turns import POSES
from benchrig.measure.sensor.part import listed
from benchrig.measure.sensor.poses import SHORTEST_POSE, Pose, is_a_face, lies
from benchrig.measure.sensor.study import Session, UnitStudy
from benchrig.outcome import Finding
from benchrig.signals.motions import SLOPPINESS


def pose_findings(study: UnitStudy) -> Iterator[Finding]:
    """Name the poses that were asked for and not taken; the calibration does not rest on their names."""
    differ: list[str] = []
    restless: list[str] = []
    for session in study.sessions:
        for prompt in session.recording.prompts:
            if prompt.name not in POSES or prompt.start is None or prompt.end is None:
                continue
            pose = _pose_at(session, prompt)
            if pose is None:
                restless.append(f"{prompt.name} ({prompt.place})")
            elif lies(pose.reading, study.airframe.sensor) != prompt.name:
                seen = lies(pose.reading, study.airframe.sensor)
                about = seen if is_a_face(pose.reading, study.airframe.sensor) else f"nearest to {seen}"
                differ.append(f"{prompt.name} was asked for, and it lay {about} ({prompt.place})")
    if differ:
        fix = "Correct the word if the hand laid it otherwise; if not, the unit's axes are not as declared: run check."
        yield Finding("pose-differs", "advice", f"By the declared axes, {'; '.join(differ)}.", fix)
    if restless:
        text = (
            f"No still pose of {SHORTEST_POSE:g} s, within the accelerometer's range, was found for {listed(restless)}."
        )
        yield Finding("pose-not-still", "advice", text, "Lay it down without holding it, and wait 2 s.")


def _pose_at(session: Session, prompt: Prompt) -> Pose | None:
    """Find the pose that a prompt's times share most with."""
    start, end = (prompt.start or 0.0) - SLOPPINESS, (prompt.end or 0.0) + SLOPPINESS
    shared = [(min(end, pose.end) - max(start, pose.start), pose) for pose in session.poses]
    best = max(shared, key=lambda item: item[0], default=(0.0, None))
    return best[1] if best[0] > 0 else None


def half_way(row: int, column: int, sensor: Sensor) -> str:
    """Say between which poses the unit's two axes share gravity.

    Examples
    --------
    >>> unit = Sensor(np.eye(3), np.zeros(3), None, "specific force", None, None)
    >>> half_way(0, 1, unit)
    'between on nose and on left side, and between on nose and on right side'
    """
    first = lies(-np.eye(3)[row], sensor)
    others = [lies(sign * np.eye(3)[column], sensor) for sign in (1.0, -1.0)]
    return f"between {first} and {others[0]}, and between {first} and {others[1]}"
