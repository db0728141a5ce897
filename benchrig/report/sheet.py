"""The bench sheet: what was declared, measured and judged of one airframe, and what is still open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from benchrig.cautions import CAUTIONS
from benchrig.declaration.airframe import Airframe
from benchrig.outcome import Outcome
from benchrig.report.sheet_content import Sheet, given, kind_of
from benchrig.report.sheet_open import STEPS, advice_of, open_points, outcome_of
from benchrig.report.sheet_sections import sections, shown
from benchrig.report.sheet_signs import sign_table
from benchrig.report.stored_check import StoredCheck
from benchrig.report.stored_result import StoredResult

TICK: Final = "An empty box is yours: look, then tick."
SIGNS_KEY: Final = (
    "Which own axis of the unit moves, and which way, when the airframe is turned so; and the way each actuator "
    "must go against it. The opposite way is wrong."
)


def bench_sheet(airframe: Airframe, results: Sequence[StoredResult]) -> Sheet:
    """Lay out the sheet of an airframe.

    Parameters
    ----------
    airframe : Airframe
    results : sequence of StoredResult
        Checks and measurements, in any order. Those made for another airframe file are not counted: they are named
        as due again.
    """
    parted = given(tuple(results), airframe.source.sha256)
    rows, signs = sections(airframe, parted), sign_table(airframe, parted)
    points = open_points(airframe, parted, rows, signs)
    outcome = outcome_of(airframe, parted, points)
    return Sheet(
        name=airframe.name,
        kind=airframe.kind,
        file=airframe.source.file.name,
        digest=airframe.source.sha256,
        outcome=outcome,
        sentence=_sentence(outcome, len(points)),
        cautions=CAUTIONS,
        open_points=points,
        advice=advice_of(parted, points),
        sections=rows,
        signs=signs,
        sources=tuple((result.file.name, _source(result)) for result in results),
    )


def _sentence(outcome: Outcome, count: int) -> str:
    if outcome is Outcome.PASS:
        return "Everything that this bench asks of the airframe is shown."
    points = "1 point is" if count == 1 else f"{count} points are"
    if outcome is Outcome.FAIL:
        return f"Something is not as declared, or not as it must be; {points} open."
    return f"This is not a pass: {points} open."


def _source(result: StoredResult) -> str:
    content = result.content
    evidence = (content.capture,) if isinstance(content, StoredCheck) else content.evidence
    parts = [f"{STEPS[kind_of(result)].name}: {result.outcome.value}"]
    parts += [f"{one.file.name} {one.sha256[:8]}" for one in evidence]
    if isinstance(content, StoredCheck):
        parts += [f"recorded {content.recorded}"] if content.recorded else []
        parts += [f"by {content.operator}"] if content.operator else []
    else:
        more = len(content.quantities) - len(shown(content))
        parts += [f"{more} more value{'s' if more > 1 else ''} in it"] if more else []
    return ", ".join(parts)
