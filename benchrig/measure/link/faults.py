"""What is wrong with the link, in the builder's words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from benchrig.capture.recording import Prompt
from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.turns import PULSE_STEPS
from benchrig.measure.link.cut import PROMPTED, STOPPED, Cut
from benchrig.measure.link.loss import NO_PULSES, ROUGH, STAYS, TOLERANCE
from benchrig.measure.link.thrust import thrust_at_loss
from benchrig.measure.measurement import Quantity
from benchrig.measure.pulses.collective import span_of
from benchrig.measure.pulses.naming import called
from benchrig.measure.pulses.steps import Steps
from benchrig.outcome import Finding, Outcome

_FIX = "Set what the receiver does at loss of link (its maker's manual says how), then try again with the blades off."


def loss_faults(
    airframe: Airframe, cuts: Sequence[Cut], judged: Sequence[Quantity], channels: Mapping[str, Steps]
) -> Iterator[Finding]:
    """Name what the lost link does wrong, and what its trial could not show."""
    thrusts = {a.name: t for a in airframe.actuators if a.name in channels for t in _thrust(a, cuts, channels)}
    for name, said in thrusts.items():
        fix = "Set the receiver so that it stops when the link is lost (its maker's manual says how), whatever is "
        fix += "declared; then try again with the blades off."
        yield Finding("link-loss-more-thrust", "fail", f"{called([name])}: when the link is lost {said}.", fix)
    yield from _never_off(cuts)
    failing = [q for q in judged if q.outcome is Outcome.FAIL]
    for quantity in failing:
        if quantity.unit != "s" and quantity.name.partition(", ")[0] in thrusts:
            continue
        if quantity.unit == "s":
            text = f"{called([quantity.name])}: {quantity.value:.1f} s, declared {quantity.declared:g} s at the latest."
            yield Finding("link-loss-late", "fail", text, _FIX)
        else:
            wanted = "stay" if quantity.declared is None else f"go to {quantity.declared:.0f} µs"
            text = f"{called([quantity.name.removesuffix(STAYS)])}: {quantity.reason}; declared to {wanted}."
            yield Finding("link-loss-differs", "fail", text, _FIX)
    open_: dict[str, list[str]] = {}
    for quantity in judged if cuts and not any(_is_doubtful(c) for c in cuts) else ():
        if quantity.outcome is Outcome.NOT_SHOWN and quantity.reason != NO_PULSES:
            open_.setdefault(quantity.reason, []).append(quantity.name.partition(", ")[0])
    for reason, names in open_.items():
        text = f"{called(dict.fromkeys(names))}: {reason}."
        yield Finding("link-loss-not-shown", "not shown", text, _remedy(reason))
    yield from _undeclared(airframe, cuts)
    yield from _not_back(cuts)


def travel_faults(airframe: Airframe, channels: Mapping[str, Steps], prompts: Sequence[Prompt]) -> Iterator[Finding]:
    """Name channels that a switch or the lost link sends beyond their declared travel."""
    spans = [span_of(p, prompts) for p in prompts if p.name in PULSE_STEPS and p.start is not None]
    for actuator in airframe.actuators:
        channel = channels.get(actuator.name)
        holds = [m.after for span in spans for m in channel.moves(*span)] if channel is not None else []
        low, high = actuator.lowest, actuator.highest
        beyond = [h.value for h in holds if low is not None and h.value < low - TOLERANCE]
        beyond += [h.value for h in holds if high is not None and h.value > high + TOLERANCE]
        if beyond:
            ends = f"{(low or 0.0) * 1e6:.0f} to {(high or 0.0) * 1e6:.0f} µs" if low and high else "its declared end"
            text = f"{called([actuator.name])} was sent to {beyond[0] * 1e6:.0f} µs, beyond {ends}."
            fix = "Narrow this channel's travel in the transmitter or the receiver: beyond its end a linkage may bind."
            yield Finding("pulse-outside-travel", "fail", text, fix)


def _remedy(reason: str) -> str:
    """Give what to do about evidence that does not decide."""
    if reason.startswith(PROMPTED):
        return "Record the receiver's channels too, as [columns.commands]: they stop with the link, to a few ms."
    if reason.startswith(STOPPED):
        return "Record more rows a second, and try it again."
    if reason.endswith(ROUGH):
        return "As [columns.commands] record the receiver's own channels, which stop with the link; and try it again."
    if "still moving" in reason:
        return "Leave the transmitter off for longer, and note that time in the prompt."
    return "Hold the sticks away from the middle, switch off, let go of them, wait three seconds, switch on."


def _thrust(actuator: Actuator, cuts: Sequence[Cut], channels: Mapping[str, Steps]) -> tuple[str, ...]:
    said = thrust_at_loss(actuator, cuts, channels[actuator.name])
    return (said,) if said else ()


def _is_doubtful(cut: Cut) -> bool:
    return bool(cut.still_on) or not cut.evidence


def _never_off(cuts: Sequence[Cut]) -> Iterator[Finding]:
    for cut in cuts:
        if cut.still_on:
            text = f"At {cut.start:.0f} s the transmitter was not off: {cut.still_on} meanwhile."
            fix = "Switch it off at its main switch, wait until its lamp is out, and note the time then."
            yield Finding("link-not-lost", "not shown", text, fix)
        elif not cut.evidence and cut.goings:
            text = (
                f"At {cut.start:.0f} s nothing changed: the transmitter was still on, or the receiver holds everything."
            )
            fix = "Hold the sticks away from the middle, switch off, let go of them, wait three seconds, switch on: a "
            fix += "receiver that holds then jumps when the link is back."
            yield Finding("link-not-lost", "not shown", text, fix)


def _undeclared(airframe: Airframe, cuts: Sequence[Cut]) -> Iterator[Finding]:
    declared = {} if airframe.link_loss is None else airframe.link_loss.goes_to
    free = [a.name for a in airframe.actuators if a.name not in declared]
    if free and cuts:
        text = f"Where {', '.join(free)} should go at loss of link is not declared."
        fix = "Decide it, write it under [link_loss], and measure again."
        yield Finding("link-loss-undeclared", "advice", text, fix)


def _not_back(cuts: Sequence[Cut]) -> Iterator[Finding]:
    for cut in cuts:
        moved = [name for name, g in cut.goings.items() if g.moves == 1 and not g.is_silent]
        if cut.back_at.value is None or _is_doubtful(cut) or not moved:
            continue
        if not any(cut.goings[name].back for name in moved):
            text = f"{called(moved)} did not come back within the prompt `transmitter on`."
            fix = "Note a longer time for it; if nothing comes back, the receiver has to be bound or powered anew."
            yield Finding("link-not-back", "not shown", text, fix)
