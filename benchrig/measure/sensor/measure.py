"""`measure sensor`: the unit's own errors, its noise and its clock, from still poses, turns and spins."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, TypeVar

from benchrig import __version__
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.measure.measurement import Evidence, Measurement
from benchrig.measure.noise.measure import measure_noise
from benchrig.measure.sensor.accelerometer_report import accelerometer_part
from benchrig.measure.sensor.gyro_report import gyro_part
from benchrig.measure.sensor.part import Part
from benchrig.measure.sensor.stream_report import stream_part
from benchrig.measure.sensor.study import UnitStudy, study_unit
from benchrig.outcome import Finding, gravest_first

CAUTIONS: Final = (
    "Blades or propellers off before it is laid on its side, nose or back: a motor that starts has nothing to stop it.",
    "Lay it on something soft and firm that carries its weight by the frame: not by blades, skids, tail or battery.",
    "On a turntable strap everything down, and stand clear until it has stopped.",
)
"""Common practice, no published source."""

_CAUSES: Final = frozenset(
    {"stream-frozen", "channel-frozen", "bits-stuck", "bits-unused", "unit-clips", "never-still", "gyro-bias-large"}
)

_T = TypeVar("_T")


def measure_sensor(airframe: Airframe, recordings: Sequence[Recording]) -> Measurement:
    """Measure the gyro's and the accelerometer's own errors, their noise, and the stream that brings them.

    Parameters
    ----------
    airframe : Airframe
        A calibration that it declares is not applied, but held against what is measured.
    recordings : sequence of Recording
        Of one unit: still poses with turns between them, a long rest for the noise, spins on a table; any of these.

    Returns
    -------
    Measurement
    """
    study = study_unit(airframe, recordings)
    parts = (accelerometer_part(study), gyro_part(study), stream_part(study), _noise_part(study))
    return Measurement(
        kind="sensor",
        title="The unit's own errors",
        airframe_name=airframe.name,
        airframe=Evidence(airframe.source.file, airframe.source.sha256),
        evidence=tuple(Evidence(r.manifest, r.sha256) for r in recordings),
        quantities=_joined(part.quantities for part in parts),
        findings=gravest_first(sorted(_joined(part.findings for part in parts), key=_comes_later)),
        figures=_joined(part.figures for part in parts),
        entries=_joined(part.entries for part in parts),
        unknown=_joined(part.unknown for part in parts),
        method=_joined(part.method for part in parts),
        cautions=CAUTIONS,
        software={"benchrig": __version__},
    )


def _comes_later(finding: Finding) -> bool:
    """Put causes before what follows from them: a channel at its end, or stuck, before the poses that it spoils."""
    return finding.code not in _CAUSES


def _noise_part(study: UnitStudy) -> Part:
    """Read the noise from the recording that lay still longest: joined, their starts would count as drift."""
    longest = max(study.sessions, key=lambda session: session.resting)
    noise = measure_noise(longest.recording, study.airframe.sensor)
    source = (f"The noise is that of {longest.name}.",) if study.several else ()
    return Part(noise.quantities, noise.findings, noise.figures, unknown=noise.unknown, method=(*source, *noise.method))


def _joined(parts: Iterable[tuple[_T, ...]]) -> tuple[_T, ...]:
    return tuple(item for part in parts for item in part)
