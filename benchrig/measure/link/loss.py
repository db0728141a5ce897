"""What every channel does when the link is lost, held against what was declared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.measure.guard_band import DEVIATIONS, held_against
from benchrig.measure.link.cut import Cut, Going
from benchrig.measure.link.thrust import thrust_at_loss
from benchrig.measure.measurement import Entry, Quantity
from benchrig.measure.pulses.estimate import Estimate, joined, unknown
from benchrig.measure.pulses.naming import times
from benchrig.measure.pulses.steps import Steps
from benchrig.outcome import Outcome, worst

TOLERANCE: Final = 20e-6
"""s: about 2° of a servo (common practice, no published source)."""

NEAR: Final = 2 * TOLERANCE
"""s: from closer than this, going there and staying cannot be told apart."""

STAYS: Final = " (declared: stays)"
"""Behind the name of an actuator that is declared to stay."""

ROUGH: Final = "too rough to tell whether that is in time"

NO_PULSES: Final = "no pulses of it were recorded"

_STOPPED: Final = "its pulses stopped"
_ENOUGH: Final = 3e-6  # s: a value less sure than this is no line for the airframe file

Judged = tuple[Outcome, str]


def loss_quantities(airframe: Airframe, cuts: Sequence[Cut], channels: Mapping[str, Steps]) -> Iterator[Quantity]:
    """Judge where every actuator goes, and how soon."""
    for actuator in airframe.actuators:
        yield _place(actuator, airframe, cuts, channels.get(actuator.name))
        time = time_of(actuator.name, cuts)
        yield _time(f"{actuator.name}, time until it is there", time, _limit(actuator, airframe))
        back = _back(actuator.name, cuts)
        yield Quantity(f"{actuator.name}, time until it is back", back.value, back.uncertainty, "s", back.reason)


def loss_entries(airframe: Airframe, cuts: Sequence[Cut], channels: Mapping[str, Steps]) -> Iterator[Entry]:
    """Give a line for every actuator of which nothing was declared, where it is sure and safe what it does."""
    for actuator in airframe.actuators:
        if airframe.link_loss is not None and actuator.name in airframe.link_loss.goes_to:
            continue
        shown = [g for _, g in _shown(actuator.name, cuts)]
        channel = channels.get(actuator.name)
        if not shown or channel is None or thrust_at_loss(actuator, cuts, channel):
            continue
        settled = [g for g in shown if g.moves and g.after.uncertainty < _ENOUGH]
        table = ("link_loss", "goes_to_us")
        if settled and max(g.after.value for g in shown) - min(g.after.value for g in shown) < TOLERANCE:
            value = round(settled[0].after.value * 1e6)
            yield Entry(table, actuator.name, value, f"transmitter off, {times(len(shown))}")
        elif all(not g.moves and _is_away(g, actuator, channel) for g in shown):
            yield Entry(table, actuator.name, "stays", f"transmitter off, {times(len(shown))}")


def time_of(name: str, cuts: Sequence[Cut]) -> Estimate:
    """Give the time from the loss of the link until an actuator is where it goes, s: the longest, for it is a limit."""
    return _longest([*(_time_in(cut, going) for cut, going in _shown(name, cuts)), *_stopped(name, cuts)])


def _longest(times: Sequence[Estimate]) -> Estimate:
    """Give the longest of several times: a mean would let a quick trial hide a late one."""
    known = [(time.value, time) for time in times if time.value is not None]
    if known:
        return max(known, key=lambda pair: pair[0])[1]
    return unknown(next((time.reason for time in times if time.reason), "no loss of the link is shown"))


def judge_place(actuator: Actuator, declared: float | None, cuts: Sequence[Cut], channel: Steps) -> Judged:
    """Judge where an actuator goes against a declared pulse, or (None) against staying where it is."""
    name = actuator.name
    verdicts = [_in_one(actuator, declared, cut, cut.goings[name], channel) for cut in cuts if name in cut.goings]
    if not verdicts:
        return Outcome.NOT_SHOWN, "the transmitter was never switched off"
    for outcome in (Outcome.FAIL, Outcome.PASS, Outcome.NOT_SHOWN):
        for found, reason in verdicts:
            if found is outcome:
                return found, reason
    return verdicts[0]


def _in_one(actuator: Actuator, declared: float | None, cut: Cut, going: Going, channel: Steps) -> Judged:
    doubt = _doubt(cut, going)
    if doubt:
        return Outcome.NOT_SHOWN, doubt
    if going.is_silent:
        left = "tells the motor what to do" if actuator.drives == "rotor" else "holds the servo"
        return Outcome.FAIL, f"its pulses stop, so nothing {left}"
    target = going.before.value if declared is None else declared
    outcome = held_against(going.after.value, going.after.uncertainty, target, TOLERANCE)
    went = f"it goes to {going.after.value * 1e6:.0f} µs" if going.moves else "it stays where it was"
    if outcome is not Outcome.PASS:
        return outcome, went
    if declared is None and not _is_away(going, actuator, channel):
        return Outcome.NOT_SHOWN, "it stood at its rest, so staying and going there look alike: hold it elsewhere first"
    if declared is not None and abs(going.before.value - declared) < NEAR:
        return Outcome.NOT_SHOWN, "it stood where it should go already: hold it elsewhere first"
    return outcome, went


def _doubt(cut: Cut, going: Going) -> str:
    if cut.still_on:
        return f"the transmitter was not off: {cut.still_on}"
    if not cut.evidence:
        return "nothing shows that the link was lost: a receiver that holds and a transmitter still on look alike"
    return "" if going.is_settled else "it was still moving at the end of the prompt"


def _is_away(going: Going, actuator: Actuator, channel: Steps) -> bool:
    """Tell whether a channel was held away from its rest: its centre, or where it stood for longest."""
    longest = max(channel.holds, key=lambda h: h.end - h.start)
    rest = longest.value if actuator.centre is None else actuator.centre
    return abs(going.before.value - rest) >= NEAR


def _shown(name: str, cuts: Sequence[Cut]) -> list[tuple[Cut, Going]]:
    pairs = [(cut, cut.goings[name]) for cut in cuts if name in cut.goings]
    return [(cut, going) for cut, going in pairs if not _doubt(cut, going) and not going.is_silent]


def _place(actuator: Actuator, airframe: Airframe, cuts: Sequence[Cut], channel: Steps | None) -> Quantity:
    name = f"{actuator.name}, when the link is lost"
    loss = airframe.link_loss
    is_free = loss is None or actuator.name not in loss.goes_to
    if loss is not None and not is_free and loss.goes_to[actuator.name] is None:
        name += STAYS  # no number says so
    if channel is None:
        return Quantity(
            name, None, None, "us", NO_PULSES, outcome=Outcome.NOT_APPLICABLE if is_free else Outcome.NOT_SHOWN
        )
    shown = _shown(actuator.name, cuts)
    places = [Estimate(g.after.value, g.after.uncertainty) for _, g in shown]
    place = joined(places, "") if places else unknown("")
    declared = None if loss is None else loss.goes_to.get(actuator.name)
    thrust = thrust_at_loss(actuator, cuts, channel)
    if thrust:
        found = (_us(place.value), _us(place.uncertainty), "us", thrust, _us(declared), Outcome.FAIL)
        return Quantity(name, *found, limit="no more thrust than at rest or before, whatever is declared")
    if is_free:
        return Quantity(name, _us(place.value), _us(place.uncertainty), "us", _why_free(actuator, cuts, places))
    outcome, reason = judge_place(actuator, declared, cuts, channel)
    goal = "where it stood" if declared is None else f"{declared * 1e6:.0f} µs"
    limit = f"within {TOLERANCE * 1e6:.0f} µs of {goal}, by {DEVIATIONS:.0f} standard deviations"
    return Quantity(name, _us(place.value), _us(place.uncertainty), "us", reason, _us(declared), outcome, limit)


def _why_free(actuator: Actuator, cuts: Sequence[Cut], places: Sequence[Estimate]) -> str:
    """Say why nothing is told of an actuator of which nothing is declared; empty where it is."""
    going = [(cut, cut.goings[actuator.name]) for cut in cuts if actuator.name in cut.goings]
    reasons = [_doubt(cut, g) or (_STOPPED if g.is_silent else "") for cut, g in going]
    return next((r for r in reasons if r), "" if places else "the transmitter was never switched off")


def _limit(actuator: Actuator, airframe: Airframe) -> float | None:
    """Give by when an actuator must be where it goes, s; None where no goal or no time is declared for it."""
    loss = airframe.link_loss
    return loss.after if loss is not None and loss.goes_to.get(actuator.name) is not None else None


def _stopped(name: str, cuts: Sequence[Cut]) -> list[Estimate]:
    silent = [cut for cut in cuts if name in cut.goings and cut.goings[name].is_silent]
    return [unknown(_STOPPED) for cut in silent if not _doubt(cut, cut.goings[name])]


def _time_in(cut: Cut, going: Going) -> Estimate:
    if not going.moves:
        return unknown("it did not move")
    if cut.lost_at.value is None or cut.lost_at.uncertainty is None:
        return unknown("when the link was lost is not known")
    took = going.after.start - cut.lost_at.value
    if took < 0:
        return unknown(f"it was there {-took:.1f} s before the prompt says that the transmitter was off")
    return Estimate(took, cut.lost_at.uncertainty, cut.lost_at.reason)


def _time(name: str, time: Estimate, limit: float | None) -> Quantity:
    if limit is None or time.value is None or time.uncertainty is None:
        # one that stays, or of which nothing was declared, need not move: it has no time, and lacks nothing
        return Quantity(name, time.value, time.uncertainty, "s", time.reason, limit)
    margin = DEVIATIONS * time.uncertainty
    early, late = time.value + margin <= limit, time.value - margin > limit
    outcome = Outcome.PASS if early else Outcome.FAIL if late else Outcome.NOT_SHOWN
    reason = "" if early or late else f"{time.reason}: {ROUGH}"
    return Quantity(name, time.value, time.uncertainty, "s", reason, limit, outcome, f"at the latest after {limit:g} s")


def _back(name: str, cuts: Sequence[Cut]) -> Estimate:
    times = []
    for cut, going in _shown(name, cuts):
        if cut.back_at.value is None or cut.back_at.uncertainty is None:
            times.append(unknown(cut.back_at.reason))
        elif going.back is None:
            times.append(unknown("it did not move when the transmitter was on again"))
        else:
            took = going.back.after.start - cut.back_at.value
            early = unknown("it was back before the prompt says so")
            times.append(early if took < 0 else Estimate(took, cut.back_at.uncertainty))
    return joined([*times, *_stopped(name, cuts)], "no loss of the link is shown")


def part_of(quantities: Sequence[Quantity]) -> Outcome:
    """Join what was judged of the loss."""
    return worst(q.outcome for q in quantities if q.outcome is not Outcome.NOT_APPLICABLE)


def _us(value: float | None) -> float | None:
    return None if value is None else value * 1e6
