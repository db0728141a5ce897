"""Changes between two checks as lines for a terminal: one wording for the rejudgement and the comparison."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from benchrig.declaration.quotation import escape
from benchrig.keeping.declared_changes import DeclaredChange
from benchrig.keeping.judged_changes import JudgedChange, Side
from benchrig.report.blocks import Paper
from benchrig.report.lettering import pad, shorten_middle, wrap
from benchrig.report.marks import MARKS
from benchrig.report.quantity import minus

ARROW: Final = "→"
NAME: Final = 16
"""Columns of the name that a line begins with."""

_LABELS: Final = {"finding": "finding", "wiring": "axes", "data": "data"}
"""What lines begin with whose subject is too long to begin with, by what they are about."""
_ABSENT: Final = {"finding": "none", "wiring": "not told", "cell": "not judged"}


def name_of(text: str) -> str:
    """Fit a name from a file into the columns that a line begins with."""
    return pad(shorten_middle(text, NAME - 2), NAME)


def declared_lines(paper: Paper, changes: Iterable[DeclaredChange]) -> Iterator[str]:
    """Write what is declared otherwise, a line a key as it stands in the airframe file."""
    for change in changes:
        key = ".".join(escape(part) for part in change.key)
        yield from wrap(f"{key}: {value_in_words(change.before)} {ARROW} {value_in_words(change.after)}", paper.width)


def value_in_words(value: Any) -> str:  # noqa: ANN401 - what JSON can hold
    """Write a declared value as a person would.

    Examples
    --------
    >>> value_in_words(-180.0), value_in_words(None), value_in_words({"x": "aft", "y": "left"})
    ('−180', 'not declared', 'x aft, y left')
    """
    if value is None:
        return "not declared"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return minus(f"{value:.9g}")
    if isinstance(value, Mapping):
        told = [f"{escape(str(key))} {value_in_words(part)}" for key, part in value.items() if part is not None]
        return ", ".join(told) or "nothing"
    if isinstance(value, list):
        return ", ".join(map(value_in_words, value)) or "nothing"
    return escape(str(value))


def judged_lines(paper: Paper, changes: Iterable[JudgedChange]) -> Iterator[str]:
    """Write what came out otherwise; cells that went the same way share their line."""
    groups: dict[tuple[object, ...], list[JudgedChange]] = {}
    for change in changes:
        outcomes = (change.before and change.before.outcome, change.after and change.after.outcome)
        key = (change.about, change.subject, *(outcomes if change.about == "cell" else (len(groups),)))
        groups.setdefault(key, []).append(change)
    for group in groups.values():
        yield from _lines(paper, group)


def _lines(paper: Paper, group: list[JudgedChange]) -> Iterator[str]:
    first = group[0]
    went = f"{_side(first.before, first)} {ARROW} {_side(first.after, first)}"
    if first.about in _LABELS:
        yield from wrap(f"{first.subject}: {went}", paper.width, name_of(_LABELS[first.about]))
        return
    begin = name_of(first.subject)
    if first.about != "cell":
        yield from wrap(went, paper.width, begin)
        return
    yield from wrap(f"{_outcome(first.before, first)} {ARROW} {_outcome(first.after, first)}", paper.width, begin)
    told = "; ".join(f"{change.motion}{_saw(change)}" for change in group)
    yield from wrap(told, paper.width, " " * NAME)


def _side(side: Side | None, change: JudgedChange) -> str:
    if side is None:
        return _outcome(side, change)
    outcome = "" if side.outcome is None else _outcome(side, change)
    told = f"({side.told})" if side.told and outcome else side.told
    return f"{outcome} {told}".strip()


def _outcome(side: Side | None, change: JudgedChange) -> str:
    if side is None or side.outcome is None:
        return _ABSENT.get(change.about, "not there")
    mark = MARKS[side.outcome]
    return f"{mark.sign} {mark.word.lower()}"


def _saw(change: JudgedChange) -> str:
    """Say what a cell saw at both times, where that is not all the same."""
    told = [side.told if side is not None and side.told else "nothing" for side in (change.before, change.after)]
    if told == ["nothing", "nothing"]:
        return ""
    return f" ({told[0]})" if told[0] == told[1] else f" ({told[0]} {ARROW} {told[1]})"
