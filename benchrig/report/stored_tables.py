"""The schemas of stored results, as far as they are read back: every value is of its kind, or names its key."""

from __future__ import annotations

from typing import Annotated, Literal

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
    """What was judged."""

    recorded: str | None
    operator: str | None


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


class MountingTable(Table):
    """How the sensors were found to be wired."""

    gyro: WiringTable
    accelerometer: WiringTable
    magnetometer: WiringTable | None = None


class ActuatorTable(Table):
    """What one actuator did."""

    name: str
    outcome: Word
    finding: str
    latency_ms: float | None
    latency_uncertainty_ms: float | None
    reason: str


class PartsTable(Table):
    """The parts of the verdict."""

    sensing: Judged
    correction: Word


class CheckTable(Table):
    """A stored ``benchrig-result/1``."""

    verdict: Judged
    parts: PartsTable
    wrong_pass_bound: float | None
    airframe: AirframeTable
    capture: CaptureTable
    matrix: list[CellTable]
    mounting: MountingTable
    actuators: list[ActuatorTable]
    findings: list[FindingTable]
    next_motion: str | None
    software: dict[str, str | None]


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
