"""The report for a terminal: readable at a glance in 80 columns, with or without colour."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from benchrig.capture.joining import CLOCKS_JOINED
from benchrig.outcome import Outcome
from benchrig.report import wording
from benchrig.report.blocks import BOLD, NARROWEST, Paper, joined
from benchrig.report.grid import Block, grid, heading, is_by_eye, split
from benchrig.report.lettering import clean, columns, pad, shorten, shorten_middle, tight, wrap
from benchrig.report.marks import BY_EYE, MARKS
from benchrig.report.quantity import measured, number
from benchrig.verdict.record import BenchRecord, Cell, Health

_MOTION: Final = 13
"""Columns for a motion's name; longer ones are cut."""
_WAYS: Final = {"clockwise": "↻", "counter-clockwise": "↺"}
_CELL: Final = 13
"""Columns for a cell; the widest is ``? not shown*°``."""
_HEADING: Final = 14
"""Columns that a check's name may take at most."""
_NAME: Final = 40
"""Columns that a name from a file may take in running text."""


def report_text(record: BenchRecord, *, width: int = 80, colour: bool, brief: bool = False) -> str:
    """Write the report of a bench for a terminal.

    Parameters
    ----------
    record : BenchRecord
    width : int
        Columns of the terminal; under 40 it is taken as 40.
    colour : bool
        Whether to write the terminal's colour codes; nothing is told by colour alone.
    brief : bool
        Only the matrix, the verdict and what to fix.

    Returns
    -------
    str
        Lines of at most `width` columns, without a newline at its end.
    """
    page = _Page(record, Paper(max(width, NARROWEST), colour))
    if brief:
        return joined(page.matrix(), page.differences(), page.verdict(), page.findings())
    return joined(
        page.cautions(),
        page.head(),
        page.matrix(),
        page.differences(),
        page.verdict(),
        page.findings(),
        page.certainty(),
        page.unit(),
        page.health(),
    )


class _Page:
    """The sections of one report, each an iterator of lines."""

    def __init__(self, record: BenchRecord, paper: Paper) -> None:
        self.record = record
        self.paper = paper
        self.width = paper.width

    def cautions(self) -> Iterator[str]:
        return self.paper.cautions(self.record.cautions)

    def head(self) -> Iterator[str]:
        airframe, recording = self.record.airframe, self.record.recording
        sensor = airframe.sensor
        yield from self.entry("airframe", wording.airframe_sentence(airframe, shorten(airframe.name, _NAME)))
        yield from self.entry("sensor", wording.axes_in_words(sensor.body_from_sensor))
        yield from self.entry("", wording.place_in_words(sensor.lever_arm))
        operator = f" by {shorten(recording.operator, _NAME)}" if recording.operator else ""
        yield from self.entry(
            "capture", f"{shorten_middle(recording.manifest.name, _NAME)}, {wording.capture_sentence(self.record)}"
        )
        yield from self.entry("", f"recorded {wording.time_as_recorded(recording.recorded)}{operator}")

    def entry(self, name: str, text: str) -> list[str]:
        return wrap(text, self.width, pad(name, 10))

    def matrix(self) -> Iterator[str]:
        shown = False
        for part in ("sensing", "correction"):
            for block in split(grid(self.record, part), self.width - _MOTION, _column):
                yield from self.block(block)
                yield ""
                shown = True
        if not shown:
            yield "No motion was judged."
            return
        yield from wrap(_key(self.record), self.width, "key: ")

    def block(self, block: Block) -> Iterator[str]:
        names = "".join(pad(_heading(check), _column(check)) for check in block.checks)
        yield self.paper.title(pad(block.part, _MOTION)) + names.rstrip()
        for motion in block.motions:
            cells = "".join(self.cell(block.cells.get((motion, c)), _column(c)) for c in block.checks)
            yield (pad(_motion(motion), _MOTION) + cells).rstrip()

    def cell(self, cell: Cell | None, width: int) -> str:
        if cell is None:
            return " " * width
        mark = MARKS[cell.outcome]
        eye = BY_EYE if is_by_eye(cell) else ""
        word = mark.short if mark.short == mark.sign else f"{mark.sign} {mark.short}{eye}"
        if not cell.required and cell.outcome is not Outcome.NOT_APPLICABLE:
            word = f"{word}°"
        return self.paper.paint(word, mark.ansi) + " " * (width - columns(word))

    def differences(self) -> Iterator[str]:
        listed = wording.differences(self.record)
        if not listed:
            return
        yield self.paper.title("seen, not expected")
        for check, cells in listed:
            text = "; ".join(tight(f"{cell.motion}: {wording.difference(cell)}") for cell in cells)
            yield from wrap(text, self.width, pad(_heading(check), _HEADING + 1))

    def verdict(self) -> Iterator[str]:
        yield self.paper.rule()
        yield self.paper.bar(MARKS[self.record.verdict])
        yield from wrap(wording.verdict_sentence(self.record), self.width, "    ")
        for name, outcome, _ in wording.parts(self.record):
            yield f"    {pad(name, 12)}{self.paper.outcome(outcome)}"
        if not self.record.airframe.actuators:
            yield from wrap(wording.SENSOR_ALONE, self.width, "    ")
        yield self.paper.rule()

    def findings(self) -> Iterator[str]:
        return self.paper.findings(self.record.findings)

    def certainty(self) -> Iterator[str]:
        eye = wording.by_eye(self.record)
        said = [*wording.certainty(self.record), *([f"{BY_EYE} {eye}"] if eye else [])]
        motion = wording.next_motion(self.record)
        if said or motion:
            yield self.paper.title("how sure")
        for sentence in said:
            yield from wrap(sentence, self.width)
        if motion:
            yield self.paper.paint("\n".join(wrap(motion, self.width)), BOLD)

    def unit(self) -> Iterator[str]:
        yield self.paper.title("the unit")
        for sensor, wiring, declared in wording.wirings(self.record):
            yield from wrap(wording.wiring_sentence(sensor, wiring, declared), self.width)
        for sentence in (wording.misalignment_sentence(self.record), wording.lever_arm_sentence(self.record)):
            if sentence:
                yield from wrap(sentence, self.width)
        yield from self.delays()

    def delays(self) -> Iterator[str]:
        listed = [
            f"{shorten_middle(one.name, _HEADING)} {tight(measured(one.latency_ms, one.latency_uncertainty_ms, 'ms'))}"
            for one in self.record.actuators
            if one.latency_ms is not None
        ]
        if listed:
            yield from wrap(f"{', '.join(listed)}.", self.width, "Time to answer: ", "  ")
            return
        unsure = max((one.delay_uncertainty for one in self.record.recording.pulses.values()), default=0.0)
        if unsure >= CLOCKS_JOINED:
            reason = f"the pulses' own clock is known to ± {number(unsure * 1e3, 'ms')} only"
            yield from wrap(f"not told, since {reason}.", self.width, "Time to answer: ", "  ")

    def health(self) -> Iterator[str]:
        checks = self.record.health
        yield self.paper.title("the data")
        if not checks:
            yield "Nothing was checked."
        doubtful = [check for check in checks if check.outcome in {Outcome.FAIL, Outcome.NOT_SHOWN}]
        for check in doubtful:
            mark = MARKS[check.outcome]
            lines = wrap(_health(check), self.width, f"{mark.sign} {mark.short}  ")
            yield self.paper.paint(lines[0], mark.ansi)
            yield from lines[1:]
        passed = [check.check for check in checks if check.outcome is Outcome.PASS]
        if passed:
            yield from wrap("; ".join(passed), self.width, "= pass  ")
        for note in self.record.recording.history:
            yield from wrap(note, self.width, "- ")


def _motion(name: str) -> str:
    """Give a motion's name, the way of a turntable as a sign where the word is too long."""
    for word, sign in _WAYS.items():
        if columns(name) >= _MOTION and name.endswith(f" {word}"):
            name = f"{name.removesuffix(word)}{sign}"
    return shorten(name, _MOTION - 1)


def _heading(check: str) -> str:
    return shorten_middle(heading(check), _HEADING)


def _column(check: str) -> int:
    return max(_CELL, columns(_heading(check)) + 1)


def _health(check: Health) -> str:
    limit = f" (limit {number(check.limit, check.unit)})" if check.limit is not None else ""
    value = f" {number(check.value, check.unit)}" if check.value is not None else ""
    return f"{check.check}{value}{limit}: {check.reason}"


def _key(record: BenchRecord) -> str:
    used = {cell.outcome for cell in record.matrix}
    key = [
        f"{mark.sign} {mark.meaning}" if mark.short == mark.sign else f"{mark.sign} {mark.word.lower()}: {mark.meaning}"
        for outcome, mark in MARKS.items()
        if outcome in used
    ]
    if any(map(is_by_eye, record.matrix)):
        key.append(f"{BY_EYE} by eye")
    if any(not cell.required and cell.outcome is not Outcome.NOT_APPLICABLE for cell in record.matrix):
        key.append("° not required")
    motions = {_motion(cell.motion) for cell in record.matrix}
    key += [f"{sign} {word}" for word, sign in _WAYS.items() if any(motion.endswith(sign) for motion in motions)]
    return clean("; ".join(key))
