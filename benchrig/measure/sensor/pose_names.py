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
    """Name the poses that were asked for and not taken."""
    differ = []
    for prompt, pose in _asked(study):
        if pose is None or lies(pose.reading, study.airframe.sensor) == prompt.name:
            continue
        seen = lies(pose.reading, study.airframe.sensor)
        about = seen if is_a_face(pose.reading, study.airframe.sensor) else f"nearest to {seen}"
        differ.append(f"{prompt.name} was asked for, and it lay {about} ({prompt.place})")
    if differ:
        against = contradicts_axes(study)
        fix = (
            "Correct the word if the hand laid it otherwise; if not, an axis or a sign of the accelerometer is not as "
            "declared: run benchrig check."
        )
        told = f"By the declared axes, {'; '.join(differ)}{': no line is given' if against else ''}."
        yield Finding("pose-differs", "not shown" if against else "advice", told, fix)
    restless = [f"{prompt.name} ({prompt.place})" for prompt, pose in _asked(study) if pose is None]
    if restless:
        text = (
            f"No still pose of {SHORTEST_POSE:g} s, within the accelerometer's range, was found for {listed(restless)}."
        )
        yield Finding("pose-not-still", "advice", text, "Lay it down without holding it, and wait 2 s.")


def contradicts_axes(study: UnitStudy) -> bool:
    """Whether another side was down than the one asked for: the hand was wrong, or the declared axes are."""
    sensor = study.airframe.sensor
    return any(
        pose is not None and is_a_face(pose.reading, sensor) and lies(pose.reading, sensor) != prompt.name
        for prompt, pose in _asked(study)
    )


def _asked(study: UnitStudy) -> Iterator[tuple[Prompt, Pose | None]]:
    """Give each prompted pose with the one that was found at its time."""
    for session in study.sessions:
        for prompt in session.recording.prompts:
            if prompt.name in POSES and prompt.start is not None and prompt.end is not None:
                yield prompt, _pose_at(session, prompt)


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
