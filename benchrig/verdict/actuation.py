"""Each actuator on its own and all of them together: reversed, still, swapped, or mixed for another layout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.capture.joining import CLOCKS_JOINED
from benchrig.declaration.actuators import Actuator
from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import AXIS_NAMES, TURNS
from benchrig.measure.pulses.collective import Lift
from benchrig.measure.pulses.pulse_range import (
    LONGEST_OF_ANY,
    SHORTEST_OF_ANY,
    kind_by_centre,
    kind_of,
    lies_within,
)
from benchrig.outcome import Outcome, worst
from benchrig.verdict.causes import Cause, cosine, weigh_causes
from benchrig.verdict.correction import EFFECT_COUNTS, PART_REVERSED, Correction, is_still
from benchrig.verdict.done import NOT_MADE, TAKEN_BACK
from benchrig.verdict.limits import AT_ENDS, LATEST_ANSWER, SHORTEST_TRAVEL
from benchrig.verdict.record import ActuatorJudgement, Cell
from benchrig.verdict.response import Response
from benchrig.verdict.wirings import OPERATOR_ERROR

LOOKS_DIFFER: Final = "it went one way in one look and the other way in another"
NO_SERVO: Final = "pulses that no servo or motor controller takes"

_TURNED_PLATE: Final = np.radians(12.0)
_LATENCY_KNOWN: Final = 0.005  # s
_PLATE_SERVOS: Final = 2
_ENOUGH_LOOKS: Final = 2
_ACTS: Final = 3 * EFFECT_COUNTS  # of the largest effect: below this an actuator is not there for an axis


@dataclass(frozen=True, slots=True)
class Pattern:
    """What all actuators together show.

    Attributes
    ----------
    axes_reversed : tuple of str
        Axes about which every actuator answers the wrong way, and more than one does.
    plate_turned : float or None
        deg clockwise by which the unit's layout of the plate differs from the declared one.
    plate_lifts : int
        What the plate does at `collective up`: +1 it rises, -1 every servo lowers it, 0 where that is not shown.
    plate_reversed : bool
        Whether every servo of the plate is reversed: it corrects the wrong way and goes down at `collective up`.
    rising : tuple of str
        The actuators that go the way that lifts at `collective up`.
    rotors : tuple of str
        The actuators that are motors: in them the answer and the rotation are two things.
    """

    axes_reversed: tuple[str, ...]
    plate_turned: float | None
    plate_lifts: int = 0
    plate_reversed: bool = False
    rising: tuple[str, ...] = ()
    rotors: tuple[str, ...] = ()


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
    pattern = _pattern(actuators, answers, correction.lifts)
    judgements = []
    for actuator in actuators:
        cells = [c for c in correction.cells if c.check == f"actuator:{actuator.name}"]
        response = correction.responses.get(actuator.name)
        cause = _cause(actuator, actuators, answers, response, cells)
        judged = _judgement(actuator, cells, response, cause)
        judged = _with_lift(judged, correction.lifts.get(actuator.name), cells)
        partner = next((a for a in actuators if a.name == judged.swapped_with), None)
        judgements.append(_with_range(judged, actuator, partner, correction.standing.get(actuator.name)))
    return tuple(judgements), pattern


def _judgement(actuator: Actuator, cells: Sequence[Cell], response: Response | None, cause: Cause) -> ActuatorJudgement:
    outcome, finding = worst(c.outcome for c in cells if c.counts), cause.finding
    unproven = [AXIS_NAMES[k] for k in range(3) if abs(actuator.effect[k]) >= EFFECT_COUNTS and not _shows(cells, k)]
    if outcome is Outcome.PASS and unproven:
        outcome, finding = Outcome.NOT_SHOWN, "not shown"
    nothing = f"no required motion shows what it does about {' and '.join(unproven)}"
    reason = next((_told(c) for c in cells if c.outcome is outcome and c.counts), nothing)
    judged = ActuatorJudgement(
        actuator.name, outcome, finding, None, None, cause.partner, None, None, reason, "", cause.probability
    )
    if response is None or all(c.size is None for c in cells):
        return judged  # without a motion that was judged, a channel at rest would look like one at its stops
    return _measured(judged, response)


def _told(cell: Cell) -> str:
    """Give the reason of a cell; what it says of the motion, and not of the actuator, with the motion's name."""
    return cell.motion + cell.reason.removeprefix("it") if cell.reason in {NOT_MADE, TAKEN_BACK} else cell.reason


def _with_lift(judged: ActuatorJudgement, lift: Lift | None, cells: Sequence[Cell]) -> ActuatorJudgement:
    """Hold a judgement against what the stick showed: the sense of the servo itself, whatever it is mixed for."""
    if lift is None or judged.trouble:
        return judged
    if lift.contradicts and judged.outcome is not Outcome.FAIL:
        reason = f"at collective up {LOOKS_DIFFER}, {lift.told}"
        return replace(judged, outcome=Outcome.NOT_SHOWN, trouble="collective", reason=reason)
    by_eye = any(c.evidence == "seen" and c.outcome is Outcome.FAIL for c in cells)
    if lift.sense > 0 and judged.finding == "reversed" and not by_eye:
        reason = "at collective up it moves as declared, so it is mixed for another place and not reversed"
        return replace(judged, finding="wrong axis", reason=reason)
    if lift.sense < 0 and judged.outcome is not Outcome.FAIL:
        # one look at the stick is one person's word; a second one settles it
        outcome = Outcome.FAIL if lift.looks >= _ENOUGH_LOOKS else Outcome.NOT_SHOWN
        reason = f"at collective up it goes the way that takes lift away, {lift.told}"
        return replace(judged, outcome=outcome, trouble="collective", reason=reason)
    if lift.sense > 0 and judged.outcome is Outcome.PASS:
        return replace(judged, reason=f"{judged.reason}; at collective up it goes the way that lifts, {lift.told}")
    return judged


def _with_range(
    judged: ActuatorJudgement, actuator: Actuator, partner: Actuator | None, standing: float | None
) -> ActuatorJudgement:
    """Fail pulses of the other length than declared: half or twice the travel, or a servo driven into its end."""
    if standing is not None and not SHORTEST_OF_ANY <= standing <= LONGEST_OF_ANY:
        reason = f"its pulses stand at about {standing * 1e6:.0f} µs: {NO_SERVO}"
        return replace(judged, outcome=Outcome.FAIL, trouble="range", reason=reason)
    declared = kind_of(actuator)
    if standing is None or declared is None:
        return judged
    found = kind_by_centre(standing)
    if found in {None, declared} and lies_within(declared, standing, standing):
        return judged
    if partner is not None and found is not None and found == kind_of(partner):
        return judged  # exchanged plugs are the cause, and exchanging them mends both
    told = f"{found} pulses" if found not in {None, declared} else "outside every travel"
    reason = f"its pulses stand at about {standing * 1e6:.0f} µs: {told}, where {declared} ones are declared"
    return replace(judged, outcome=Outcome.FAIL, trouble="range", reason=reason)


def _shows(cells: Sequence[Cell], axis: int) -> bool:
    """Tell whether a required motion about an axis was judged: staying still in the others proves no sense."""
    return any(c.required and TURNS[c.motion][0] == axis and c.outcome is Outcome.PASS for c in cells)


def _measured(judged: ActuatorJudgement, response: Response) -> ActuatorJudgement:
    """Add what the pulses measure, and fail an answer that is too short or too late to correct."""
    per_degree = np.radians(1.0) * 1e6
    known = _is_latency_known(response)
    judged = replace(
        judged,
        latency_ms=response.delay * 1e3 if known else None,
        latency_uncertainty_ms=response.delay_uncertainty * 1e3 if known else None,
        response=dict(zip(AXIS_NAMES, (per_degree * response.per_angle).tolist(), strict=True)),
        response_uncertainty=dict(zip(AXIS_NAMES, (per_degree * response.per_angle_uncertainty).tolist(), strict=True)),
    )
    if response.at_ends > AT_ENDS and response.span < SHORTEST_TRAVEL:
        reason = f"its pulses meet end stops {response.span * 1e6:.0f} µs apart"
        return replace(judged, outcome=Outcome.FAIL, trouble="travel", reason=reason)
    if judged.finding == "ok" and response.delay - response.delay_uncertainty > LATEST_ANSWER:
        by = " by the second stream's offset_s" if response.clock_uncertainty else ""
        reason = f"it answers after {response.delay * 1e3:.0f} ms{by}"
        return replace(judged, outcome=Outcome.FAIL, trouble="late", reason=reason)
    if judged.outcome is Outcome.FAIL and judged.reason.startswith(PART_REVERSED):
        return replace(judged, trouble="part")
    return judged


def _is_latency_known(response: Response) -> bool:
    own = np.sqrt(max(response.delay_uncertainty**2 - response.clock_uncertainty**2, 0.0))
    joined = response.clock_uncertainty < CLOCKS_JOINED and not response.precedes
    return bool(own < _LATENCY_KNOWN and joined and not is_still(response))


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


def _cause(
    actuator: Actuator,
    actuators: Sequence[Actuator],
    answers: Mapping[str, Vector],
    response: Response | None,
    cells: Sequence[Cell],
) -> Cause:
    outcome = worst(c.outcome for c in cells if c.counts)
    if outcome is not Outcome.FAIL:
        return Cause("ok" if outcome is Outcome.PASS else "not shown", None, 1.0)
    if any(c.evidence == "seen" and c.outcome is Outcome.FAIL for c in cells):
        return Cause(_by_eye(actuator, cells), None, 1 - OPERATOR_ERROR)
    if response is not None and is_still(response):
        return Cause("still", None, 1.0)
    if any(c.reason.startswith(PART_REVERSED) for c in cells):
        return Cause("reversed", None, 1.0)
    return _by_pulses(actuator, actuators, answers)


def _by_pulses(actuator: Actuator, actuators: Sequence[Actuator], answers: Mapping[str, Vector]) -> Cause:
    if actuator.name not in answers:
        return Cause("not shown", None, 1.0)
    likeliest = weigh_causes(actuator, actuators, answers)[0]
    if likeliest.finding == "ok":
        # it fails for what it does about an axis on which it must stay still
        return Cause("wrong axis", None, likeliest.probability)
    if likeliest.partner is None:
        return likeliest
    by_name = {a.name: a for a in actuators}
    back = weigh_causes(by_name[likeliest.partner], actuators, answers)[0] if likeliest.partner in answers else None
    if back is not None and back.partner == actuator.name:
        return Cause("swapped", likeliest.partner, likeliest.probability * back.probability)
    return Cause("wrong axis", None, likeliest.probability)


def _by_eye(actuator: Actuator, cells: Sequence[Cell]) -> str:
    wrong = [c for c in cells if c.evidence == "seen" and c.outcome is Outcome.FAIL]
    if all(c.observed == "still" for c in wrong):
        return "still"
    moved = [c for c in wrong if c.observed in actuator.moves and c.expected in actuator.moves]
    turned_round = [cosine(actuator.moves[c.observed or ""], actuator.moves[c.expected or ""]) < 0 for c in moved]
    return "reversed" if turned_round and all(turned_round) else "wrong axis"


def _pattern(actuators: Sequence[Actuator], answers: Mapping[str, Vector], lifts: Mapping[str, Lift]) -> Pattern:
    moving = [a for a in actuators if a.name in answers]
    reversed_axes = []
    for axis, name in enumerate(AXIS_NAMES):
        senses = [-np.sign(a.effect[axis]) * answers[a.name][axis] for a in moving if abs(a.effect[axis]) >= _ACTS]
        if len(senses) > 1 and max(senses) < -EFFECT_COUNTS:
            reversed_axes.append(name)
    plate = [a for a in moving if a.drives == "swashplate"]
    shown = {lifts[a.name].sense for a in plate if a.name in lifts} if all(a.name in lifts for a in plate) else set()
    common = shown.pop() if len(shown) == 1 else 0
    told = Pattern(
        tuple(reversed_axes),
        None,
        common,
        rising=tuple(name for name, lift in lifts.items() if lift.sense > 0),
        rotors=tuple(a.name for a in actuators if a.drives == "rotor"),
    )
    turn = _plate_turn(plate, answers)
    if turn is None or abs(turn) <= _TURNED_PLATE:
        return told
    # a turned plate answers roll and pitch wrongly by itself: a second remedy would undo the first
    others = [a for a in moving if a not in plate]
    kept = tuple(
        name
        for axis, name in enumerate(AXIS_NAMES)
        if name in reversed_axes and any(abs(a.effect[axis]) >= _ACTS for a in others)
    )
    if common < 0:
        turn -= float(np.copysign(np.pi, turn))  # every servo reversed looks like half a turn: take it out
    degrees = float(np.degrees(turn)) if abs(turn) > _TURNED_PLATE else None
    return replace(told, axes_reversed=kept, plate_turned=degrees, plate_reversed=common < 0)


def _plate_turn(plate: Sequence[Actuator], answers: Mapping[str, Vector]) -> float | None:
    """Fit the one angle, rad, by which all plate servos' answers are turned from what the declared layout asks."""
    if len(plate) < _PLATE_SERVOS:
        return None
    wanted = np.array([complex(a.effect[1], -a.effect[0]) for a in plate])
    shown = -np.array([complex(answers[a.name][1], -answers[a.name][0]) for a in plate])
    common = complex(np.vdot(wanted, shown))
    size = float(np.linalg.norm(wanted) * np.linalg.norm(shown))
    if size == 0 or abs(common) / size < 0.95:  # noqa: PLR2004 - the servos do not share one angle
        return None
    return float(np.angle(common))
