"""What a bench measurement gives: quantities with uncertainties, findings, pictures and lines for the airframe file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from benchrig.measure.figure import Figure
from benchrig.outcome import Finding, Outcome, worst

TomlValue = str | float | int | dict[str, "TomlValue"] | list["TomlValue"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One measured number.

    Attributes
    ----------
    name : str
        In the builder's words: ``sensor from CG, forward``.
    value, uncertainty : float or None
        In `unit`; the uncertainty is one standard deviation. None where it cannot be told.
    unit : str
        Empty for a pure number.
    reason : str
        Why it is None, how it came about, or why it failed; one sentence.
    declared : float or None
        What the airframe file says of it, in `unit`.
    outcome : Outcome
        NOT_APPLICABLE where nothing was declared that it could be held against.
    limit : str
        The rule of the outcome, in words with its numbers; empty where nothing was judged.
    """

    name: str
    value: float | None
    uncertainty: float | None
    unit: str
    reason: str = ""
    declared: float | None = None
    outcome: Outcome = Outcome.NOT_APPLICABLE
    limit: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line for the airframe file.

    Attributes
    ----------
    table : tuple of str
        ``("sensor",)``; ``("actuator", NAME)`` for the ``[[actuator]]`` of that name; ``("link_loss", "goes_to_us")``.
    key : str
    value : str, number, list or mapping
        As TOML writes it; rounded to what its uncertainty deserves.
    comment : str
        Beside the line: how it was measured, and its uncertainty.
    """

    table: tuple[str, ...]
    key: str
    value: TomlValue
    comment: str = ""


@dataclass(frozen=True, slots=True)
class Evidence:
    """A file that a measurement rests on, and the SHA-256 that names its content."""

    file: Path
    sha256: str


@dataclass(frozen=True, slots=True, eq=False)
class Measurement:
    """Everything one bench measurement gave; the reports are pure functions of it.

    Attributes
    ----------
    kind : {"lever", "sensor", "cg", "magnetometer", "actuators", "link", "rotor"}
    title : str
        For a heading: ``Place of the sensor``.
    airframe_name : str
    airframe : Evidence
        The airframe file.
    evidence : tuple of Evidence
        Captures or worksheets.
    quantities : tuple of Quantity
        In the order in which a person reads them.
    findings : tuple of Finding
        The gravest first.
    figures : tuple of Figure
    entries : tuple of Entry
        What the measurement puts into the airframe file; empty where nothing is sure enough.
    unknown : tuple of str
        What this measurement cannot tell, each a sentence with the reason.
    method : tuple of str
        How it was done and by which rules, each a sentence.
    cautions : tuple of str
        Those of this measurement; the usual ones are printed beside them.
    software : mapping of str to str
    """

    kind: str
    title: str
    airframe_name: str
    airframe: Evidence
    evidence: tuple[Evidence, ...]
    quantities: tuple[Quantity, ...]
    findings: tuple[Finding, ...]
    figures: tuple[Figure, ...]
    entries: tuple[Entry, ...]
    unknown: tuple[str, ...]
    method: tuple[str, ...]
    cautions: tuple[str, ...]
    software: Mapping[str, str]

    @property
    def outcome(self) -> Outcome:
        """The worst of what was judged; where nothing was declared, whether anything was measured at all."""
        judged = {q.outcome for q in self.quantities} - {Outcome.NOT_APPLICABLE}
        judged |= {Outcome(f.severity) for f in self.findings if f.severity != "advice"}
        if judged:
            return worst(judged)
        measured = any(q.value is not None for q in self.quantities)
        return Outcome.NOT_APPLICABLE if measured else Outcome.NOT_SHOWN
