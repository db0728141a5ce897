"""The sentences of a measurement's report: one wording for the terminal and for the page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import isfinite
from typing import Final

from benchrig.cautions import CAUTIONS
from benchrig.measure.measurement import Measurement, Quantity
from benchrig.outcome import Outcome
from benchrig.report.marks import MARKS, Mark
from benchrig.report.quantity import NOT_TOLD, measured, number

_EXACT: Final = 6
"""Significant digits of a declared number: as many as anybody declares."""
_PLAIN: Final = 3
"""Significant digits of a measured number whose uncertainty nobody knows; before the point all are kept."""
_FEW: Final = 3
"""Names that stand before one rule, at most."""

_SENTENCES: Final = {
    Outcome.PASS: "What was measured is as declared, wherever it was declared.",
    Outcome.FAIL: "Something is not as declared, or not as it must be. Mend it and measure again.",
    Outcome.NOT_SHOWN: "The evidence does not decide. This is not a pass: read below what is open.",
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
        return number(quantity.value, quantity.unit, _digits(quantity.value))
    return measured(quantity.value, quantity.uncertainty, quantity.unit)


def declared_of(quantity: Quantity) -> str:
    """Write what was declared; empty where nothing was."""
    return "" if quantity.declared is None else number(quantity.declared, quantity.unit, _EXACT)


def is_told(quantity: Quantity) -> bool:
    """Whether there is a number to show."""
    return value_of(quantity) != NOT_TOLD


def _digits(value: float | None) -> int:
    """Give the digits that a number keeps: a count is never rounded."""
    return _PLAIN if value is None or not isfinite(value) else max(_PLAIN, len(f"{abs(value):.0f}"))


def limits_of(quantities: Iterable[Quantity]) -> list[str]:
    """List the rules that quantities were judged by, each once, behind what is judged by it."""
    judged: dict[str, list[str]] = {}
    for quantity in quantities:
        if quantity.limit:
            judged.setdefault(quantity.limit, []).append(quantity.name)
    return [f"{group_of(names)}: {rule}" for rule, names in judged.items()]


def group_of(names: Sequence[str]) -> str:
    """Name several quantities by what they share.

    Examples
    --------
    >>> group_of(["front, centre", "tail, centre"]), group_of(["gyro bias, x", "gyro bias, y"])
    ('centre', 'gyro bias')
    """
    parts = [name.partition(", ") for name in names]
    whole = len(names) == 1 or any(not last for _, _, last in parts)
    ends = list(dict.fromkeys(last for _, _, last in parts))
    stems = list(dict.fromkeys(names if whole else (first for first, _, _ in parts)))
    if len(ends) == 1 and len(stems) > 1 and not whole:
        return ends[0]
    more = f" and {len(stems) - _FEW} more" if len(stems) > _FEW else ""
    return f"{', '.join(stems[:_FEW])}{more}"


def evidence_of(measurement: Measurement) -> str:
    """Name the files that the measurement rests on."""
    return ", ".join(evidence.file.name for evidence in measurement.evidence) or "no recording"
