"""What a stored check says, once read back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from benchrig.measure.measurement import Evidence
from benchrig.outcome import Finding, Outcome
from benchrig.report.stored_tables import (
    ActuatorTable,
    AxesTable,
    CheckTable,
    EvidenceTable,
    FindingTable,
    PlaceTable,
    ReadingTable,
    Table,
    UnitTable,
    WiringTable,
)
from benchrig.verdict.record import Cell, Health


@dataclass(frozen=True, slots=True)
class Told:
    """A number with its standard deviation, as it stands in a result; None where it could not be told."""

    value: float | None
    uncertainty: float | None


@dataclass(frozen=True, slots=True)
class StoredActuator:
    """What one actuator did, as a stored check tells it; `response` in µs per degree, for roll, pitch and yaw."""

    name: str
    outcome: Outcome
    finding: str
    latency_ms: float | None
    latency_uncertainty_ms: float | None
    swapped_with: str | None
    response: Mapping[str, Told] | None
    probability: float | None
    trouble: str | None
    reason: str


@dataclass(frozen=True, slots=True)
class StoredWiring:
    """How a sensor was found to be wired: in words, empty where it could not be told."""

    outcome: Outcome
    found: str
    probability: float | None
    also_possible: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StoredPlace:
    """Where the unit was declared and measured to sit, mm forward, right and down of the CG."""

    outcome: Outcome
    declared_mm: Mapping[str, float | None]
    measured_mm: Mapping[str, Told]
    reason: str


@dataclass(frozen=True, slots=True)
class StoredUnit:
    """What the unit showed of itself: °/s (by its own axes), a ratio, g, °/s/√Hz, ms and °C."""

    gyro_bias_deg_s: Mapping[str, Told] | None
    gyro_over_gravity: Told | None
    accelerometer_size_g: Told | None
    gyro_noise_deg_s_rthz: Told | None
    accelerometer_delay_ms: Told | None
    temperature_c: Told | None


@dataclass(frozen=True, slots=True)
class StoredCheck:
    """What a stored check says.

    Attributes
    ----------
    airframe, capture : Evidence
    stream : Path
    stream_sha256, manifest_sha256 : str or None
        Of each file alone; None in older results.
    recorded, operator : str or None
        As they stand in the file.
    verdict, sensing, correction : Outcome
    wirings : mapping of {"gyro", "accelerometer", "magnetometer"} to StoredWiring
    declared_axes : str
        Of the unit, in words.
    misalignment_deg : mapping of {"roll", "pitch", "yaw"} to Told, or None
    unit : StoredUnit or None
        None in older results.
    declaration : mapping or None
        Everything that the airframe file declares (`declaration.content`); None in older results.
    """

    airframe_name: str
    airframe: Evidence
    capture: Evidence
    stream: Path
    stream_sha256: str | None
    manifest_sha256: str | None
    samples: int
    duration_s: float
    rate_hz: float | None
    history: tuple[str, ...]
    recorded: str | None
    operator: str | None
    verdict: Outcome
    scope: str
    sensing: Outcome
    correction: Outcome
    wrong_pass_bound: float | None
    matrix: tuple[Cell, ...]
    wirings: Mapping[str, StoredWiring]
    declared_axes: str
    misalignment_deg: Mapping[str, Told] | None
    place: StoredPlace
    actuators: tuple[StoredActuator, ...]
    health: tuple[Health, ...]
    findings: tuple[Finding, ...]
    next_motion: str | None
    software: Mapping[str, str]
    limits: Mapping[str, str]
    unit: StoredUnit | None
    declaration: Mapping[str, Any] | None


def evidence_of(table: EvidenceTable) -> Evidence:
    """Give a file with its digest."""
    return Evidence(Path(table.file), table.sha256)


def findings_of(tables: Sequence[FindingTable]) -> tuple[Finding, ...]:
    """Give findings in the order of the file."""
    return tuple(Finding(table.code, table.severity, table.text, table.fix) for table in tables)


def software_of(given: Mapping[str, str | None]) -> dict[str, str]:
    """Give the versions that are known."""
    return {name: version for name, version in given.items() if version is not None}


def check_of(table: CheckTable) -> StoredCheck:
    """Give what a check says, from its table."""
    mounting, capture, small = table.mounting, table.capture, table.mounting.misalignment_deg
    wirings = {"gyro": mounting.gyro, "accelerometer": mounting.accelerometer, "magnetometer": mounting.magnetometer}
    return StoredCheck(
        airframe_name=table.airframe.name,
        airframe=evidence_of(table.airframe),
        capture=evidence_of(capture),
        stream=Path(capture.stream),
        stream_sha256=capture.stream_sha256,
        manifest_sha256=capture.manifest_sha256,
        samples=capture.samples,
        duration_s=capture.duration_s,
        rate_hz=capture.rate_hz,
        history=tuple(capture.history),
        recorded=capture.recorded,
        operator=capture.operator,
        verdict=Outcome(table.verdict),
        scope=table.scope,
        sensing=Outcome(table.parts.sensing),
        correction=Outcome(table.parts.correction),
        wrong_pass_bound=table.wrong_pass_bound,
        matrix=tuple(Cell(**{**dict(cell), "outcome": Outcome(cell.outcome)}) for cell in table.matrix),
        wirings={name: _wiring(wiring) for name, wiring in wirings.items() if wiring is not None},
        declared_axes=_axes_in_words(mounting.declared),
        misalignment_deg=None if small is None else _told(small, small.uncertainty, ("roll", "pitch", "yaw")),
        place=_place(table.lever_arm),
        actuators=tuple(map(_actuator, table.actuators)),
        health=tuple(Health(**{**dict(check), "outcome": Outcome(check.outcome)}) for check in table.health),
        findings=findings_of(table.findings),
        next_motion=table.next_motion,
        software=software_of(table.software),
        limits=table.limits,
        unit=None if table.sensor is None else _unit(table.sensor),
        declaration=table.declaration,
    )


def _wiring(table: WiringTable) -> StoredWiring:
    others = tuple(map(_axes_in_words, table.also_possible))
    return StoredWiring(Outcome(table.outcome), _axes_in_words(table.found), table.probability, others)


def _axes_in_words(axes: AxesTable | None) -> str:
    if axes is None:
        return ""
    words = [f"{axis} {word}" for axis, word in (("x", axes.x), ("y", axes.y), ("z", axes.z)) if word is not None]
    return ", ".join(words) or "turned freely"


def _told(values: Table, spreads: Table, names: Sequence[str]) -> dict[str, Told]:
    return {name: Told(getattr(values, name), getattr(spreads, name)) for name in names}


def _place(table: PlaceTable) -> StoredPlace:
    measured = _told(table.measured_mm, table.uncertainty_mm, ("forward", "right", "down"))
    return StoredPlace(Outcome(table.outcome), dict(table.declared_mm), measured, table.reason)


def _actuator(table: ActuatorTable) -> StoredActuator:
    response = None
    if table.response is not None and table.response_uncertainty is not None:
        response = _told(table.response, table.response_uncertainty, ("roll", "pitch", "yaw"))
    told = {name: value for name, value in dict(table).items() if name != "response_uncertainty"}
    return StoredActuator(**{**told, "outcome": Outcome(table.outcome), "response": response})


def _unit(table: UnitTable) -> StoredUnit:
    bias = table.gyro_bias_deg_s
    return StoredUnit(
        gyro_bias_deg_s=None if bias is None else _told(bias, bias.uncertainty, "xyz"),
        gyro_over_gravity=_reading(table.gyro_over_gravity),
        accelerometer_size_g=_reading(table.accelerometer_size_g),
        gyro_noise_deg_s_rthz=_reading(table.gyro_noise_deg_s_rthz),
        accelerometer_delay_ms=_reading(table.accelerometer_delay_ms),
        temperature_c=_reading(table.temperature_c),
    )


def _reading(table: ReadingTable | None) -> Told | None:
    return None if table is None else Told(table.value, table.uncertainty)
