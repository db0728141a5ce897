"""The radio link: where every switch sends the channels, and where they go when the transmitter is switched off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig import __version__
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.measure.actuators.measure import ENERGISED, require_actuators, require_times
from benchrig.measure.guard_band import DEVIATIONS
from benchrig.measure.link.cut import Cut, cuts_of
from benchrig.measure.link.faults import loss_faults, travel_faults
from benchrig.measure.link.figures import link_figures
from benchrig.measure.link.loss import NEAR, TOLERANCE, loss_entries, loss_quantities
from benchrig.measure.link.switch import SAME, Switch, labels_of, switch_faults, switch_quantities, switches_of
from benchrig.measure.measurement import Evidence, Measurement, Quantity
from benchrig.measure.pulses.missing import missing_pulses
from benchrig.measure.pulses.steps import SHORTEST_HOLD, SLOPPINESS, Steps, take_apart
from benchrig.outcome import Finding, Outcome, gravest_first

MOTOR: Final = (
    "A motor may start when the link is lost or restored: take propellers and blades off, or disconnect the motor, "
    "before you touch the transmitter's switch."
)


@dataclass(frozen=True, slots=True, eq=False)
class _Link:
    """A recording taken apart."""

    channels: Mapping[str, Steps]
    commands: Mapping[str, Steps]
    cuts: tuple[Cut, ...]
    switches: tuple[Switch, ...]
    labels: tuple[str, ...]


def measure_link(airframe: Airframe, recording: Recording) -> Measurement:
    """Measure what switches and a lost link do.

    Parameters
    ----------
    airframe : Airframe
    recording : Recording
        With the motions `switch` (labelled with the switch's name), `transmitter off` and `transmitter on`.

    Returns
    -------
    Measurement

    Raises
    ------
    AirframeFileError
        If no actuator is declared.
    CaptureError
        If the motions have no times.
    """
    require_actuators(airframe)
    require_times(recording)
    link = _take_apart(airframe, recording)
    tried = link.cuts or airframe.link_loss is not None
    losses = tuple(loss_quantities(airframe, link.cuts, link.channels)) if tried else ()
    findings = gravest_first(_findings(airframe, recording, link, losses))
    failed = any(f.severity == "fail" for f in findings) or any(q.outcome is Outcome.FAIL for q in losses)
    return Measurement(
        kind="link",
        title="Switches and the lost link",
        airframe_name=airframe.name,
        airframe=Evidence(airframe.source.file, airframe.source.sha256),
        evidence=(Evidence(recording.manifest, recording.sha256),),
        quantities=(*losses, *(q for switch in link.switches for q in switch_quantities(switch))),
        findings=findings,
        figures=tuple(link_figures(recording.prompts, link.cuts, link.switches, link.channels)),
        # what fails must not be made right by declaring it
        entries=() if failed else tuple(loss_entries(airframe, link.cuts, link.channels)),
        unknown=_unknown(link, failed=failed),
        method=_method(),
        cautions=(MOTOR, *ENERGISED),
        software={"benchrig": __version__},
    )


def _take_apart(airframe: Airframe, recording: Recording) -> _Link:
    row, last = float(np.median(np.diff(recording.time))), float(recording.time[-1])
    pulses = {a.name: recording.pulses[a.name] for a in airframe.actuators if a.name in recording.pulses}
    channels = {name: take_apart(one, last) for name, one in pulses.items()}
    commands = {name: take_apart(one, last) for name, one in recording.commands.items()}
    return _Link(
        channels=channels,
        commands=commands,
        cuts=cuts_of(recording.prompts, channels, commands, row),
        switches=switches_of(recording.prompts, channels, commands, row),
        labels=labels_of(recording.prompts),
    )


def _findings(airframe: Airframe, recording: Recording, link: _Link, losses: Sequence[Quantity]) -> list[Finding]:
    return [
        *missing_pulses(airframe, recording),
        *loss_faults(airframe, link.cuts, losses, link.channels),
        *travel_faults(airframe, link.channels, recording.prompts),
        *switch_faults(link.switches, link.labels, tuple(link.channels)),
        *_nothing_done(link),
    ]


def _nothing_done(link: _Link) -> Iterator[Finding]:
    if not link.cuts:
        text = "The transmitter was never switched off" + ("." if link.labels else ", and no switch was flipped.")
        fix = "Record the motions `transmitter off` and `transmitter on`, three seconds each."
        yield Finding("link-not-tried", "not shown", text, fix)


def _unknown(link: _Link, *, failed: bool) -> tuple[str, ...]:
    told = ["Lines for the airframe file: none is given while something fails."] if failed else []
    told += ["At what distance or under what disturbance the link is lost: a bench shows only what follows."]
    if link.cuts and not link.commands:
        told.append(
            "The instant of the loss, but for the prompt's half second: record the receiver's channels as commands, "
            "which stop with the link."
        )
    told.append("What a stopped or held pulse does to a servo or a motor controller: that is the maker's choice.")
    return tuple(told)


def _method() -> tuple[str, ...]:
    practice = "by common practice, without a published source"
    near, same = f"{TOLERANCE * 1e6:.0f} µs", f"{SAME * 1e6:.0f} µs"
    return (
        f"A channel stands where its pulse stays for {SHORTEST_HOLD} s or more.",
        "The link is lost if commands stop, or a channel goes elsewhere once and stays, or jumps at `transmitter on`.",
        "A channel that goes on moving, or follows a command, shows that the transmitter was never off.",
        f"Prompt times are a person's: good to {SLOPPINESS} s.",
        f"A channel must be within {near} of where it should go by {DEVIATIONS:.0f} standard deviations, {practice}.",
        "A motor that gives more thrust while the link is lost than at rest or before fails, whatever is declared.",
        "Its rest is `centre_us`, else `lowest_us`, else the least at which it stood in the recording.",
        f"It must have come from {NEAR * 1e6:.0f} µs away or more: else going there and staying look alike.",
        f"Places within {same} are one position of a switch, {practice}.",
    )
