"""A measured value held against a declared one, with room for what the measurement does not know."""

from __future__ import annotations

from typing import Final

from benchrig.outcome import Outcome

DEVIATIONS: Final = 2.0
"""A value passes, or fails, only if it does so by this many standard deviations."""


def held_against(value: float, uncertainty: float, declared: float, tolerance: float) -> Outcome:
    """Judge a difference: surely inside the tolerance, surely outside it, or neither.

    Examples
    --------
    >>> held_against(1523.0, 1.0, 1520.0, 10.0).value, held_against(1529.0, 1.0, 1520.0, 10.0).value
    ('pass', 'not shown')
    """
    off = abs(value - declared)
    if off + DEVIATIONS * uncertainty <= tolerance:
        return Outcome.PASS
    return Outcome.FAIL if off - DEVIATIONS * uncertainty > tolerance else Outcome.NOT_SHOWN


def within(tolerance: float, unit: str, what: str = "what is declared") -> str:
    """Say the rule of `held_against` in words.

    Examples
    --------
    >>> within(5.0, "mm", "the declared place")
    'within 5 mm of the declared place, by 2 standard deviations'
    """
    return f"within {tolerance:g} {unit} of {what}, by {DEVIATIONS:g} standard deviations"


def below(value: float, uncertainty: float, limit: float) -> Outcome:
    """Judge a size against an upper limit in the same way."""
    return held_against(value, uncertainty, 0.0, limit)
