"""What went wrong when the centre of gravity was measured, in the builder's words, with what to do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from benchrig.measure.cg.estimate import AXIS_WORDS, CentreOfGravity, in_words
from benchrig.measure.cg.meeting import APART
from benchrig.measure.cg.worksheet import Hang, Hung, Mark, Weighing
from benchrig.measure.measurement import Quantity
from benchrig.outcome import Finding, Outcome, gravest_first

OFF_CENTRE: Final = 0.010
"""m: a CG further to one side than this, and surely so, is worth a word (common practice, no published source)."""

FEWEST_FOR_CERTAIN: Final = 4
"""With fewer hangs and weighings it may be that none of them can be named as the wrong one."""

_SURE: Final = 3.0
_PART: Final = 0.1  # of a miss: smaller parts of it are left out of the sentence


def findings_of(estimate: CentreOfGravity, quantities: Sequence[Quantity]) -> tuple[Finding, ...]:
    """Give all findings, the gravest first.

    Parameters
    ----------
    estimate : CentreOfGravity
    quantities : sequence of Quantity
        Of the places that are declared.
    """
    found = [
        *_places(quantities),
        *_coarse(quantities),
        *_apart(estimate),
        *(_headstand(hang) for hang in estimate.headstands),
        *_unbalanced(estimate),
        *(_refused(name, reason) for name, reason in estimate.refused.items()),
        *_off_centre(estimate),
    ]
    return gravest_first(found)


def _places(quantities: Sequence[Quantity]) -> list[Finding]:
    failed = [q for q in quantities if q.outcome is Outcome.FAIL]
    found: list[Finding] = []
    for place in dict.fromkeys(_place_of(q) for q in failed):
        parts = [q for q in failed if q.name.startswith(f"{place} from CG, ")]
        told = ", ".join(f"{_told(q)} (declared: {_declared(q)})" for q in parts)
        mirrored = [q for q in parts if _is_mirrored(q)]
        hint = " The distance is right and its direction is not: two words are exchanged." if mirrored else ""
        fix = (
            "Measure again from the same points. If it stays so, correct position_mm, or let `--write --force` do it; "
            "if the battery or a heavy part was moved since, the new numbers are the right ones."
        )
        found.append(Finding("place-differs", "fail", f"The {place} is not where it is declared: {told}.{hint}", fix))
    return found


def _coarse(quantities: Sequence[Quantity]) -> list[Finding]:
    """Say of places that were measured too coarsely for what is declared of them what would settle it."""
    failed = {_place_of(q) for q in quantities if q.outcome is Outcome.FAIL}
    open_ones = [q for q in quantities if q.outcome is Outcome.NOT_SHOWN and q.value is not None]
    found: list[Finding] = []
    for place in dict.fromkeys(_place_of(q) for q in open_ones if _place_of(q) not in failed):
        parts = [q for q in open_ones if _place_of(q) == place]
        told = ", ".join(f"{_told(q)}, ± {q.uncertainty or 0.0:.1f} mm (declared: {_declared(q)})" for q in parts)
        text = f"The {place} is not measured finely enough to judge where it is declared: {told}."
        fix = (
            "Hang it from one more point that turns it further, measure the distances more finely, and say under "
            "[accuracy] how good they are; or declare in position_mm what was measured, and the tolerance you need."
        )
        found.append(Finding("place-too-coarse", "advice", text, fix))
    return found


def _place_of(quantity: Quantity) -> str:
    return quantity.name.rpartition(" from CG, ")[0]


def _told(quantity: Quantity) -> str:
    # what follows a semicolon is about how sure it is
    return quantity.reason.partition("; ")[0]


def _declared(quantity: Quantity) -> str:
    # a distance is told along the word it was declared with
    return f"{quantity.declared or 0.0:g} mm {quantity.name.rpartition(', ')[2]}"


def _is_mirrored(quantity: Quantity) -> bool:
    if quantity.value is None or quantity.declared is None or quantity.uncertainty is None:
        return False
    return abs(quantity.value + quantity.declared) <= max(2 * quantity.uncertainty, 0.1 * abs(quantity.declared))


def _apart(estimate: CentreOfGravity) -> list[Finding]:
    solution = estimate.solution
    if solution is None or solution.chance >= APART:
        return []
    what = " and ".join(
        word
        for word, kind in (("hangs", Hang), ("weighings", Weighing))
        if any(isinstance(item, kind) for item in estimate.items)
    )
    odds = f"χ² = {solution.chi_square:.0f} where about {solution.freedom} is usual"
    text = f"These {what} do not meet in one point ({odds}), so no centre of gravity is given."
    told, fix = _suspicion(estimate)
    return [Finding("hangs-do-not-meet", "not shown", text + told, fix)]


def _suspicion(estimate: CentreOfGravity) -> tuple[str, str]:
    """Say which of them is wrong, as far as that can be told, and what to do."""
    suspects = estimate.suspects
    if not suspects:
        return _would_fit(estimate.slips), _unnamed(estimate)
    if len(suspects) > 1:
        names = " or ".join(_called(suspect.item) for suspect in suspects)
        slips = [f'in "{s.item.name}" {slip}' for s in suspects for slip in s.slips]
        text = f" One of these is wrong, since all others meet without it: {names}.{_would_fit(slips)}"
        return text, "Look at these first; one more hang, from another point, will show which of them is wrong."
    (suspect,) = suspects
    miss = np.where(np.abs(suspect.miss) < _PART * np.linalg.norm(suspect.miss), 0.0, suspect.miss)
    if isinstance(suspect.item, Weighing):
        text = f" All others meet without {_called(suspect.item)}: it balances {in_words(miss)} of where they do."
        fix = "Look at the places of its supports, at which load stood where, and at the scale's zero."
        return text + _would_fit(suspect.slips), fix
    text = (
        f" All others meet without {_called(suspect.item)}: its line passes {in_words(miss)} of where they do. "
        f"A point {in_words(-miss)} of the one written would explain it."
    )
    fix = "Look at the point it really hung from and at where its point_mm starts; then hang it there again."
    return text + _would_fit(suspect.slips), fix


def _called(item: Hang | Weighing) -> str:
    return f'the {"hang" if isinstance(item, Hang) else "weighing"} "{item.name}" ({item.place})'


def _would_fit(slips: Sequence[str]) -> str:
    return f" It would fit if {', or if '.join(slips)}." if slips else ""


def _unnamed(estimate: CentreOfGravity) -> str:
    fix = "Check the points, where each distance starts, and the words for up and down, right and left."
    if len(estimate.items) < FEWEST_FOR_CERTAIN:
        return f"{fix} One more hang, from another point, will show which of them is wrong."
    return f"{fix} More than one of them does not fit: measure all of them again."


def _headstand(hang: Hang) -> Finding:
    text = (
        f'In the hang "{hang.name}" ({hang.place}) the centre of gravity would stand above the point it hung from, '
        "and nothing hangs like that."
    )
    if isinstance(hang.reading, Mark):
        fix = (
            "The mark of plumb_mark_mm lies below the point on the plumb line: look whether the two are exchanged, at "
            "up and down in plumb_mark_mm and point_mm, and at where they start."
        )
    elif isinstance(hang.reading, Hung):
        fix = "Look at up and down in its point_mm, at where that starts, and at the unit's axes with `benchrig check`."
    else:
        fix = "Look at its words for nose down and nose up, at up and down in its point_mm, and at where that starts."
    return Finding("hang-impossible", "not shown", text, fix)


def _unbalanced(estimate: CentreOfGravity) -> list[Finding]:
    if not estimate.unbalanced:
        return []
    sums = ", ".join(f'"{w.name}" {w.mass * 1e3:.0f} g' for w in estimate.unbalanced)
    mass = estimate.worksheet.mass
    if mass is None:
        against = "these weighings of one airframe do not agree"
    else:
        against = f"the airframe weighs {mass * 1e3:.0f} g"
    text = f"The loads do not add up: {sums}; {against}. They are not used."
    fix = (
        "Zero the scale, or write what it shows empty as empty_grams; let nothing but the scales touch the airframe; "
        "put the battery in for all weighings alike."
    )
    return [Finding("loads-do-not-add-up", "not shown", text, fix)]


def _refused(name: str, reason: str) -> Finding:
    fix = "Let it hang until it is nearly still, shielded from wind, and record 5 s more."
    return Finding("hang-not-used", "not shown", f'The capture of the hang "{name}" is not used: {reason}.', fix)


def _off_centre(estimate: CentreOfGravity) -> list[Finding]:
    value, sd = estimate.from_cg(None)
    aside = -value[1]
    if np.isnan(aside) or abs(aside) < max(OFF_CENTRE, _SURE * sd[1]):
        return []
    reference = estimate.worksheet.reference
    word = AXIS_WORDS[1][0 if aside > 0 else 1]
    text = f"The centre of gravity lies {abs(aside) * 1e3:.0f} mm {word} of {reference}."
    fix = (
        f"If {reference} is in the airframe's middle plane, look whether right and left are exchanged in the "
        "worksheet, and whether a heavy part sits on one side."
    )
    return [Finding("cg-off-centre", "advice", text, fix)]
