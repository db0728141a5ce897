"""What is wrong with one channel, in the builder's words: what was declared, what the sweep showed, what to do."""

from __future__ import annotations

from collections.abc import Iterator

from benchrig.measure.actuators.quantities import quantities_of
from benchrig.measure.pulses.channel import Channel
from benchrig.measure.pulses.naming import called
from benchrig.measure.pulses.pulse_range import (
    ANALOGUE_PERIOD,
    LONGEST_OF_ANY,
    SHORTEST_OF_ANY,
    WINDOWS,
    fits_frame,
    kind_of,
    lies_within,
)
from benchrig.outcome import Finding, Outcome


def faults_of(channel: Channel) -> Iterator[Finding]:
    """Name what the sweeps show to be wrong with one channel, and what they could not show of it."""
    kinds = list(_kind_faults(channel))
    yield from kinds
    if not kinds:
        yield from _declared_faults(channel)
        yield from _unsteady(channel)
    yield from _frame_faults(channel)
    yield from _missing(channel)


def _kind_faults(channel: Channel) -> Iterator[Finding]:
    """Tell narrow pulses from wide ones: a servo driven by the other kind stands at its stop, or hardly moves."""
    name, declared, found = channel.actuator.name, kind_of(channel.actuator), channel.kind
    worst = _no_servo_takes(channel)
    if worst is not None:
        text = f"{called([name])} gets pulses of {worst * 1e6:.0f} µs; servos and motor controllers take "
        text += f"{SHORTEST_OF_ANY * 1e6:.0f} to {LONGEST_OF_ANY * 1e6:.0f} µs. Nothing was scaled."
        fix = "Leave the servo unplugged: it would be driven into its stop, stall and burn. Look at the column's unit "
        fix += "and at the counter that reads the pulses (one of twice the length is often counted in half "
        fix += "microseconds); if the number is true, correct the unit's output first."
        yield Finding("pulse-length-wrong", "fail", text, fix)
        return
    if declared is not None and found is not None and declared != found:
        middle = (channel.centre.value or channel.lowest.value or 0.0) * 1e6
        text = f"{called([name])} is declared with {declared} pulses and gets {found} ones, about {middle:.0f} µs. "
        text += "Nothing was scaled."
        fix = (
            f"Read on the servo's own sheet which kind it takes. If {declared}, set the unit's output of {name} to it "
        )
        fix += f"before the servo is plugged in; if {found}, correct `centre_us` and the ends in the airframe file."
        yield Finding("pulse-kind-differs", "fail", text, fix)
        return
    kind = found or declared
    low, high = channel.lowest.value, channel.highest.value
    if kind is None or low is None or high is None or lies_within(kind, low, high):
        return
    window = "–".join(f"{edge * 1e6:.0f}" for edge in WINDOWS[kind])
    text = f"{called([name])} goes from {low * 1e6:.0f} to {high * 1e6:.0f} µs; {kind} pulses lie within {window} µs."
    fix = "Look up what the servo takes; beyond that it may stall at its stop. Narrow the travel in the unit."
    yield Finding("pulse-outside-window", "advice", text, fix)


def _no_servo_takes(channel: Channel) -> float | None:
    """Give the centre of a channel, else the place that it holds for longest, where no servo takes such pulses, s."""
    if channel.steps is None or not channel.steps.holds:
        return None
    longest = max(channel.steps.holds, key=lambda hold: hold.end - hold.start)
    stands = longest.value if channel.centre.value is None else channel.centre.value
    return None if SHORTEST_OF_ANY <= stands <= LONGEST_OF_ANY else stands


def _declared_faults(channel: Channel) -> Iterator[Finding]:
    wrong = [q for q in quantities_of(channel) if q.declared is not None and q.outcome is Outcome.FAIL]
    if wrong:
        parts = [f"{q.name.partition(', ')[2]} {q.value:.0f} µs, declared {q.declared:.0f} µs" for q in wrong]
        fix = "Set the channel's centre and travel in the unit; or, if they are as you want them, correct the file."
        yield Finding("actuator-travel-differs", "fail", f"{called([channel.actuator.name])}: {'; '.join(parts)}.", fix)


def _unsteady(channel: Channel) -> Iterator[Finding]:
    for quantity in quantities_of(channel):
        if (
            quantity.outcome is Outcome.NOT_SHOWN
            and quantity.declared is not None
            and quantity.reason
            and quantity.value
        ):
            text = f"{called([quantity.name])}: {quantity.reason}."
            fix = "Switch the unit's own levelling off, or set the airframe level, and sweep again."
            yield Finding("centre-unsteady", "not shown", text, fix)


def _frame_faults(channel: Channel) -> Iterator[Finding]:
    period, name = channel.frame.period, channel.actuator.name
    if period is None:
        return
    longest = float(channel.steps.pulses.width.max()) if channel.steps is not None else 0.0
    if not fits_frame(longest, period):
        text = f"{called([name])}: a pulse of {longest * 1e6:.0f} µs does not fit in a frame of about "
        text += f"{period * 1e6:.0f} µs."
        fix = "One of the two is misread: look at the units of the columns. If both are right, lower the pulse rate."
        yield Finding("pulse-frame-short", "fail", text, fix)
    elif period < ANALOGUE_PERIOD:
        text = f"{called([name])} gets {1 / period:.0f} pulses a second."
        fix = "Only digital servos and motor controllers take more than about 66; an analogue servo may burn."
        yield Finding("pulse-rate-high", "advice", text, fix)


def _missing(channel: Channel) -> Iterator[Finding]:
    name = channel.actuator.name
    if channel.others:
        text = f"The sweep labelled {name} did not move it, and moved {', '.join(channel.others)}."
        fix = "Compare the plugs and the names of the columns; or correct the `label` of the sweep."
        yield Finding("sweep-of-another", "not shown", text, fix)
        return
    wanted = [channel.lowest, channel.highest]
    if channel.actuator.drives != "rotor":  # a motor may rest at its lowest pulse
        wanted.insert(0, channel.centre)
    open_ = [e.reason for e in wanted if e.value is None]
    if channel.asked and channel.sweeps and open_:
        text = f"{called([name])}: {'; '.join(dict.fromkeys(open_))}."
        fix = "Sweep it again: from the centre to each end, half a second's stay at each, and back to the centre."
        yield Finding("sweep-incomplete", "not shown", text, fix)
