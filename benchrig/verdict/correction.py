"""The correction part of the matrix: whether every servo or motor answers a disturbance the corrective way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from benchrig.capture.recording import Seen
from benchrig.declaration.actuators import Actuator
from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import TURNS
from benchrig.measure.pulses.collective import Lift, collective_lifts
from benchrig.measure.pulses.naming import times
from benchrig.measure.pulses.steps import take_apart
from benchrig.outcome import Outcome
from benchrig.signals.motions import Motion
from benchrig.verdict.bench import Bench
from benchrig.verdict.decision import tail_probability
from benchrig.verdict.done import Done, angle_between, crosses, real_turn, what_was_done
from benchrig.verdict.limits import COHERENT_OPERATOR, LARGEST_LEAN, SMALLEST_RESPONSE, STILL_SHARE, WRONG
from benchrig.verdict.record import Cell
from benchrig.verdict.response import Response, measure_response, real_motion
from benchrig.verdict.wirings import OPERATOR_ERROR

EFFECT_COUNTS: Final = 0.1
"""Of an actuator's largest effect: below this it must stay still in a motion about that axis."""

PART_REVERSED: Final = "the part that answers the"
TWO_CLOCKS: Final = "its pulses come before the motion that they answer, by more than their clock may be off"

_SAME_WAY: Final = 0.3  # how much of the modelled answer one motion must show by itself
_SURE: Final = 5.0  # standard deviations
_LEAST_PULSES: Final = 3  # in a move: fewer show nothing of it
_LARGEST_HOLE: Final = 0.5  # of a move's duration


@dataclass(frozen=True, slots=True, eq=False)
class Correction:
    """What every actuator did.

    Attributes
    ----------
    cells : tuple of Cell
    responses : mapping of actuator name to Response or None
        What each channel's pulses answered; None where none were recorded.
    lifts : mapping of actuator name to Lift
        What `collective up` did to it; empty where the stick was not asked for.
    standing : mapping of actuator name to float, s
        Median of its pulses: about where it stands at rest.
    """

    cells: tuple[Cell, ...]
    responses: Mapping[str, Response | None]
    lifts: Mapping[str, Lift] = field(default_factory=dict)
    standing: Mapping[str, float] = field(default_factory=dict)


def judge_correction(bench: Bench, names: Sequence[str]) -> Correction:
    """Judge every actuator in every motion, by its pulses and by what was seen.

    Parameters
    ----------
    bench : Bench
    names : sequence of str
        The motions of the matrix.

    Returns
    -------
    Correction
    """
    if not bench.airframe.actuators:
        return Correction((), {})
    pulses = bench.recording.pulses
    motion = real_motion(bench) if pulses and bench.stillness.bias is not None else None
    responses = {
        a.name: measure_response(bench, motion, pulses[a.name]) if motion is not None and a.name in pulses else None
        for a in bench.airframe.actuators
    }
    done = [what_was_done(bench, name) for name in names]
    cells = [
        _cell(bench, actuator, responses[actuator.name], motion_done)
        for motion_done in done
        for actuator in bench.airframe.actuators
    ]
    standing = {name: float(np.median(channel.width)) for name, channel in pulses.items()}
    return Correction(tuple(cells), responses, _lifts(bench), standing)


def _lifts(bench: Bench) -> Mapping[str, Lift]:
    recording = bench.recording
    if not any(p.name == "collective up" for p in recording.prompts):
        return {}
    last = float(recording.time[-1])
    channels = {name: take_apart(pulses, last) for name, pulses in recording.pulses.items()}
    return collective_lifts(bench.airframe.actuators, recording.prompts, channels)


def is_still(response: Response) -> bool:
    """Tell whether a channel practically never answers."""
    largest = float(np.abs(response.per_angle).max())
    return bool(np.radians(1.0) * largest < SMALLEST_RESPONSE)


def gains_against(effect: Vector, response: Response) -> Vector:
    """Give the corrective gain about each axis: positive where the answer opposes the motion, shape (3,), s per rad."""
    return -np.sign(effect) * response.per_angle


def word_for(actuator: Actuator, change: float) -> str:
    """Say which way an actuator went when its pulse changed by `change`."""
    if not change:
        return "still"
    longer = actuator.longer_pulse or "as declared"
    if change > 0:
        return longer
    wanted = -actuator.moves[longer]
    return next((w for w, effect in actuator.moves.items() if np.allclose(effect, wanted)), "the other way")


def _cell(bench: Bench, actuator: Actuator, response: Response | None, done: Done) -> Cell:
    axis, sign = TURNS[done.name]
    matters = bool(abs(actuator.effect[axis]) >= EFFECT_COUNTS)
    wanted = word_for(actuator, -sign * np.sign(actuator.effect[axis]) if matters else 0.0)
    required = done.name in bench.airframe.required_motions and (matters or response is not None)
    blank = Cell(
        motion=done.name,
        check=f"actuator:{actuator.name}",
        outcome=Outcome.NOT_SHOWN,
        required=required,
        evidence="recorded",
        expected=wanted,
        observed=None,
        size=None,
        unit="µs/deg",
        uncertainty=None,
        wrong_pass_bound=None,
        reason=_unfit(bench, done),
    )
    return blank if blank.reason else _by_evidence(blank, bench, actuator, response, done)


def _unfit(bench: Bench, done: Done) -> str:
    """Say why a motion shows nothing of any actuator; empty where it does."""
    if not done.good:
        return done.reason
    if bench.wirings.gyro.max() < 1 - WRONG:
        return "what the airframe really did is not certain yet"
    if lean(bench) > LARGEST_LEAN:
        return f"the airframe leaned by {lean(bench):.0f}° where it should have stood level"
    return ""


def _by_evidence(blank: Cell, bench: Bench, actuator: Actuator, response: Response | None, done: Done) -> Cell:
    matters = bool(abs(actuator.effect[TURNS[done.name][0]]) >= EFFECT_COUNTS)
    seen = [s for s in bench.recording.seen if s.motion == done.name and s.actuator == actuator.name]
    recorded = any(_has_pulses(bench, actuator, motion) for motion in done.good)
    by_pulse = _by_pulse(blank, actuator, response, done, bench) if recorded and response is not None else None
    crossed = any(crosses(actuator.effect, done.name, real_turn(bench, motion)) for motion in done.good)
    by_eye = _by_eye(blank, actuator, done, seen, matters=matters, crossed=crossed) if seen else None
    if by_pulse is None and by_eye is None:
        return replace(blank, reason=f"{_no_pulses(bench, actuator, response)} and nothing was noted as seen")
    if by_eye is None or (by_pulse is not None and by_pulse.outcome is Outcome.FAIL):
        return by_pulse or blank
    # pulses cannot show a linkage: they stand only where nothing that was seen speaks against them
    if by_pulse is not None and by_eye.outcome is Outcome.PASS:
        return by_pulse
    return by_eye


def _no_pulses(bench: Bench, actuator: Actuator, response: Response | None) -> str:
    if actuator.name in bench.recording.blank_pulses:
        return "its column is blank or zero in every row"
    return "no pulses were recorded" if response is None else "no pulses were recorded in this motion"


def lean(bench: Bench) -> float:
    """Give how far the airframe was from level at the level rest, deg; 0 where there was none."""
    if bench.level_force is None:
        return 0.0
    up = bench.wirings.mounting(int(np.argmax(bench.wirings.accelerometer))) @ bench.level_force
    return float(np.degrees(angle_between(up, np.array([0.0, 0.0, -1.0]))))


def _by_pulse(blank: Cell, actuator: Actuator, response: Response, done: Done, bench: Bench) -> Cell:
    axis, sign = TURNS[done.name]
    if response.precedes:
        return replace(blank, reason=TWO_CLOCKS)
    change = sign * response.per_angle[axis]
    spread = response.per_angle_uncertainty[axis]
    largest = float(np.abs(response.per_angle).max())
    moved = abs(change) > STILL_SHARE * largest and not is_still(response)
    cell = replace(
        blank,
        observed=word_for(actuator, change if moved else 0.0),
        size=float(np.radians(1.0) * change * 1e6),
        uncertainty=float(np.radians(1.0) * spread * 1e6),
    )
    if is_still(response):
        if abs(actuator.effect[axis]) < EFFECT_COUNTS:
            return replace(cell, outcome=Outcome.NOT_SHOWN, reason="it never moves, so staying still shows nothing")
        return replace(cell, outcome=Outcome.FAIL, reason=f"its pulse does not answer; wanted {cell.expected}")
    if abs(actuator.effect[axis]) < EFFECT_COUNTS:
        return _must_stay(cell, abs(change), spread, largest)
    return _must_oppose(cell, actuator, response, done, bench)


def _has_pulses(bench: Bench, actuator: Actuator, motion: Motion) -> bool:
    """Tell whether the channel was recorded all through a move: the fit alone would answer for it unseen."""
    if motion.move is None or actuator.name not in bench.recording.pulses:
        return False
    begin, arrive = bench.even.time[motion.move.before.stop - 1], bench.even.time[motion.move.after.start]
    when = bench.recording.pulses[actuator.name].time
    inside = when[(when >= begin) & (when <= arrive)]
    holes = np.diff(np.concatenate([[begin], inside, [arrive]]))
    return len(inside) >= _LEAST_PULSES and bool(holes.max() <= _LARGEST_HOLE * (arrive - begin))


def _must_stay(cell: Cell, change: float, spread: float, largest: float) -> Cell:
    wrong = tail_probability((STILL_SHARE * largest - change) / spread)
    if wrong < WRONG:
        return replace(cell, outcome=Outcome.PASS, wrong_pass_bound=wrong, reason="it stays still, as it should")
    if tail_probability((change - STILL_SHARE * largest) / spread) < WRONG:
        return replace(cell, outcome=Outcome.FAIL, reason=f"it moves ({cell.observed}) where it must stay still")
    return replace(cell, reason="whether it stays still cannot be told from these pulses")


def _must_oppose(cell: Cell, actuator: Actuator, response: Response, done: Done, bench: Bench) -> Cell:
    axis, _ = TURNS[done.name]
    sense = -np.sign(actuator.effect[axis])
    deviations = np.array(
        [
            sense * response.to_rate[axis] / response.to_rate_uncertainty[axis],
            sense * response.to_angle[axis] / response.to_angle_uncertainty[axis],
        ]
    )
    shares = np.abs([response.to_rate[axis] / 1.0, response.to_angle[axis]]) / np.abs(response.per_angle).max()
    counts = (np.abs(deviations) > _SURE) & (shares > 0.1)  # noqa: PLR2004 - smaller parts change nothing
    own = _shown_by(response, done, bench)
    if (counts & (deviations < 0)).any() and (counts & (deviations > 0)).any():
        part = "rate" if deviations[0] < 0 else "angle"
        return replace(cell, outcome=Outcome.FAIL, reason=f"{PART_REVERSED} {part} goes the wrong way")
    total = sense * response.per_angle[axis] / response.per_angle_uncertainty[axis]
    wrong, right = tail_probability(total), tail_probability(-total)
    if right < WRONG and own > _SAME_WAY:
        return replace(
            cell, outcome=Outcome.FAIL, reason=f"it goes {cell.observed}; {cell.expected} would oppose the motion"
        )
    if wrong < WRONG and own > _SAME_WAY:
        reason = f"it goes {cell.observed} and opposes the motion"
        return replace(cell, outcome=Outcome.PASS, wrong_pass_bound=wrong + COHERENT_OPERATOR, reason=reason)
    if wrong < WRONG and own < -_SAME_WAY:
        return replace(cell, outcome=Outcome.FAIL, reason="in this motion it goes the other way than in the others")
    return replace(
        cell, reason="the answer is too small to tell its sense" if own > _SAME_WAY else "it hardly answers here"
    )


def _shown_by(response: Response, done: Done, bench: Bench) -> float:
    """Give how much of the modelled answer the motion itself shows: 1 all of it, 0 none, below 0 the reverse."""
    shown = wanted = 0.0
    for motion in done.good:
        if motion.move is None:
            continue
        start, stop = bench.even.time[motion.move.start], bench.even.time[motion.move.stop - 1]
        inside = (response.time >= start) & (response.time <= stop + 0.3)
        shown += float(response.measured[inside] @ response.modelled[inside])
        wanted += float(response.modelled[inside] @ response.modelled[inside])
    return shown / wanted if wanted > 0 else 0.0


def _by_eye(blank: Cell, actuator: Actuator, done: Done, seen: Sequence[Seen], *, matters: bool, crossed: bool) -> Cell:
    axis, sign = TURNS[done.name]
    ways = {s.moved for s in seen}
    if len(ways) > 1:
        reason = "what was seen differs from look to look: " + ", ".join(sorted(ways))
        return replace(blank, evidence="seen", reason=reason)
    moved = ways.pop()
    effect = np.zeros(3) if moved == "still" else actuator.moves[moved]
    opposing = -sign * effect[axis]
    right = opposing > 0 if matters else moved == "still"
    cell = replace(blank, evidence="seen", observed=moved, outcome=Outcome.PASS if right else Outcome.FAIL)
    if not matters and not right and abs(effect[axis]) < EFFECT_COUNTS:
        # a small turn about its own axis, which every hand adds, would move it so
        reason = f"seen to go {moved} where it should stay still: do it again without turning about other axes"
        return replace(cell, outcome=Outcome.NOT_SHOWN, reason=reason)
    if matters and not right and crossed:
        reason = f"seen to go {moved}, and it was turned about other axes too: do it again about one axis alone"
        return replace(cell, outcome=Outcome.NOT_SHOWN, reason=reason)
    if right:
        # one motion is one look, however often it is written down
        looks = min(len(seen), len(done.good))
        bound = OPERATOR_ERROR**looks
        return replace(cell, wrong_pass_bound=bound, reason=f"seen to go {moved}, {times(looks)} by eye")
    return replace(cell, reason=f"seen to go {moved}; {cell.expected} would be right")
