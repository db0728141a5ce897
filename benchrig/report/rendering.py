"""Pages made from templates: every text that came from a file is cleaned and escaped on its way."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final

from benchrig.outcome import Finding, gravest_first
from benchrig.report.lettering import clean
from benchrig.report.marks import SEVERITY

if TYPE_CHECKING:
    from markupsafe import Markup

_CODE: Final = re.compile("`([^`]+)`")


def render(template: str, context: Mapping[str, Any]) -> str:
    """Fill a template of this package.

    Returns
    -------
    str
        HTML 5, to be stored as UTF-8; a page that needs nothing else and runs nothing.
    """
    import jinja2  # noqa: PLC0415 - only pages need it, and it takes longer to load than a text report to write

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("benchrig.report", "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_finalize,
    )
    environment.filters["prose"] = _prose
    return environment.get_template(template).render(context)


def markup(text: str) -> Markup:
    """Mark text as drawn by this program, with every label in it escaped there."""
    from markupsafe import Markup  # noqa: PLC0415 - comes with jinja2

    return Markup(text)  # noqa: S704 - drawn by this program, with its labels escaped there


def _prose(text: str) -> Markup:
    """Clean and escape a sentence, and set what stands between backticks as code."""
    from markupsafe import escape  # noqa: PLC0415 - comes with jinja2

    return markup(_CODE.sub(r"<code>\1</code>", str(escape(clean(text)))))


def _finalize(value: object) -> object:
    """Clean plain text on its way to the page; markup made here is left as it is."""
    return clean(value) if type(value) is str else value


def listed_findings(findings: Iterable[Finding]) -> dict[str, Any]:
    """Give what is to be mended, and the advice apart from it, as notes; each the most severe first."""
    listed = [(*SEVERITY[finding.severity][1:], finding) for finding in gravest_first(findings)]
    return {
        "findings": [one for one in listed if one[-1].severity != "advice"],
        "notes": [one for one in listed if one[-1].severity == "advice"],
    }
