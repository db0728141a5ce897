"""The report as one HTML page that needs nothing else: style and pictures are inside it, and no script."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from benchrig.drawing.answers import SHOWN, answer_picture, answers, disturbance_key
from benchrig.drawing.plan import axes_picture, plan_picture
from benchrig.geometry.turns import AXIS_NAMES
from benchrig.outcome import Outcome
from benchrig.report import wording
from benchrig.report.grid import Block, differs, grid, heading, is_by_eye
from benchrig.report.marks import BY_EYE, MARKS, Mark
from benchrig.report.quantity import measured, number
from benchrig.report.rendering import listed_findings, markup, render
from benchrig.report.svg import svg
from benchrig.report.traces import trace_svgs
from benchrig.verdict.record import ActuatorJudgement, BenchRecord, Cell, Health, WiringFound

if TYPE_CHECKING:
    from markupsafe import Markup


def report_page(record: BenchRecord) -> str:
    """Write the report of a bench as one self-contained HTML page.

    Every text that came from a file is cleaned and escaped; the page holds no script and asks for nothing outside.

    Returns
    -------
    str
        HTML 5, to be stored as UTF-8.
    """
    return render("page.html", _context(record))


def _context(record: BenchRecord) -> dict[str, Any]:
    return {
        "record": record,
        "mark": MARKS[record.verdict],
        "sentence": wording.verdict_sentence(record),
        "parts": [(name, MARKS[outcome], asked) for name, outcome, asked in wording.parts(record)],
        "certainty": wording.certainty(record),
        "by_eye": wording.by_eye(record),
        "next_motion": wording.next_motion(record),
        "sensor_alone": None if record.airframe.actuators else wording.SENSOR_ALONE,
        "blocks": [_table(grid(record, part)) for part in ("sensing", "correction")],
        "key": [mark for outcome, mark in MARKS.items() if any(c.outcome is outcome for c in record.matrix)],
        "eye": BY_EYE,
        **listed_findings(record.findings),
        "plan": markup(svg(plan_picture(record.airframe), "plan")),
        "axes": _axes(record),
        "wirings": _wirings(record),
        "place": wording.place_in_words(record.airframe.sensor.lever_arm),
        "answers": _answers(record),
        "strips": [(title, markup(drawn)) for title, drawn in trace_svgs(record.traces)],
        "health": [_health(check) for check in record.health],
        "actuators": [_actuator(judgement) for judgement in record.actuators],
        "axis_names": AXIS_NAMES,
        "provenance": _provenance(record),
    }


def _table(block: Block) -> dict[str, Any]:
    rows = [(motion, [_cell(block.cells.get((motion, check))) for check in block.checks]) for motion in block.motions]
    return {"part": block.part, "checks": [heading(check) for check in block.checks], "rows": rows}


def _cell(cell: Cell | None) -> dict[str, Any] | None:
    if cell is None:
        return None
    return {
        "mark": MARKS[cell.outcome],
        "eye": is_by_eye(cell),
        "optional": not cell.required and cell.outcome is not Outcome.NOT_APPLICABLE,
        "difference": wording.difference(cell) if differs(cell) else None,
        "size": measured(cell.size, cell.uncertainty, cell.unit) if cell.size is not None else None,
        "reason": cell.reason,
        "tell": cell.outcome is Outcome.NOT_SHOWN,
    }


def _axes(record: BenchRecord) -> list[tuple[str, Markup]]:
    """Draw the unit as declared and as each sensor was found."""
    declared = record.airframe.sensor.body_from_sensor
    drawn = [("unit, declared", markup(svg(axes_picture("The unit as declared", declared, "declared"), "declared")))]
    compass = record.airframe.magnetometer
    for sensor, wiring, _ in wording.wirings(record):
        if sensor == "magnetometer" and compass is not None:
            picture = axes_picture("The magnetometer as declared", compass.body_from_sensor, "declared")
            drawn.append(("magnetometer, declared", markup(svg(picture, "declared-magnetometer"))))
        if wiring.found is not None:
            picture = axes_picture(f"The {sensor} as found", wiring.found, "found")
            drawn.append((f"{sensor}, {_found(wiring)}", markup(svg(picture, f"found-{sensor}"))))
    return drawn


def _found(wiring: WiringFound) -> str:
    """Say what the picture of a wiring is a picture of."""
    if not wording.is_named(wiring):
        return "one of several"
    return "most likely" if wiring.outcome is Outcome.NOT_SHOWN else "found"


def _wirings(record: BenchRecord) -> list[tuple[Mark | None, str]]:
    said: list[tuple[Mark | None, str]] = [
        (MARKS[wiring.outcome], wording.wiring_sentence(sensor, wiring, declared))
        for sensor, wiring, declared in wording.wirings(record)
    ]
    more = (wording.misalignment_sentence(record), wording.lever_arm_sentence(record))
    return said + [(None, sentence) for sentence in more if sentence]


def _answers(record: BenchRecord) -> list[dict[str, Any]]:
    if not record.airframe.actuators:
        return []
    return [
        {
            "motion": motion,
            "key": disturbance_key(motion),
            "drawn": markup(svg(answer_picture(record.airframe, motion), f"answer-{place}")),
            "answers": answers(record.airframe, motion),
        }
        for place, motion in enumerate(SHOWN)
    ]


def _health(check: Health) -> dict[str, Any]:
    return {
        "check": check.check,
        "mark": MARKS[check.outcome],
        "value": number(check.value, check.unit),
        "limit": "none" if check.limit is None else number(check.limit, check.unit),
        "reason": check.reason,
    }


def _actuator(judgement: ActuatorJudgement) -> dict[str, Any]:
    response, spread = judgement.response or {}, judgement.response_uncertainty or {}
    return {
        "name": judgement.name,
        "mark": MARKS[judgement.outcome],
        "finding": judgement.finding + (f" with {judgement.swapped_with}" if judgement.swapped_with else ""),
        "latency": measured(judgement.latency_ms, judgement.latency_uncertainty_ms, "ms"),
        "response": [measured(response.get(axis), spread.get(axis), "µs/°") for axis in AXIS_NAMES],
        "reason": judgement.reason,
    }


def _provenance(record: BenchRecord) -> list[tuple[str, str, bool]]:
    """List what the report was made from: name, value, and whether the value is a digest."""
    airframe, recording = record.airframe, record.recording
    rows = [
        ("Airframe file", airframe.source.file.name, False),
        ("SHA-256", airframe.source.sha256, True),
        ("Capture", f"{recording.manifest.name} with {recording.stream.name}", False),
        ("SHA-256, stream and manifest", recording.sha256, True),
        ("Samples", wording.capture_sentence(record), False),
        ("Recorded", wording.time_as_recorded(recording.recorded), False),
        ("Operator", recording.operator or "not recorded", False),
    ]
    if recording.temperature_at_bench is not None:
        rows.append(("Temperature", number(recording.temperature_at_bench, "°C"), False))
    rows += [("On reading", step, False) for step in recording.history]
    rows += [(name.replace("_", " "), version, False) for name, version in record.software.items()]
    return rows
