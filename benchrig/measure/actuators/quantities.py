"""The numbers of one channel as a report shows them, and the lines that they give for the airframe file."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from benchrig.measure.guard_band import DEVIATIONS, held_against
from benchrig.measure.measurement import Entry, Quantity
from benchrig.measure.pulses.channel import Channel
from benchrig.measure.pulses.collective import SMALLEST_LIFT
from benchrig.measure.pulses.estimate import Estimate
from benchrig.outcome import Outcome

CENTRE_TOLERANCE: Final = 10e-6
"""s: about 1° of a servo (common practice, no published source)."""

END_TOLERANCE: Final = 20e-6
"""s: about 2° of a servo (common practice, no published source)."""

_SURE_ENOUGH: Final = 3e-6  # s: a value less sure than this is no line for the airframe file
_ENOUGH_LOOKS: Final = 2


def quantities_of(channel: Channel) -> Iterator[Quantity]:
    """Give what was measured of one channel, in the order in which a person asks for it."""
    actuator = channel.actuator
    yield _pulse(channel, "centre", channel.centre, actuator.centre, CENTRE_TOLERANCE)
    yield _pulse(channel, "shortest pulse", channel.lowest, actuator.lowest, END_TOLERANCE)
    yield _pulse(channel, "longest pulse", channel.highest, actuator.highest, END_TOLERANCE)
    yield _number(channel, "speed of its pulse", channel.speed, 1e6, "us/s")
    yield _number(channel, "time for its travel", channel.travel_time, 1.0, "s")
    yield _number(channel, "answer to its command", channel.latency, 1e3, "ms")
    yield _frame(channel)
    if channel.lift is not None:
        yield _lift(channel)


def entries_of(channel: Channel) -> Iterator[Entry]:
    """Give the lines for what was measured well and not declared yet; none where what was declared is in doubt."""
    actuator = channel.actuator
    measured = (
        ("lowest_us", channel.lowest, actuator.lowest),
        ("centre_us", channel.centre, actuator.centre),
        ("highest_us", channel.highest, actuator.highest),
    )
    stand = [estimate.value if declared is None else declared for _, estimate, declared in measured]
    known = [value for value in stand if value is not None]
    doubted = any(q.outcome is not Outcome.PASS for q in quantities_of(channel) if q.declared is not None)
    if doubted or channel.kind is None or known != sorted(set(known)):
        return
    for key, estimate, declared in measured:
        sure = estimate.uncertainty is not None and estimate.uncertainty < _SURE_ENOUGH
        if declared is None and estimate.value is not None and estimate.uncertainty is not None and sure:
            comment = f"swept, ± {max(estimate.uncertainty * 1e6, 1.0):.0f} µs"
            yield Entry(("actuator", actuator.name), key, round(estimate.value * 1e6), comment)


def _pulse(channel: Channel, what: str, found: Estimate, declared: float | None, tolerance: float) -> Quantity:
    outcome, limit = Outcome.NOT_APPLICABLE, ""
    if declared is not None:
        limit = f"within {tolerance * 1e6:.0f} µs of the declared, by {DEVIATIONS:.0f} standard deviations"
        outcome = Outcome.NOT_SHOWN
        if found.value is not None and found.uncertainty is not None:
            outcome = held_against(found.value, found.uncertainty, declared, tolerance)
    return Quantity(
        name=f"{channel.actuator.name}, {what}",
        value=_times(found.value, 1e6),
        uncertainty=_times(found.uncertainty, 1e6),
        unit="us",
        reason=found.reason,
        declared=_times(declared, 1e6),
        outcome=outcome,
        limit=limit,
    )


def _number(channel: Channel, what: str, found: Estimate, scale: float, unit: str) -> Quantity:
    value, uncertainty = _times(found.value, scale), _times(found.uncertainty, scale)
    return Quantity(f"{channel.actuator.name}, {what}", value, uncertainty, unit, found.reason)


def _frame(channel: Channel) -> Quantity:
    frame, name = channel.frame, f"{channel.actuator.name}, pulses a second"
    if frame.period is None or frame.uncertainty is None:
        return Quantity(name, None, None, "Hz", frame.reason)
    return Quantity(name, 1 / frame.period, frame.uncertainty / frame.period**2, "Hz")


def _lift(channel: Channel) -> Quantity:
    """Judge the sense: a channel that others contradict is judged by the findings about all of them."""
    lift, longer = channel.lift, channel.actuator.longer_pulse
    if lift is None:
        return Quantity(f"{channel.actuator.name}, change at collective up", None, None, "us")
    outcome = {1: Outcome.PASS, -1: Outcome.FAIL, 0: Outcome.NOT_SHOWN}[lift.sense]
    if outcome is Outcome.FAIL and lift.looks < _ENOUGH_LOOKS:
        outcome = Outcome.NOT_SHOWN  # the stick may have gone the other way: the findings weigh that
    went = "longer" if lift.change > 0 else "shorter"
    reason = f"its pulse became {went}; declared: a longer pulse gives {longer}; {lift.told}"
    if lift.contradicts:
        reason = f"it went one way in one look and the other way in another; {lift.told}"
    elif not lift.sense:
        reason = f"it changed by less than {SMALLEST_LIFT * 1e6:.0f} µs, or not the same way each time"
    return Quantity(
        name=f"{channel.actuator.name}, change at collective up",
        value=lift.change * 1e6,
        uncertainty=lift.uncertainty * 1e6,
        unit="us",
        reason=reason,
        outcome=outcome,
        limit=f"the declared way by {SMALLEST_LIFT * 1e6:.0f} µs or more, {lift.told}",
    )


def _times(value: float | None, scale: float) -> float | None:
    return None if value is None else value * scale
