"""One actuator's channel: everything that the sweeps and the stick of a recording show of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.recording import Prompt, Recording
from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe
from benchrig.measure.pulses.collective import Lift, collective_lifts, span_of
from benchrig.measure.pulses.estimate import Estimate, joined, unknown
from benchrig.measure.pulses.frame import Frame, frame_of
from benchrig.measure.pulses.latency import command_of, latency_of
from benchrig.measure.pulses.pulse_range import Kind, kind_by_centre
from benchrig.measure.pulses.steps import Steps, take_apart
from benchrig.measure.pulses.sweep import Sweep, measure_sweep

_NO_PULSES: Final = "no pulses of it were recorded: name its column under [columns.actuators]"
_BLANK: Final = "its column is blank or zero in every row"
_NO_SWEEP: Final = "no sweep moved it"


@dataclass(frozen=True, slots=True, eq=False)
class Channel:
    """What was measured of one actuator.

    Attributes
    ----------
    steps : Steps or None
        None where no pulses were recorded.
    sweeps : mapping of float to Sweep
        Those that moved it, by the start of their prompts, s.
    asked : int
        How many sweeps were labelled with its name.
    others : tuple of str
        What moved in its place, where a sweep of its own name left it still.
    centre, lowest, highest : Estimate, s
    speed : Estimate
        s of pulse per s.
    travel_time, latency : Estimate, s
    lift : Lift or None
        What `collective up` did; None where nothing was asked or nothing is claimed.
    """

    actuator: Actuator
    steps: Steps | None
    frame: Frame
    sweeps: Mapping[float, Sweep]
    asked: int
    others: tuple[str, ...]
    centre: Estimate
    lowest: Estimate
    highest: Estimate
    speed: Estimate
    travel_time: Estimate
    latency: Estimate
    lift: Lift | None

    @property
    def kind(self) -> Kind | None:
        """Wide or narrow pulses, as measured; None where it could be either, or is not shown."""
        middle = self.centre.value
        if (middle is None or self.actuator.drives == "rotor") and None not in (self.lowest.value, self.highest.value):
            middle = 0.5 * ((self.lowest.value or 0.0) + (self.highest.value or 0.0))
        return None if middle is None else kind_by_centre(middle)


def measure_channels(airframe: Airframe, recording: Recording) -> tuple[Channel, ...]:
    """Take every channel of a recording apart.

    Returns
    -------
    tuple of Channel
        In the order of the airframe file, one for each declared actuator.
    """
    last = float(recording.time[-1])
    steps = {name: take_apart(pulses, last) for name, pulses in recording.pulses.items()}
    commands = {name: take_apart(pulses, last) for name, pulses in recording.commands.items()}
    lifts = collective_lifts(airframe.actuators, recording.prompts, steps)
    return tuple(
        _channel(a, airframe, recording, steps=steps, commands=commands, lift=lifts.get(a.name))
        for a in airframe.actuators
    )


def sweeps_of(name: str, airframe: Airframe, prompts: Sequence[Prompt]) -> tuple[Prompt, ...]:
    """Give the sweeps that may speak of an actuator: its own, and those labelled with no actuator's name."""
    names = {a.name.casefold() for a in airframe.actuators}
    asked = [p for p in prompts if p.name == "sweep" and p.start is not None]
    return tuple(p for p in asked if p.label.casefold() == name.casefold() or p.label.casefold() not in names)


def _channel(
    actuator: Actuator,
    airframe: Airframe,
    recording: Recording,
    *,
    steps: Mapping[str, Steps],
    commands: Mapping[str, Steps],
    lift: Lift | None,
) -> Channel:
    channel = steps.get(actuator.name)
    prompts = sweeps_of(actuator.name, airframe, recording.prompts)
    own = [p for p in prompts if p.label.casefold() == actuator.name.casefold()]
    if channel is None:
        reason = _BLANK if actuator.name in recording.blank_pulses else _NO_PULSES
        none = unknown(reason)
        return Channel(
            actuator, None, Frame(None, None, reason), {}, len(own), (), none, none, none, none, none, none, None
        )
    row = float(np.median(np.diff(recording.time)))
    spans = {p.start or 0.0: span_of(p, recording.prompts) for p in prompts}
    sweeps, latency = _sweeps(actuator, channel, spans, commands, row)
    made = list(sweeps.values())
    lowest, highest = (joined([getattr(s, end) for s in made], _NO_SWEEP) for end in ("lowest", "highest"))
    speed = joined([s.speed for s in made], _NO_SWEEP)
    still = [p for p in own if not channel.stirs(*span_of(p, recording.prompts))]
    return Channel(
        actuator=actuator,
        steps=channel,
        frame=frame_of(channel.pulses, len(recording.time), row),
        sweeps=sweeps,
        asked=len(own),
        others=_moved_instead(actuator.name, still, recording.prompts, steps),
        centre=joined([s.centre for s in made], _NO_SWEEP),
        lowest=lowest,
        highest=highest,
        speed=speed,
        travel_time=_travel_time(lowest, highest, speed),
        latency=latency,
        lift=lift,
    )


def _sweeps(
    actuator: Actuator,
    channel: Steps,
    spans: Mapping[float, tuple[float, float]],
    commands: Mapping[str, Steps],
    row: float,
) -> tuple[dict[float, Sweep], Estimate]:
    """Take the sweeps of one channel apart, and measure its latency in those whose command is known."""
    sweeps, latencies = {}, []
    for begin, (start, end) in spans.items():
        command = commands.get(command_of(actuator.name, channel, commands, start, end) or "")
        sweep = measure_sweep(channel, start, end, command=command, is_motor=actuator.drives == "rotor")
        if sweep is None:
            continue
        sweeps[begin] = sweep
        if command is not None:
            latencies.append(latency_of(command, channel, start, end, row))
    return sweeps, joined(latencies, _no_latency(swept=bool(sweeps), commanded=bool(commands)))


def _moved_instead(
    name: str, still: Sequence[Prompt], prompts: Sequence[Prompt], steps: Mapping[str, Steps]
) -> tuple[str, ...]:
    moved = [
        other
        for prompt in still
        for other, channel in steps.items()
        if other != name and channel.stirs(*span_of(prompt, prompts))
    ]
    return tuple(dict.fromkeys(moved))


def _travel_time(lowest: Estimate, highest: Estimate, speed: Estimate) -> Estimate:
    if speed.value is None or speed.uncertainty is None:
        return unknown(speed.reason)
    if lowest.value is None or highest.value is None:
        return unknown("the two ends of its travel are not both known")
    travel = highest.value - lowest.value
    time = travel / speed.value
    return Estimate(time, time * speed.uncertainty / speed.value)


def _no_latency(*, swept: bool, commanded: bool) -> str:
    if not swept:
        return _NO_SWEEP
    if not commanded:
        return "no command was recorded beside the pulses: name its column under [columns.commands]"
    return "which recorded command it answers is not clear: name the command's column after the actuator"
