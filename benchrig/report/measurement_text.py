"""A measurement's report for a terminal: readable at a glance in 80 columns, with or without colour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from benchrig.measure.measurement import Measurement, Quantity
from benchrig.outcome import Outcome
from benchrig.report import measurement_wording as wording
from benchrig.report.airframe_lines import airframe_lines
from benchrig.report.blocks import NARROWEST, Paper, column_widths, joined, table_rows
from benchrig.report.lettering import columns, pad, shorten, shorten_middle, tight, wrap
from benchrig.report.marks import MARKS

_NAME: Final = 40
"""Columns that a name from a file may take in running text."""
_EXPLAINED: Final = {Outcome.FAIL, Outcome.NOT_SHOWN}
_INDENT: Final = "    "
_AXES: Final = 12
"""Columns of the words behind a name's comma that stay together."""


def measurement_text(measurement: Measurement, *, width: int = 80, colour: bool) -> str:
    """Write the report of a measurement for a terminal.

    Parameters
    ----------
    measurement : Measurement
    width : int
        Columns of the terminal; under 40 it is taken as 40.
    colour : bool
        Whether to write the terminal's colour codes; nothing is told by colour alone.

    Returns
    -------
    str
        Lines of at most `width` columns, without a newline at its end; only a line for the airframe file is never
        broken, so that it can be pasted.
    """
    paper = Paper(max(width, NARROWEST), colour)
    return joined(
        paper.cautions(wording.cautions_of(measurement)),
        _head(measurement, paper),
        _quantities(measurement, paper),
        _verdict(measurement, paper),
        paper.findings(measurement.findings),
        _entries(measurement, paper),
        _listed("what this cannot tell", measurement.unknown, paper),
        _listed("how it was measured", measurement.method, paper),
        _listed("pictures on the page", tuple(figure.title for figure in measurement.figures), paper),
    )


def _head(measurement: Measurement, paper: Paper) -> Iterator[str]:
    name, file = shorten(measurement.airframe_name, _NAME), shorten_middle(measurement.airframe.file.name, _NAME)
    yield from wrap(measurement.title, paper.width, pad("measured", 10))
    yield from wrap(f"{name} ({file})", paper.width, pad("airframe", 10))
    files = [shorten_middle(evidence.file.name, _NAME) for evidence in measurement.evidence]
    yield from wrap(", ".join(files) or "no recording", paper.width, pad("from", 10))


def _quantities(measurement: Measurement, paper: Paper) -> Iterator[str]:
    quantities = measurement.quantities
    if not quantities:
        yield "Nothing was measured."
        return
    declared = any(quantity.declared is not None for quantity in quantities)
    judged = any(quantity.outcome is not Outcome.NOT_APPLICABLE for quantity in quantities)
    kept = [True, True, declared, judged]
    heads = _kept(("QUANTITY", "MEASURED", "DECLARED", "OUTCOME"), kept)
    rows = [_kept(_row(quantity), kept) for quantity in quantities]
    widths = column_widths([heads, *rows], paper.width)
    codes = [MARKS[quantity.outcome].ansi if paper.colour and judged else "" for quantity in quantities]
    yield paper.title(table_rows([heads], widths)[0][0])
    laid = table_rows(rows, widths, codes)
    mixed = _mixed(quantities)
    for place, (quantity, lines) in enumerate(zip(quantities, laid, strict=True)):
        yield from lines
        yield from _why(quantity, quantities[place + 1 :], paper, alike=_stem(quantity) not in mixed)
    rules = wording.limits_of(q for q in quantities if q.outcome not in _EXPLAINED)
    if rules:
        yield from wrap("; ".join(rules), paper.width, "judged by: ", "  ")


def _kept(row: tuple[str, ...], kept: list[bool]) -> list[str]:
    return [cell for cell, keep in zip(row, kept, strict=True) if keep]


def _row(quantity: Quantity) -> tuple[str, str, str, str]:
    mark = MARKS[quantity.outcome]
    outcome = mark.sign if mark.short == mark.sign else f"{mark.sign} {mark.short}"
    return (
        _held(quantity.name),
        tight(wording.value_of(quantity)),
        tight(wording.declared_of(quantity)),
        tight(outcome),
    )


def _held(name: str) -> str:
    """Keep the axes at the end of a name on one line."""
    stem, comma, axes = name.rpartition(", ")
    return f"{stem}{comma}{tight(axes)}" if comma and columns(axes) <= _AXES else name


def _why(quantity: Quantity, later: Sequence[Quantity], paper: Paper, *, alike: bool) -> Iterator[str]:
    """Give the reason: below the last of quantities that share it, or below each where only some axes share it."""
    said = _said(quantity)
    if said and not (alike and later and _said(later[0]) == said):
        yield from wrap(said, paper.width, _INDENT)


def _stem(quantity: Quantity) -> str:
    return quantity.name.rpartition(", ")[0] or quantity.name


def _mixed(quantities: Sequence[Quantity]) -> set[str]:
    """Name the quantities whose axes do not all have one reason."""
    said: dict[str, set[str]] = {}
    for quantity in quantities:
        said.setdefault(_stem(quantity), set()).add(_said(quantity))
    return {stem for stem, found in said.items() if len(found) > 1}


def _said(quantity: Quantity) -> str:
    if wording.is_told(quantity) and quantity.outcome not in _EXPLAINED:
        return ""
    rule = f"limit: {quantity.limit}" if quantity.limit and quantity.outcome in _EXPLAINED else ""
    return "; ".join(part for part in (quantity.reason.rstrip("."), rule) if part)


def _verdict(measurement: Measurement, paper: Paper) -> Iterator[str]:
    yield paper.rule()
    yield paper.bar(wording.mark_of(measurement))
    yield from wrap(wording.outcome_sentence(measurement), paper.width, _INDENT)
    yield paper.rule()


def _entries(measurement: Measurement, paper: Paper) -> Iterator[str]:
    if not measurement.entries:
        return
    yield paper.title("lines for the airframe file")
    for place, (header, lines) in enumerate(airframe_lines(measurement.entries)):
        if place:
            yield ""
        yield header
        for line, comment in lines:
            yield from _entry(line, comment, paper.width)


def _entry(line: str, comment: str, width: int) -> Iterator[str]:
    """Give a line with its comment beside it, or above it where it would not fit."""
    together = f"{line}  # {comment}"
    if comment and "\n" not in line and columns(together) <= width:
        yield together
        return
    if comment:
        yield from wrap(comment, width, "# ", "# ")
    yield from line.splitlines()


def _listed(title: str, sentences: tuple[str, ...], paper: Paper) -> Iterator[str]:
    if sentences:
        yield paper.title(title)
    yield from paper.points(sentences)
