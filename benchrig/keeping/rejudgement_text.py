"""A rejudgement for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from benchrig.keeping.change_lines import ARROW, declared_lines, judged_lines, name_of
from benchrig.keeping.rejudgement import Rejudgement
from benchrig.outcome import Outcome
from benchrig.report.blocks import NARROWEST, Paper, joined
from benchrig.report.lettering import clean, shorten_middle, wrap
from benchrig.report.marks import MARKS
from benchrig.report.quantity import odds
from benchrig.report.text import report_text

NOTHING: str = "Nothing changed, to the last digit."
DECLARED_OTHERWISE: str = (
    "It passes because it is declared otherwise now. That is right only if the airframe is as the file now says: look "
    "at the unit and at every actuator that was declared otherwise, and set the unit itself to the same."
)
_FILE = 48
"""Columns that a file's name may take."""


def rejudgement_text(again: Rejudgement, *, width: int = 80, colour: bool) -> str:
    """Write what was judged again, what changed, and the new verdict with its matrix and findings.

    Parameters
    ----------
    again : Rejudgement
    width : int
        Columns of the terminal.
    colour : bool
        Whether to write the terminal's colour codes; nothing is told by colour alone.

    Returns
    -------
    str
        Lines of at most `width` columns, without a newline at its end.
    """
    paper = Paper(max(width, NARROWEST), colour)
    changes = joined(
        paper.cautions(again.record.cautions),
        _head(again, paper),
        _declared(again, paper),
        _judged(again, paper),
        _sum(again, paper),
    )
    report = report_text(again.record, width=width, colour=colour, brief=True)
    return f"{changes}\n\n{report}"


def _head(again: Rejudgement, paper: Paper) -> Iterator[str]:
    yield paper.title("judged again")
    name, verdict = shorten_middle(again.stored.file.name, _FILE), MARKS[again.before.verdict].word
    yield from wrap(f"{name}, which said {verdict}", paper.width, name_of("result"))
    capture = shorten_middle(again.record.recording.manifest.name, _FILE)
    yield from wrap(f"{capture}, as it was judged, byte for byte", paper.width, name_of("capture"))
    yield from wrap(_declaration(again), paper.width, name_of("airframe"))
    yield from wrap(_software(again), paper.width, name_of("software"))
    for note in again.record.recording.history:
        yield from wrap(note, paper.width, name_of("on reading"))


def _declaration(again: Rejudgement) -> str:
    name = shorten_middle(again.record.airframe.source.file.name, _FILE)
    if again.same_declaration:
        return f"{name}, as it was, byte for byte"
    if again.declared is None:
        return f"{name}, which is another than then; the result is too old to say what was declared then"
    return f"{name}, {'which declares the same' if not again.declared else 'which declares otherwise'}"


def _software(again: Rejudgement) -> str:
    told = [f"{name} {was or 'none'} {ARROW} {now or 'none'}" for name, (was, now) in again.software.items()]
    return clean("; ".join(told)) if told else f"benchrig {again.record.software['benchrig']}, as then"


def _declared(again: Rejudgement, paper: Paper) -> Iterator[str]:
    if again.declared:
        yield paper.title("declared otherwise")
        yield from declared_lines(paper, again.declared)


def _judged(again: Rejudgement, paper: Paper) -> Iterator[str]:
    if again.judged:
        yield paper.title("judged otherwise")
        yield from judged_lines(paper, again.judged)
    was, now = (_bound(check.wrong_pass_bound) for check in (again.before, again.after))
    if was != now:
        yield from wrap(f"{was} {ARROW} {now}", paper.width, name_of("a wrong pass"))


def _bound(bound: float | None) -> str:
    return "no bound" if bound is None else f"less likely than {odds(bound)}"


def _sum(again: Rejudgement, paper: Paper) -> Iterator[str]:
    yield from wrap(changed_in_words(again), paper.width)
    if again.passes_by_declaration:
        yield from wrap(DECLARED_OTHERWISE, paper.width)


def changed_in_words(again: Rejudgement) -> str:
    """Sum up in a sentence or two what changed."""
    if again.nothing_changed:
        return NOTHING
    numbers = len(again.values)
    count = "1 value differs" if numbers == 1 else f"{numbers} values differ"
    if again.only_last_digits:
        return f"Every judgement is the same; {count} in the last digits, as another processor or library gives them."
    if not again.judged:
        return f"Every judgement is the same; {count}."
    verdicts = (again.before.verdict, again.after.verdict)
    if verdicts[0] is verdicts[1]:
        return f"The verdict is the same: {MARKS[verdicts[1]].word}; {count}."
    return f"The verdict was {MARKS[verdicts[0]].word} and is {MARKS[verdicts[1]].word}; {count}.{_why(again)}"


def _why(again: Rejudgement) -> str:
    """Say what the change of a verdict comes from, where that is sure."""
    if again.after.verdict is Outcome.PASS and again.passes_by_declaration:
        return ""
    if again.software and again.declared == ():
        return " The declaration is the same: the versions above judge otherwise."
    return ""
