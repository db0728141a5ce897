"""What a judgement can come to, and the findings that go with it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal


class Outcome(StrEnum):
    """What was found. A doubt is never a pass."""

    PASS = "pass"  # noqa: S105 - an outcome, not a password
    FAIL = "fail"
    NOT_SHOWN = "not shown"
    NOT_APPLICABLE = "not applicable"


def worst(outcomes: Iterable[Outcome]) -> Outcome:
    """Join outcomes to one: any fail is a fail, then any doubt is a doubt; no evidence at all is a doubt too.

    Examples
    --------
    >>> worst([]).value
    'not shown'
    >>> worst([Outcome.PASS, Outcome.NOT_APPLICABLE]).value
    'pass'
    """
    found = set(outcomes)
    if Outcome.FAIL in found:
        return Outcome.FAIL
    if Outcome.NOT_SHOWN in found or Outcome.PASS not in found:
        return Outcome.NOT_SHOWN
    return Outcome.PASS


@dataclass(frozen=True, slots=True)
class Finding:
    """A cause with its remedy, in the builder's words.

    Attributes
    ----------
    code : str
        For scripts: ``mounting-differs``, ``gyro-axis-sign`` …; listed in ``docs/reference/findings.md``.
    severity : {"fail", "not shown", "advice"}
    text, fix : str
    """

    code: str
    severity: Literal["fail", "not shown", "advice"]
    text: str
    fix: str


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put failures before doubts before advice, and leave the order within each."""
    order = {"fail": 0, "not shown": 1, "advice": 2}
    return tuple(sorted(findings, key=lambda f: order[f.severity]))


def sentence(clause: str) -> str:
    """Make a sentence of a clause: a capital first, a full stop last, and all between as it is.

    Examples
    --------
    >>> sentence("the CG lies 3 mm aft")
    'The CG lies 3 mm aft.'
    """
    return f"{clause[:1].upper()}{clause[1:]}."
