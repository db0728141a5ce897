"""Values as every stored result writes them."""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite
from typing import Any

from benchrig.outcome import Finding, gravest_first


def exact(value: float | None) -> float | None:
    """Give a number as it is; None for what is no number, which JSON cannot hold."""
    return None if value is None or not isfinite(value) else float(value)


def rounded(value: float | None, digits: int) -> float | None:
    """Give a number to so many significant digits, without a minus before zero.

    Examples
    --------
    >>> rounded(-178.23456789, 6), rounded(float("nan"), 6)
    (-178.235, None)
    """
    known = exact(value)
    return None if known is None else float(f"{known:.{digits}g}") + 0.0


def findings_in_json(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Give findings as JSON holds them, the gravest first."""
    return [
        {"code": finding.code, "severity": finding.severity, "text": finding.text, "fix": finding.fix}
        for finding in gravest_first(findings)
    ]
