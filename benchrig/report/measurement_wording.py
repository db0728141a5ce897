"""The sentences of a measurement's report: one wording for the terminal and for the page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from benchrig.cautions import CAUTIONS
from benchrig.measure.measurement import Measurement, Quantity
from benchrig.outcome import Outcome
from benchrig.report.marks import MARKS, Mark
from benchrig.report.quantity import NOT_TOLD, measured, number

_EXACT: Final = 6
"""Significant digits of a declared number: as many as anybody declares."""
_PLAIN: Final = 4
"""Significant digits of a measured number whose uncertainty nobody knows."""

_SENTENCES: Final = {
    Outcome.PASS: "What was measured is as declared, wherever it was declared.",
    Outcome.FAIL: "Something is not as declared, or not as it must be. Mend it and measure again.",
    Outcome.NOT_SHOWN: "The evidence does not decide. This is not a pass: measure again.",
    Outcome.NOT_APPLICABLE: "Nothing was declared that it could be held against, so nothing was judged.",
}


def mark_of(measurement: Measurement) -> Mark:
    """Give the mark for the whole measurement; one with nothing to judge it by is called measured."""
    mark = MARKS[measurement.outcome]
    return replace(mark, word="MEASURED") if measurement.outcome is Outcome.NOT_APPLICABLE else mark


def outcome_sentence(measurement: Measurement) -> str:
    """Say in one sentence what the outcome means."""
    return _SENTENCES[measurement.outcome]


def cautions_of(measurement: Measurement) -> tuple[str, ...]:
    """Give the cautions of this measurement after the usual ones, each once."""
    return tuple(dict.fromkeys((*CAUTIONS, *measurement.cautions)))


def value_of(quantity: Quantity) -> str:
    """Write what was measured, or that it cannot be told."""
    if quantity.value is None or quantity.uncertainty is None or quantity.uncertainty <= 0:
        return number(quantity.value, quantity.unit, _PLAIN)
    return measured(quantity.value, quantity.uncertainty, quantity.unit)


def declared_of(quantity: Quantity) -> str:
    """Write what was declared; empty where nothing was."""
    return "" if quantity.declared is None else number(quantity.declared, quantity.unit, _EXACT)


def is_told(quantity: Quantity) -> bool:
    """Whether there is a number to show."""
    return value_of(quantity) != NOT_TOLD


def limits_of(quantities: Iterable[Quantity]) -> list[str]:
    """List the rules that quantities were judged by, each once."""
    return list(dict.fromkeys(quantity.limit for quantity in quantities if quantity.limit))


def evidence_of(measurement: Measurement) -> str:
    """Name the files that the measurement rests on."""
    return ", ".join(evidence.file.name for evidence in measurement.evidence) or "no recording"
