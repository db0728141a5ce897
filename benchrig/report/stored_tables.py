"""The schemas of stored results, as far as they are read back: every value is of its kind, or names its key."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Word = Literal["pass", "fail", "not shown", "not applicable"]
Judged = Literal["pass", "fail", "not shown"]
Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class Table(BaseModel):
    """A part of a stored result; keys that a later version adds are passed over."""

    model_config = ConfigDict(strict=True, frozen=True, extra="ignore", allow_inf_nan=False)


class EvidenceTable(Table):
    """A file and its digest."""

    file: str
    sha256: Digest


class AirframeTable(EvidenceTable):
    """The airframe file that a result was made for."""

    name: str


class CaptureTable(EvidenceTable):
    """What was judged; the digests of each file alone stand in later results only."""

    recorded: str | None
    operator: str | None
    samples: int
    duration_s: float
    rate_hz: float | None
    stream: str
    history: list[str]
    stream_sha256: Digest | None = None
    manifest_sha256: Digest | None = None


class FindingTable(Table):
    """A cause with its remedy."""

    code: str
    severity: Literal["fail", "not shown", "advice"]
    text: str
    fix: str


class CellTable(Table):
    """A cell of the direction matrix."""

    motion: str
    check: str
    outcome: Word
    evidence: Literal["recorded", "seen"]
    expected: str | None
    observed: str | None
    size: float | None
    unit: str
    uncertainty: float | None
    wrong_pass_bound: float | None
    reason: str
    required: bool


class AxesTable(Table):
    """Where the axes of a sensor point: in words, or as a matrix for one that is turned freely."""

    x: str | None = None
    y: str | None = None
    z: str | None = None
    rotation: list[list[float]] | None = None


class WiringTable(Table):
    """How one sensor was found to be wired."""

    outcome: Judged
    found: AxesTable | None
    mirrored: bool = False
    probability: float | None
    also_possible: list[AxesTable]


class ByTurn(Table):
    """A number each for roll, pitch and yaw."""

    roll: float | None
    pitch: float | None
    yaw: float | None


class MisalignmentTable(ByTurn):
    """Small angles by which the unit is turned from its declared mounting."""

    uncertainty: ByTurn


class MountingTable(Table):
    """How the sensors were found to be wired."""

    declared: AxesTable
    misalignment_deg: MisalignmentTable | None
    gyro: WiringTable
    accelerometer: WiringTable
    magnetometer: WiringTable | None = None


class AlongTable(Table):
    """A number each for forward, right and down."""

    forward: float | None
    right: float | None
    down: float | None


class PlaceTable(Table):
    """The unit's place."""

    outcome: Word
    declared_mm: AlongTable
    measured_mm: AlongTable
    uncertainty_mm: AlongTable
    reason: str


class ActuatorTable(Table):
    """What one actuator did."""

    name: str
    outcome: Word
    finding: str
    latency_ms: float | None
    latency_uncertainty_ms: float | None
    swapped_with: str | None
    response: ByTurn | None
    response_uncertainty: ByTurn | None
    probability: float | None
    trouble: str | None
    reason: str


class HealthTable(Table):
    """One check of the data itself."""

    check: str
    outcome: Word
    value: float | None
    unit: str
    limit: float | None
    reason: str


class ReadingTable(Table):
    """A number with its standard deviation."""

    value: float | None
    uncertainty: float | None


class ByOwnAxis(Table):
    """A number each for the unit's own axes."""

    x: float | None
    y: float | None
    z: float | None


class BiasTable(ByOwnAxis):
    """What the gyro reads at rest."""

    uncertainty: ByOwnAxis


class UnitTable(Table):
    """What the unit showed of itself."""

    gyro_bias_deg_s: BiasTable | None
    gyro_over_gravity: ReadingTable | None
    accelerometer_size_g: ReadingTable | None
    gyro_noise_deg_s_rthz: ReadingTable | None
    accelerometer_delay_ms: ReadingTable | None
    temperature_c: ReadingTable | None


class PartsTable(Table):
    """The parts of the verdict."""

    sensing: Judged
    correction: Word


class CheckTable(Table):
    """A stored ``benchrig-result/1``; `sensor` and `declaration` stand in later results only."""

    verdict: Judged
    scope: str
    parts: PartsTable
    wrong_pass_bound: float | None
    airframe: AirframeTable
    capture: CaptureTable
    matrix: list[CellTable]
    mounting: MountingTable
    lever_arm: PlaceTable
    actuators: list[ActuatorTable]
    health: list[HealthTable]
    findings: list[FindingTable]
    next_motion: str | None
    software: dict[str, str | None]
    limits: dict[str, str]
    sensor: UnitTable | None = None
    declaration: dict[str, Any] | None = None


class QuantityTable(Table):
    """One measured number."""

    name: str
    value: float | None
    uncertainty: float | None
    unit: str
    declared: float | None
    outcome: Word
    limit: str
    reason: str


class MeasurementTable(Table):
    """A stored ``benchrig-measurement/1``."""

    kind: Literal["lever", "sensor", "cg", "magnetometer", "actuators", "link", "rotor"]
    title: str
    outcome: Word
    airframe: AirframeTable
    evidence: list[EvidenceTable]
    quantities: list[QuantityTable]
    findings: list[FindingTable]
    unknown: list[str]
    method: list[str]
    cautions: list[str]
    software: dict[str, str | None]
