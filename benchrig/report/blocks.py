"""What all reports for a terminal are built of: headings, the bar with the verdict, findings, tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from benchrig.outcome import Finding, Outcome, gravest_first
from benchrig.report.lettering import NO_BREAK, columns, pad, wrap
from benchrig.report.marks import MARKS, SEVERITY, Mark, paint

NARROWEST: Final = 40
BOLD: Final = "1"
_COLOURS: Final = {mark.role: mark.ansi for mark in MARKS.values()} | {"none": ""}
_BARS: Final = {
    "agrees": "1;48;2;0;114;178;38;2;255;255;255",
    "differs": "1;48;2;213;94;0;38;2;0;0;0",
    "open": "1;7",
    "none": "7",
}
"""Colours of the bar that carries the verdict, by the role of its mark."""
_GAP: Final = 2
"""Columns between two columns of a table."""


def joined(*sections: Iterable[str]) -> str:
    """Join the sections that have lines, a blank line between two; no-break spaces become plain ones."""
    text = "\n\n".join("\n".join(lines) for lines in map(list, sections) if lines)
    return text.replace(NO_BREAK, " ")


@dataclass(frozen=True, slots=True)
class Paper:
    """Where a report is written.

    Attributes
    ----------
    width : int
        Columns of the terminal.
    colour : bool
        Whether to write the terminal's colour codes; nothing is told by colour alone.
    """

    width: int
    colour: bool

    def paint(self, text: str, codes: str) -> str:
        """Wrap text in colour codes, if colour is wanted."""
        return paint(text, codes, colour=self.colour)

    def title(self, text: str) -> str:
        """Give the heading of a section."""
        return self.paint(text.upper(), BOLD)

    def outcome(self, outcome: Outcome) -> str:
        """Give an outcome's mark and word."""
        mark = MARKS[outcome]
        return self.paint(f"{mark.sign} {mark.word.lower()}", mark.ansi)

    def rule(self) -> str:
        """Give a heavy line across the page."""
        return "━" * self.width

    def bar(self, mark: Mark) -> str:
        """Give the bar that carries the verdict."""
        bar = pad(f"  {mark.sign} {mark.word}", self.width)
        return self.paint(bar, _BARS[mark.role]) if self.colour else bar.rstrip()

    def cautions(self, cautions: Iterable[str]) -> Iterator[str]:
        """Give the cautions that stand before everything else."""
        for caution in cautions:
            yield from wrap(caution, self.width, "! ")

    def points(self, sentences: Iterable[str]) -> Iterator[str]:
        """Give sentences as points of a list."""
        for sentence in sentences:
            yield from wrap(sentence, self.width, "- ")

    def findings(self, findings: Iterable[Finding]) -> Iterator[str]:
        """Give the findings with their remedies, the most severe first; advice stands apart, as notes."""
        listed = gravest_first(findings)
        notes = sum(finding.severity == "advice" for finding in listed)
        if notes < len(listed):
            yield self.title("what to fix")
        for place, finding in enumerate(listed, 1):
            if place == len(listed) - notes + 1:
                yield from ([""] if place > 1 else [])
                yield self.title("notes")
            _, sign, role = SEVERITY[finding.severity]
            lines = wrap(finding.text, self.width, f"{place:2d}. {sign} ")
            yield self.paint(lines[0], _COLOURS[role]) if finding.severity == "fail" else lines[0]
            yield from lines[1:]
            yield from wrap(finding.fix, self.width, "      Do: ", "      ")


def table_rows(rows: Sequence[Sequence[str]], widths: Sequence[int], codes: Sequence[str] = ()) -> list[list[str]]:
    """Lay rows out in columns; what is too long for its column goes on in the next line.

    Parameters
    ----------
    rows : sequence of sequence of str
    widths : sequence of int
        Of the columns, without the gaps between them.
    codes : sequence of str
        Colour codes of the last column, one a row; empty for none.

    Returns
    -------
    list of list of str
        The lines of each row.
    """
    laid = []
    for place, row in enumerate(rows):
        cells = [wrap(cell, width) for cell, width in zip(row, widths, strict=True)]
        height = max(map(len, cells))
        lines = []
        for step in range(height):
            parts = [pad(cell[step] if step < len(cell) else "", w) for cell, w in zip(cells, widths, strict=True)]
            line = (" " * _GAP).join(parts).rstrip()
            last = cells[-1][step] if step < len(cells[-1]) else ""
            if codes and codes[place] and last:
                line = line.removesuffix(last) + paint(last, codes[place], colour=True)
            lines.append(line)
        laid.append(lines)
    return laid


def column_widths(rows: Sequence[Sequence[str]], width: int, least: int = 12) -> list[int]:
    """Share a terminal's columns out: each column gets what its widest cell takes, and the first what is left.

    Parameters
    ----------
    rows : sequence of sequence of str
        Of equal length.
    width : int
        Columns of the terminal.
    least : int
        That the first column gets, though the others then are cut short too.
    """
    wanted = [max(columns(cell) for cell in column) for column in zip(*rows, strict=True)]
    left = width - sum(wanted[1:]) - _GAP * (len(wanted) - 1)
    if left < least:
        share = (width - least - _GAP * (len(wanted) - 1)) // max(1, len(wanted) - 1)
        return [least, *(min(want, max(1, share)) for want in wanted[1:])]
    return [min(wanted[0], left), *wanted[1:]]
