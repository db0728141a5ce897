"""The sentences and rows of a comparison."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from benchrig.keeping.comparison import Comparison
from benchrig.keeping.figures import Figure
from benchrig.keeping.moved import Moved, Weight
from benchrig.outcome import Finding, Outcome
from benchrig.outcome import sentence as whole
from benchrig.report.lettering import shorten, shorten_middle, tight
from benchrig.report.marks import MARKS, Mark
from benchrig.report.quantity import measured, minus, number
from benchrig.report.stored_result import StoredResult, bench_in

SIGNS: Final[Mapping[Weight, str]] = {
    Weight.NONE: "=",
    Weight.INSIDE: "~",
    Weight.MATTERS: "≠",
    Weight.OPEN: "?",
    Weight.UNTOLD: "–",
    Weight.CONTEXT: "–",
}
CODES: Final[Mapping[Weight, str]] = dict.fromkeys(Weight, "") | {
    Weight.MATTERS: MARKS[Outcome.FAIL].ansi,
    Weight.OPEN: MARKS[Outcome.NOT_SHOWN].ansi,
}
_MEANINGS: Final[Mapping[Weight, str]] = {
    Weight.NONE: "not moved beyond its uncertainty",
    Weight.INSIDE: "moved, inside the limits",
    Weight.MATTERS: "moved by more than its limit",
    Weight.OPEN: "cannot be compared",
}
COARSE: Final = "=?"
"""In place of "=", where the uncertainty could hide a change as large as the limit."""

_FINE: Final = 1e-3
OWN_VERDICT: Final = "A comparison is no verdict. The second bench's own is"


def airframe_name(compared: Comparison) -> str:
    """Give the airframe that both are of."""
    return bench_in(compared.second).airframe_name


def bench(result: StoredResult, most: int) -> str:
    """Say which file, when it was recorded and by whom, and what it came to."""
    check = bench_in(result)
    when = f"recorded {shorten(check.recorded, most)}" if check.recorded else "time not recorded"
    who = f" by {shorten(check.operator, most)}" if check.operator else ""
    return f"{shorten_middle(result.file.name, most)}, {when}{who}: {MARKS[check.verdict].word}"


def declaration(compared: Comparison) -> str:
    """Say whether both were judged by one declaration."""
    same_file = bench_in(compared.first).airframe.sha256 == bench_in(compared.second).airframe.sha256
    if same_file:
        return "the same, byte for byte"
    if compared.declared is None:
        return "another one; a result is too old to say what it declared"
    return "declares otherwise, see below" if compared.declared else "another one that declares the same"


def software(compared: Comparison) -> str:
    """Say which versions judged."""
    if not compared.software:
        return f"benchrig {bench_in(compared.second).software.get('benchrig', 'unknown')} judged both"
    return "; ".join(f"{name} {was or 'none'} → {now or 'none'}" for name, (was, now) in compared.software.items())


def read_otherwise(compared: Comparison) -> tuple[list[str], list[str]]:
    """Give what was done to the data of one bench and not of the other: sources, clocks, gaps, what was taken back."""
    first, second = bench_in(compared.first).history, bench_in(compared.second).history
    return [note for note in first if note not in second], [note for note in second if note not in first]


def temperature(compared: Comparison) -> str:
    """Say how warm the unit was; empty where neither bench tells."""
    found = [moved for moved in compared.moved if moved.first.kind == "temperature"]
    return "; ".join(f"{_value(moved.first)} → {_value(moved.second)}" for moved in found)


def row(moved: Moved) -> tuple[str, str, str, str, str]:
    """Give the row of a figure: its mark, its name with the unit, its values and its change."""
    unit = number(1.0, moved.first.unit).removeprefix("1").strip()
    name = f"{moved.first.name} ({unit})" if unit else moved.first.name
    first, second = (tight(_alone(figure, moved)) for figure in (moved.first, moved.second))
    return (_sign(moved), name, first, second, tight(change(moved, "")))


def _alone(figure: Figure, moved: Moved) -> str:
    """Write a value without its unit, and without an uncertainty too fine for the change to show."""
    fine = moved.uncertainty is not None and (figure.uncertainty or 0.0) < _FINE * moved.uncertainty
    return number(figure.value) if fine else measured(figure.value, figure.uncertainty)


def _sign(moved: Moved) -> str:
    return COARSE if moved.is_coarse and moved.weight is Weight.NONE else SIGNS[moved.weight]


def change(moved: Moved, unit: str | None = None) -> str:
    """Write by how much a figure changed, with its uncertainty; a ratio as a factor.

    Parameters
    ----------
    moved : Moved
    unit : str, optional
        To write in place of the figure's own.
    """
    if moved.change is None:
        return ""
    if moved.allowed is not None and moved.allowed.measure == "ratio":
        return f"×{measured(moved.change, moved.uncertainty)}"
    text = measured(moved.change, moved.uncertainty, moved.first.unit if unit is None else unit)
    rounds_to_nothing = not any(digit in "123456789" for digit in text.partition(" ± ")[0])
    return text if text.startswith("−") or rounds_to_nothing else f"+{text}"


def _value(figure: Figure) -> str:
    return measured(figure.value, figure.uncertainty, figure.unit)


def key(listed: Iterable[Moved]) -> str:
    """Say what the marks of a table mean."""
    moves = list(listed)
    used = [weight for weight in _MEANINGS if any(moved.weight is weight for moved in moves)]
    told = [f"{SIGNS[weight]} {_MEANINGS[weight]}" for weight in used]
    if any(_sign(moved) == COARSE for moved in moves):
        told.append(f"{COARSE} not moved, but a change as large as the limit could hide in the uncertainty")
    return "; ".join(told)


def why(group: Sequence[Moved]) -> str:
    """Say what moved of one kind, by how much, what the limit is, and what that means."""
    first = group[0]
    names = "; ".join(f"{moved.first.name}: {tight(change(moved))}" for moved in group)
    means = first.allowed.why if first.allowed is not None else ""
    return f"{names} (limit {limit(first)}). {whole(means)}"


def limit(moved: Moved) -> str:
    """Write how far a figure may move."""
    allowed = moved.allowed
    if allowed is not None and allowed.measure == "ratio":
        return f"×{minus(f'{allowed.limit:g}')} or ×{minus(f'{1 / allowed.limit:g}')}"
    if allowed is not None and allowed.measure == "share":
        return f"{allowed.limit:.0%} of the largest".replace("%", " %")
    return number(moved.limit, moved.first.unit)


def act(moved: Moved) -> str:
    """Say what to do about a figure that matters."""
    return "" if moved.allowed is None else f"{moved.allowed.act}."


def to_fix(compared: Comparison) -> list[Finding]:
    """Give the second bench's own findings that keep it from passing: no figure says better what is wrong."""
    return [finding for finding in bench_in(compared.second).findings if finding.severity != "advice"]


def mark(compared: Comparison) -> Mark:
    """Give the mark and the words that sum a comparison up."""
    outcome = compared.outcome
    by_itself = outcome is not Outcome.PASS and not compared.has(
        Weight.MATTERS if outcome is Outcome.FAIL else Weight.OPEN
    )
    words = {
        Outcome.PASS: "NOTHING SEEN TO MOVE THAT MATTERS",
        Outcome.FAIL: "THE SECOND BENCH FAILED" if by_itself else "SOMETHING MOVED THAT MATTERS",
        Outcome.NOT_SHOWN: "THE SECOND BENCH DID NOT PASS" if by_itself else "NOT EVERYTHING COULD BE COMPARED",
    }
    return replace(MARKS[outcome], word=words[outcome])


def sentence(compared: Comparison) -> str:
    """Say in a sentence what the comparison came to."""
    counts = {weight: sum(moved.weight is weight for moved in compared.moved) for weight in Weight}
    told = [_counted(counts[Weight.MATTERS], "moved by more than its limit", "moved by more than their limits")]
    told += [_counted(counts[Weight.INSIDE], "moved inside its limit", "moved inside their limits")]
    told += [_counted(counts[Weight.OPEN], "cannot be compared", "cannot be compared")]
    coarse = sum(_sign(moved) == COARSE for moved in compared.moved)
    told += [_counted(counts[Weight.NONE] - coarse, "is where it was", "are where they were")]
    told += [_counted(coarse, "is too unsure to tell", "are too unsure to tell")]
    failed = sum(weight is Weight.MATTERS for one, weight in compared.judged if one.about == "cell")
    cells = _counted(failed, "cell of the matrix failed that had not", "cells of the matrix failed that had not")
    figures = f"Of the figures, {', '.join(part for part in told if part) or 'none was told twice'}"
    return f"{figures}; {cells}." if cells else f"{figures}."


def _counted(count: int, one: str, many: str) -> str:
    return "" if count == 0 else f"{count} {one if count == 1 else many}"
