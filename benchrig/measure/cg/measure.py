"""The centre of gravity from hangs and weighings, and places measured from it."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig import __version__
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import Vector
from benchrig.measure.cg.estimate import LARGEST_TOLD, CentreOfGravity, axis_reason, estimate, widest_angle
from benchrig.measure.cg.figures import figures_of
from benchrig.measure.cg.findings import findings_of
from benchrig.measure.cg.hanging import BIAS, CALIBRATED_BIAS, MOUNTING
from benchrig.measure.cg.meeting import APART, DOUBTFUL
from benchrig.measure.cg.places import GOOD_ENOUGH, cg_quantities, place_entry, place_quantities, point_quantities
from benchrig.measure.cg.reliance import resting_on
from benchrig.measure.cg.worksheet import Hang, Hung, Weighing, Worksheet
from benchrig.measure.measurement import Evidence, Measurement, Quantity

CAUTIONS: Final = (
    "A hanging airframe swings and can fall: hang it low, over something soft, on a cord that bears it many times.",
    "Take the blades or propellers off and unplug the motor before it hangs or stands on a scale.",
    "Put the battery where it flies, fixed, and unplugged: the centre of gravity is that of the airframe as it flies.",
)
"""Common practice, with no published source; the battery's weight counts, its current does not."""

_AXES: Final = ("forward and aft", "right and left", "down and up")


def measure_cg(airframe: Airframe, worksheet: Worksheet) -> Measurement:
    """Find the centre of gravity, and give every measured place from it.

    Parameters
    ----------
    airframe : Airframe
        Whose declared places are judged.
    worksheet : Worksheet

    Returns
    -------
    Measurement
        Without values where the hangs and weighings do not meet in one point.
    """
    found = estimate(airframe, worksheet)
    places = [q for place in worksheet.places for q in place_quantities(airframe, found, place)]
    entries = [place_entry(airframe, found, place) for place in worksheet.places]
    return Measurement(
        kind="cg",
        title="Centre of gravity",
        airframe_name=airframe.name,
        airframe=Evidence(airframe.source.file, airframe.source.sha256),
        evidence=worksheet.evidence,
        quantities=(*cg_quantities(found), *places, *point_quantities(found), *_check(found)),
        findings=findings_of(found, places),
        figures=figures_of(found),
        entries=tuple(entry for entry in entries if entry is not None),
        unknown=_unknown(found),
        method=_method(found),
        cautions=CAUTIONS,
        software={"benchrig": __version__},
    )


def _check(found: CentreOfGravity) -> list[Quantity]:
    """Say how well everything meets, where anything checks it."""
    solution = found.solution
    if solution is None or solution.freedom < 1:
        return []
    reason = (
        f"χ² = {solution.chi_square:.1f} with {_counted(solution.freedom, 'degree')} of freedom; "
        f"below {APART:g} the lines do not meet"
    )
    return [Quantity("chance of a worse fit by reading errors alone", round(solution.chance, 3), None, "", reason)]


def _unknown(found: CentreOfGravity) -> tuple[str, ...]:
    told = found.from_cg(None)[0]
    sentences: list[str] = []
    if found.holds:
        for axis, word in enumerate(_AXES):
            if np.isnan(told[axis]):
                sentences.append(f"The CG is not told {word}: {axis_reason(found, axis)}.")
    if found.solution is not None and found.solution.freedom < 1:
        sentences.append(
            "Nothing checks the result: a point or an angle that was written down wrongly would not show. "
            "One more hang, from another point that turns it differently, does."
        )
    else:
        sentences += _resting(found, told)
    if found.worksheet.weighings and found.worksheet.mass is None and len(found.worksheet.weighings) == 1:
        sentences.append(
            "Whether the scales were zeroed cannot be told: weigh the whole airframe on one scale too (mass_g)."
        )
    sentences.append(
        "A distance that all hangs share wrongly, as of the reference itself, does not show here: it cancels in places "
        "measured from the same reference, and in no others."
    )
    return tuple(sentences)


def _resting(found: CentreOfGravity, told: Vector) -> list[str]:
    """Name every told direction that no second hang or weighing checks."""
    known = [(word, resting_on(found.pillars[axis])) for axis, word in enumerate(_AXES) if np.isfinite(told[axis])]
    return [f"The CG, {word}, {on}: a wrong point or reading there would not show." for word, on in known if on]


def _method(found: CentreOfGravity) -> tuple[str, ...]:
    worksheet, accuracy = found.worksheet, found.worksheet.accuracy
    hangs = [item for item in found.items if isinstance(item, Hang)]
    weighings = [item for item in found.items if isinstance(item, Weighing)]
    used = _used(len(hangs), len(weighings))
    good = f"{accuracy.distance * 1e3:g} mm, {np.degrees(accuracy.angle):g}° and {accuracy.mass * 1e3:g} g"
    sentences = [
        used,
        "The CG lies on the vertical through the point of each hang, and over the balance point of each weighing.",
        f"Readings are good to {good} (standard deviations); stated accuracies count as two of them.",
        f"Below a chance of {APART:g} of a worse fit no value is given; below {DOUBTFUL:g} uncertainties grow with it.",
        f"An axis with a standard deviation over {LARGEST_TOLD * 1e3:g} mm is not told.",
        f"A line for the airframe file needs {GOOD_ENOUGH * 1e3:g} mm; a direction not told keeps what is declared.",
    ]
    if accuracy.assumed:
        sentences.append(f"Not stated, and taken as usual: {', '.join(accuracy.assumed)}.")
    if len(hangs) > 1:
        widest = widest_angle([found.known[hang.name].down for hang in hangs])
        sentences.append(f"The plumb lines cross at up to {widest:.0f}°.")
    if any(isinstance(hang.reading, Hung) for hang in hangs):
        sentences.append(_captured(found, worksheet))
    return tuple(sentences)


def _captured(found: CentreOfGravity, worksheet: Worksheet) -> str:
    names = ", ".join(h.name for h in worksheet.hangs if isinstance(h.reading, Hung) and h.name in found.known)
    return (
        f"The accelerometer gave the vertical of {names}: its bias ({BIAS * 1e3:g} mg, or {CALIBRATED_BIAS * 1e3:g} mg "
        f"once calibrated), its scale and its mounting ({np.degrees(MOUNTING):g}°, standard deviations) are shared by "
        "these hangs."
    )


def _used(hangs: int, weighings: int) -> str:
    parts = [_counted(n, word) for n, word in ((hangs, "hang"), (weighings, "weighing")) if n]
    if hangs + weighings == 0:
        return "No hang and no weighing could be used."
    return f"{' and '.join(parts)} {'was' if hangs + weighings == 1 else 'were'} used, by least squares."


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
