"""Each actuator on its own and all of them together: reversed, still, swapped, or mixed for another layout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.declaration.actuators import Actuator
from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import AXIS_NAMES, TURNS
from benchrig.verdict.correction import EFFECT_COUNTS, Correction, is_still
from benchrig.verdict.limits import AT_ENDS, LATEST_ANSWER, SHORTEST_TRAVEL
from benchrig.verdict.record import ActuatorJudgement, Cell, Outcome, worst
from benchrig.verdict.response import Response

_ALIKE: Final = 0.8  # cosine between an answer and the one another cause would give
_DIFFERENT: Final = 0.7
_TURNED_PLATE: Final = np.radians(12.0)
_LATENCY_KNOWN: Final = 0.005  # s
_PLATE_SERVOS: Final = 2


@dataclass(frozen=True, slots=True)
class Pattern:
    """What all actuators together show.

    Attributes
    ----------
    axes_reversed : tuple of str
        Axes about which every actuator answers the wrong way, and more than one does.
    plate_turned : float or None
        deg clockwise by which the unit's layout of the plate differs from the declared one.
    """

    axes_reversed: tuple[str, ...]
    plate_turned: float | None


def judge_actuators(
    actuators: Sequence[Actuator], correction: Correction
) -> tuple[tuple[ActuatorJudgement, ...], Pattern]:
    """Name what each actuator did, and what all did in common.

    Returns
    -------
    judgements : tuple of ActuatorJudgement
    pattern : Pattern
    """
    answers = _answers(actuators, correction.responses)
    pattern = _pattern(actuators, answers)
    judgements = []
    for actuator in actuators:
        cells = [c for c in correction.cells if c.check == f"actuator:{actuator.name}"]
        response = correction.responses.get(actuator.name)
        finding, partner = _finding(actuator, actuators, answers, response, cells)
        judgements.append(_judgement(actuator, cells, response, finding, partner))
    return tuple(judgements), pattern


def _judgement(
    actuator: Actuator, cells: Sequence[Cell], response: Response | None, finding: str, partner: str | None
) -> ActuatorJudgement:
    outcome = worst(c.outcome for c in cells if c.required)
    unproven = [AXIS_NAMES[k] for k in range(3) if abs(actuator.effect[k]) >= EFFECT_COUNTS and not _shows(cells, k)]
    if outcome is Outcome.PASS and unproven:
        outcome, finding = Outcome.NOT_SHOWN, "not shown"
    limited = response is not None and response.at_ends > AT_ENDS and response.span < SHORTEST_TRAVEL
    late = response is not None and finding == "ok" and response.delay - response.delay_uncertainty > LATEST_ANSWER
    if response is not None and (limited or late):
        why = (
            f"its pulses meet end stops {response.span * 1e6:.0f} µs apart"
            if limited
            else f"it answers after {response.delay * 1e3:.0f} ms"
        )
        judged = _measured(actuator, response, finding, partner)
        return replace(judged, outcome=Outcome.FAIL, reason=why, trouble="travel" if limited else "late")
    nothing = f"no required motion shows what it does about {' and '.join(unproven)}"
    reason = next((c.reason for c in cells if c.outcome is outcome and c.required), nothing)
    if response is None:
        return ActuatorJudgement(actuator.name, outcome, finding, None, None, partner, None, None, reason)
    return replace(_measured(actuator, response, finding, partner), outcome=outcome, reason=reason)


def _shows(cells: Sequence[Cell], axis: int) -> bool:
    """Tell whether a required motion about an axis was judged: staying still in the others proves no sense."""
    return any(c.required and TURNS[c.motion][0] == axis and c.outcome is Outcome.PASS for c in cells)


def _measured(actuator: Actuator, response: Response, finding: str, partner: str | None) -> ActuatorJudgement:
    per_degree = np.radians(1.0) * 1e6
    known = response.delay_uncertainty < _LATENCY_KNOWN and not is_still(response)
    return ActuatorJudgement(
        name=actuator.name,
        outcome=Outcome.NOT_SHOWN,
        finding=finding,
        latency_ms=response.delay * 1e3 if known else None,
        latency_uncertainty_ms=response.delay_uncertainty * 1e3 if known else None,
        swapped_with=partner,
        response=dict(zip(AXIS_NAMES, (per_degree * response.per_angle).tolist(), strict=True)),
        response_uncertainty=dict(zip(AXIS_NAMES, (per_degree * response.per_angle_uncertainty).tolist(), strict=True)),
        reason="",
    )


def _answers(actuators: Sequence[Actuator], responses: Mapping[str, Response | None]) -> dict[str, Vector]:
    """Scale each answer by the unit's own gain about each axis, so that answers compare with declared effects."""
    moving = {a.name: r for a in actuators if (r := responses.get(a.name)) is not None and not is_still(r)}
    if not moving:
        return {}
    total = np.sum([np.abs(r.per_angle) for r in moving.values()], axis=0)
    declared = np.sum([np.abs(a.effect) for a in actuators if a.name in moving], axis=0)
    gain = np.where(declared > EFFECT_COUNTS, total / np.maximum(declared, 1e-9), total.max())
    # an axis with hardly any gain says nothing: do not blow its noise up
    gain = np.maximum(gain, 0.05 * gain.max())
    return {name: r.per_angle / gain for name, r in moving.items()}


def _cosine(first: Vector, second: Vector) -> float:
    size = float(np.linalg.norm(first) * np.linalg.norm(second))
    return float(first @ second) / size if size > 0 else 0.0


def _finding(
    actuator: Actuator,
    actuators: Sequence[Actuator],
    answers: Mapping[str, Vector],
    response: Response | None,
    cells: Sequence[Cell],
) -> tuple[str, str | None]:
    outcome = worst(c.outcome for c in cells if c.required)
    if outcome is not Outcome.FAIL:
        return ("ok" if outcome is Outcome.PASS else "not shown"), None
    if any(c.evidence == "seen" and c.outcome is Outcome.FAIL for c in cells):
        return _by_eye(actuator, cells), None
    if response is not None and is_still(response):
        return "still", None
    return _by_pulses(actuator, actuators, answers)


def _by_pulses(
    actuator: Actuator, actuators: Sequence[Actuator], answers: Mapping[str, Vector]
) -> tuple[str, str | None]:
    answer = answers.get(actuator.name)
    if answer is None:
        return "not shown", None
    partner = _partner(actuator, actuators, answers)
    if partner is not None:
        return "swapped", partner
    return ("reversed" if _cosine(answer, actuator.effect) > _ALIKE else "wrong axis"), None


def _by_eye(actuator: Actuator, cells: Sequence[Cell]) -> str:
    wrong = [c for c in cells if c.evidence == "seen" and c.outcome is Outcome.FAIL]
    if all(c.observed == "still" for c in wrong):
        return "still"
    moved = [c for c in wrong if c.observed in actuator.moves and c.expected in actuator.moves]
    turned_round = [_cosine(actuator.moves[c.observed or ""], actuator.moves[c.expected or ""]) < 0 for c in moved]
    return "reversed" if turned_round and all(turned_round) else "wrong axis"


def _partner(actuator: Actuator, actuators: Sequence[Actuator], answers: Mapping[str, Vector]) -> str | None:
    for other in actuators:
        if other.name == actuator.name or other.name not in answers:
            continue
        if _cosine(actuator.effect, other.effect) > _DIFFERENT:
            continue
        mine, its = answers[actuator.name], answers[other.name]
        # where one is the reverse of the other, two swapped and two reversed look alike in pulses: reversed is named
        if _cosine(actuator.effect, other.effect) < -_DIFFERENT:
            continue
        if _cosine(mine, -other.effect) > _ALIKE and _cosine(its, -actuator.effect) > _ALIKE:
            return other.name
    return None


def _pattern(actuators: Sequence[Actuator], answers: Mapping[str, Vector]) -> Pattern:
    moving = [a for a in actuators if a.name in answers]
    reversed_axes = []
    for axis, name in enumerate(AXIS_NAMES):
        senses = [
            -np.sign(a.effect[axis]) * answers[a.name][axis] for a in moving if abs(a.effect[axis]) >= 3 * EFFECT_COUNTS
        ]
        if len(senses) > 1 and max(senses) < -EFFECT_COUNTS:
            reversed_axes.append(name)
    plate = [a for a in moving if a.drives == "swashplate"]
    return Pattern(tuple(reversed_axes), _plate_turn(plate, answers))


def _plate_turn(plate: Sequence[Actuator], answers: Mapping[str, Vector]) -> float | None:
    """Fit the one angle by which all plate servos' answers are turned from what the declared layout asks."""
    if len(plate) < _PLATE_SERVOS:
        return None
    wanted = np.array([complex(a.effect[1], -a.effect[0]) for a in plate])
    shown = -np.array([complex(answers[a.name][1], -answers[a.name][0]) for a in plate])
    common = complex(np.vdot(wanted, shown))
    size = float(np.linalg.norm(wanted) * np.linalg.norm(shown))
    if size == 0 or abs(common) / size < 0.95:  # noqa: PLR2004 - the servos do not share one angle
        return None
    angle = float(np.angle(common))
    return float(np.degrees(angle)) if abs(angle) > _TURNED_PLATE else None
