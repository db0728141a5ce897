"""The record of one bench: every judgement with its value, uncertainty, limit, outcome and evidence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Matrix, Vector
from benchrig.outcome import Finding, Outcome
from benchrig.signals.body import IntArray
from benchrig.verdict.figures import UnitFigures


@dataclass(frozen=True, slots=True)
class Cell:
    """One judgement of the direction matrix: one motion against one check.

    Attributes
    ----------
    motion : str
    check : str
        gyro, accelerometer, attitude, magnetometer, unit attitude, or ``actuator:NAME``.
    outcome : Outcome
    required : bool
        Whether the verdict rests on it.
    evidence : {"recorded", "seen"}
    expected, observed : str or None
        In axis symbols (``+q``, ``-fx``, ``+pitch``) or an actuator's own words; None where nothing can be said.
    size, uncertainty : float or None
        In `unit`; the uncertainty is one standard deviation.
    unit : str
    wrong_pass_bound : float or None
        How likely a pass here would be wrong.
    reason : str
        One sentence in plain words.
    """

    motion: str
    check: str
    outcome: Outcome
    required: bool
    evidence: Literal["recorded", "seen"]
    expected: str | None
    observed: str | None
    size: float | None
    unit: str
    uncertainty: float | None
    wrong_pass_bound: float | None
    reason: str

    @property
    def counts(self) -> bool:
        """Whether the verdict rests on it: no choice of required motions excuses what was found wrong."""
        return self.required or self.outcome is Outcome.FAIL


@dataclass(frozen=True, slots=True, eq=False)
class WiringFound:
    """How one sensor is really wired to the airframe.

    Attributes
    ----------
    outcome : Outcome
    found : ndarray, shape (3, 3), or None
        Body from sensor; determinant -1 where an axis sign is wrong. None where nothing can be said.
    probability : float or None
        Of `found`.
    also_possible : tuple of ndarray, shape (3, 3)
        The other members of the smallest set that holds 99.9 %.
    """

    outcome: Outcome
    found: Matrix | None
    probability: float | None
    also_possible: tuple[Matrix, ...]


@dataclass(frozen=True, slots=True)
class Misalignment:
    """Small angles, deg, by which the sensor is turned from its declared mounting, with standard deviations."""

    roll: float | None
    pitch: float | None
    yaw: float | None
    roll_uncertainty: float | None
    pitch_uncertainty: float | None
    yaw_uncertainty: float | None

    @property
    def told(self) -> dict[str, tuple[float, float]]:
        """The angles that could be told, each with its standard deviation, by name."""
        angles = {
            "roll": (self.roll, self.roll_uncertainty),
            "pitch": (self.pitch, self.pitch_uncertainty),
            "yaw": (self.yaw, self.yaw_uncertainty),
        }
        return {name: (a, spread) for name, (a, spread) in angles.items() if a is not None and spread is not None}


SIDE_ALONE: Final = "its side is as declared; its size is not known finely enough for the tolerance"
"""Begins the reason of a place that passed on its side."""


@dataclass(frozen=True, slots=True, eq=False)
class LeverArm:
    """The declared and, where it could be measured, the real place of the sensor, mm from the CG, body axes.

    A pass says that it lies on the declared side, and not surely outside its tolerance; `is_side_alone` tells one that
    says no more.
    """

    outcome: Outcome
    declared_mm: Vector
    measured_mm: tuple[float | None, float | None, float | None]
    uncertainty_mm: tuple[float | None, float | None, float | None]
    reason: str

    @property
    def is_side_alone(self) -> bool:
        """Whether it passed on its side, and its size is not known finely enough for the tolerance."""
        return self.outcome is Outcome.PASS and self.reason.startswith(SIDE_ALONE)


@dataclass(frozen=True, slots=True)
class ActuatorJudgement:
    """What one actuator did.

    Attributes
    ----------
    finding : {"ok", "reversed", "still", "wrong axis", "swapped", "not shown"}
    latency_ms, latency_uncertainty_ms : float or None
    swapped_with : str or None
    response, response_uncertainty : mapping of {"roll", "pitch", "yaw"} to float, µs per deg, or None
        Change of pulse in a motion about that axis, over the angle turned.
    trouble : {"", "travel", "late", "part", "collective", "range"}
        What else keeps it from correcting: too little travel, too late, the rate and angle parts against each other,
        a collective that goes the other way, or pulses of another length than the servo is declared for.
    probability : float or None
        Of `finding`, among the ways in which it can be wrong.
    """

    name: str
    outcome: Outcome
    finding: str
    latency_ms: float | None
    latency_uncertainty_ms: float | None
    swapped_with: str | None
    response: Mapping[str, float] | None
    response_uncertainty: Mapping[str, float] | None
    reason: str
    trouble: Literal["", "travel", "late", "part", "collective", "range"] = ""
    probability: float | None = None


@dataclass(frozen=True, slots=True)
class Health:
    """One check of the data itself, against a stated limit."""

    check: str
    outcome: Outcome
    value: float | None
    unit: str
    limit: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the recording, s from its first sample."""

    start: float
    end: float
    label: str


@dataclass(frozen=True, slots=True, eq=False)
class Traces:
    """What the pictures are drawn from; body axes, even steps.

    Attributes
    ----------
    time : ndarray, shape (N,), s
    segment : ndarray, shape (N,), int
        A new number after each gap.
    angular_rate : ndarray, shape (N, 3), rad/s
    specific_force : ndarray, shape (N, 3), m/s²
    attitude : ndarray, shape (N, 3), rad
        Roll, pitch, yaw of the reference filter.
    rests : tuple of Span
        Labelled "bench" or "hand".
    motions : tuple of Span
        Labelled with the prompt's name.
    """

    time: Vector
    segment: IntArray
    angular_rate: Vector
    specific_force: Vector
    attitude: Vector
    rests: tuple[Span, ...]
    motions: tuple[Span, ...]


@dataclass(frozen=True, slots=True, eq=False)
class BenchRecord:
    """Everything one bench gave; the reports are pure functions of it.

    Attributes
    ----------
    verdict, sensing, correction : Outcome
        The verdict is the worse of the two parts; `correction` is NOT_APPLICABLE where no actuator is declared.
    wrong_pass_bound : float or None
    next_motion : str or None
        The motion that would best split what is still possible.
    limits : mapping of str to str
        Every limit the verdict used, in words, as the code holds it.
    software : mapping of str to str
    unit : UnitFigures or None
        What the unit showed of itself; None where nothing was taken.
    """

    airframe: Airframe
    recording: Recording
    verdict: Outcome
    sensing: Outcome
    correction: Outcome
    wrong_pass_bound: float | None
    matrix: tuple[Cell, ...]
    gyro: WiringFound
    accelerometer: WiringFound
    magnetometer: WiringFound | None
    misalignment: Misalignment | None
    lever_arm: LeverArm
    actuators: tuple[ActuatorJudgement, ...]
    health: tuple[Health, ...]
    findings: tuple[Finding, ...]
    next_motion: str | None
    cautions: tuple[str, ...]
    limits: Mapping[str, str]
    software: Mapping[str, str]
    traces: Traces
    unit: UnitFigures | None = None

    @property
    def scope(self) -> str:
        """What the verdict is about."""
        return "sensor and actuators" if self.airframe.actuators else "sensor"
