"""A measurement's report as one HTML page that needs nothing else, in the looks of the bench report."""

from __future__ import annotations

from typing import Any

from benchrig.measure.measurement import Measurement, Quantity
from benchrig.outcome import Outcome
from benchrig.report import measurement_wording as wording
from benchrig.report.airframe_lines import airframe_lines
from benchrig.report.lettering import clean
from benchrig.report.marks import MARKS
from benchrig.report.plots import plot_svg
from benchrig.report.rendering import listed_findings, markup, render


def measurement_page(measurement: Measurement) -> str:
    """Write the report of a measurement as one self-contained HTML page.

    Every text that came from a file is cleaned and escaped; the page holds no script and asks for nothing outside.

    Returns
    -------
    str
        HTML 5, to be stored as UTF-8.
    """
    return render("measurement.html", _context(measurement))


def _context(measurement: Measurement) -> dict[str, Any]:
    quantities = measurement.quantities
    return {
        "measurement": measurement,
        "mark": wording.mark_of(measurement),
        "sentence": wording.outcome_sentence(measurement),
        "cautions_listed": wording.cautions_of(measurement),
        **listed_findings(measurement.findings),
        "quantities": [_quantity(quantity) for quantity in quantities],
        "has_declared": any(quantity.declared is not None for quantity in quantities),
        "has_outcome": any(quantity.outcome is not Outcome.NOT_APPLICABLE for quantity in quantities),
        "rules": wording.limits_of(quantities),
        "figures": [
            (figure.title, figure.description, markup(plot_svg(figure, f"figure-{place}")))
            for place, figure in enumerate(measurement.figures)
        ],
        "lines": markup(_pasted(measurement)) if measurement.entries else None,
        "provenance": _provenance(measurement),
    }


def _quantity(quantity: Quantity) -> dict[str, Any]:
    return {
        "name": quantity.name,
        "value": wording.value_of(quantity),
        "told": wording.is_told(quantity),
        "declared": wording.declared_of(quantity),
        "mark": MARKS[quantity.outcome],
        "judged": quantity.outcome is not Outcome.NOT_APPLICABLE,
        "reason": quantity.reason,
    }


def _pasted(measurement: Measurement) -> str:
    """Give the lines for the airframe file as one text that keeps its line ends."""
    from markupsafe import escape  # noqa: PLC0415 - comes with jinja2, which only pages need

    blocks = []
    for header, lines in airframe_lines(measurement.entries):
        written = [header]
        for line, comment in lines:
            written += [f"# {comment}"] if comment else []
            written.append(line)
        blocks.append("\n".join(written))
    return str(escape("\n\n".join(blocks)))


def _provenance(measurement: Measurement) -> list[tuple[str, str, bool]]:
    """List what the report was made from: name, value, and whether the value is a digest."""
    rows = []
    for name, evidence in (("Airframe file", measurement.airframe), *(("Evidence", e) for e in measurement.evidence)):
        rows += [(name, evidence.file.name, False), (f"SHA-256 of {clean(evidence.file.name)}", evidence.sha256, True)]
    return rows + [(name.replace("_", " "), version, False) for name, version in measurement.software.items()]
