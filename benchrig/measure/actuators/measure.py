"""The servos and motors: centre, ends, sense and speed, from sweeps and from the stick that lifts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from benchrig import __version__
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.errors import AirframeFileError, CaptureError, Problem
from benchrig.measure.actuators.faults import faults_of
from benchrig.measure.actuators.figures import figures_of
from benchrig.measure.actuators.lifting import (
    LARGEST_MISFIT,
    LARGEST_TILT,
    Raise,
    level_of,
    lifting_faults,
    plate_of,
    raises_of,
)
from benchrig.measure.actuators.pace import LONG, SLOW, slow_ones
from benchrig.measure.actuators.quantities import CENTRE_TOLERANCE, END_TOLERANCE, entries_of, quantities_of
from benchrig.measure.measurement import Evidence, Measurement
from benchrig.measure.pulses.channel import Channel, measure_channels
from benchrig.measure.pulses.missing import missing_pulses
from benchrig.measure.pulses.naming import called
from benchrig.measure.pulses.plate import ENOUGH, lifting_sense
from benchrig.measure.pulses.pulse_range import WINDOWS
from benchrig.measure.pulses.steps import SHORTEST_HOLD
from benchrig.outcome import Finding, Outcome, gravest_first

ENERGISED: Final = (
    "A servo under power moves without warning, with all its force: keep fingers and tools out of links and horns.",
    "A channel that drives a motor runs it: take propellers and blades off, or disconnect the motor, before any sweep.",
    "A servo that hums, stalls or grows hot: cut the power at once, its travel is too long for the linkage.",
)
_FOUR: Final = (
    "Four servos on one plate: take the links off before one of them is swept alone, or they fight and break."
)

_PRACTICE: Final = "by common practice, without a published source"


def measure_actuators(airframe: Airframe, recording: Recording) -> Measurement:
    """Measure every declared actuator's pulses.

    Parameters
    ----------
    airframe : Airframe
    recording : Recording
        With the motions `sweep` (labelled with an actuator's name, or with another word where several move at once)
        and `collective up`.

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
    channels = measure_channels(airframe, recording)
    raises = raises_of(channels)
    quantities = [q for channel in channels for q in quantities_of(channel)]
    quantities += [q for raised in raises for q in level_of(raised)]
    four = len(plate_of(channels)) > ENOUGH
    findings = gravest_first(_findings(airframe, recording, channels, raises))
    failed = any(f.severity == "fail" for f in findings) or any(q.outcome is Outcome.FAIL for q in quantities)
    return Measurement(
        kind="actuators",
        title="Servos and motors",
        airframe_name=airframe.name,
        airframe=Evidence(airframe.source.file, airframe.source.sha256),
        evidence=(Evidence(recording.manifest, recording.sha256),),
        quantities=tuple(quantities),
        findings=findings,
        figures=tuple(figures_of(channels, recording.prompts)),
        # what fails must not be made right by declaring it
        entries=() if failed else tuple(e for channel in channels for e in entries_of(channel)),
        unknown=tuple(_unknown(channels, recording, failed=failed)),
        method=_method(),
        cautions=(*ENERGISED, _FOUR) if four else ENERGISED,
        software={"benchrig": __version__},
    )


def require_actuators(airframe: Airframe) -> None:
    """Refuse an airframe that declares nothing that moves."""
    if not airframe.actuators:
        act = "declare each servo and motor as [[actuator]], then name its column in the manifest"
        place = airframe.source.file.name
        raise AirframeFileError(Problem(place, "no actuator is declared, so there is nothing to measure", act=act))


def require_times(recording: Recording) -> None:
    """Refuse a recording whose motions are a routine: which channel was moved when is not there to be found."""
    if recording.is_routine:
        act = "write each step as [[motion]] with start_s, end_s and label"
        finding = "`routine` gives no times, and this measurement needs them"
        raise CaptureError(Problem(recording.manifest.name, finding, act=act))


def _findings(
    airframe: Airframe, recording: Recording, channels: Sequence[Channel], raises: Sequence[Raise]
) -> list[Finding]:
    return [
        *missing_pulses(airframe, recording),
        *lifting_faults(channels, raises),
        *(f for channel in channels for f in faults_of(channel)),
        *slow_ones(channels),
        *_nothing_done(channels),
        *_slow_rows(channels),
    ]


def _nothing_done(channels: Sequence[Channel]) -> Iterator[Finding]:
    """Name what was recorded and never swept."""
    unswept = [c.actuator.name for c in channels if c.steps is not None and not c.sweeps and not c.others]
    if unswept:
        fix = "Move each from its centre to both ends and back, as a motion `sweep` whose label is its name."
        yield Finding("sweep-missing", "not shown", f"No sweep moved {', '.join(unswept)}.", fix)


def _slow_rows(channels: Sequence[Channel]) -> Iterator[Finding]:
    fast = [c for c in channels if c.frame.is_too_fast]
    if fast:
        text = f"{called(c.actuator.name for c in fast)}: {fast[0].frame.reason}."
        fix = "Record at least three rows for each pulse (150 a second for pulses at 50 Hz), or only the new pulses."
        yield Finding("recording-too-slow", "advice", text, fix)


def _unknown(channels: Sequence[Channel], recording: Recording, *, failed: bool) -> Iterator[str]:
    if failed:
        yield "Lines for the airframe file: none is given while something fails."
    yield "What an arm, a link or the plate itself does is not in the pulses: look at it, with your hands off."
    yield "How fast a servo's arm follows is not in the pulses: the speed is that of the pulse alone."
    lifting = [c.actuator.name for c in channels if lifting_sense(c.actuator)]
    if lifting and not any(p.name == "collective up" for p in recording.prompts):
        names = ", ".join(lifting)
        yield f"Which way {names} lift: a sweep has no sense of its own; record the motion `collective up`."
    once = [c.actuator.name for c in channels if c.lift is not None and c.lift.looks == 1]
    if once:
        names = ", ".join(once)
        yield f"Whether {names} go so again: collective up was recorded once, and one look is one person's word."
    others = [c.actuator.name for c in channels if not lifting_sense(c.actuator)]
    if others:
        yield f"What a longer pulse does with {', '.join(others)}: no sweep shows it; `benchrig check` does."
    if len({c.kind for c in plate_of(channels)} - {None}) > 1:
        yield "How level the plate rises: some of its servos get narrow pulses and some wide ones: they do not compare."
    if len(plate_of(channels)) >= ENOUGH:
        yield "Where round the plate each servo sits: all lift alike, so only tilts show it; `benchrig check` does."


def _method() -> tuple[str, ...]:
    windows = " and ".join(f"{a * 1e6:.0f}–{b * 1e6:.0f} µs ({kind})" for kind, (a, b) in WINDOWS.items())
    return (
        f"A channel stands where its pulse stays for {SHORTEST_HOLD} s or more; ends and centre are such stands.",
        "The speed is the slope of a straight line through the renewed pulses of a long move, from 10 % to 90 % of it.",
        "An answer counts from the change of the command to the first changed pulse, the wait for its frame included.",
        f"Centres are held to {CENTRE_TOLERANCE * 1e6:.0f} µs, ends to {END_TOLERANCE * 1e6:.0f} µs, {_PRACTICE}.",
        f"Pulses are told apart by their centres, and lie within {windows}, {_PRACTICE}; they are never scaled.",
        f"A plane laid through the lifts of a plate's servos may tilt by {LARGEST_TILT:.0%} of its lift, {_PRACTICE}.",
        f"Four servos or more may lie {LARGEST_MISFIT * 1e6:.0f} µs off that plane, {_PRACTICE}.",
        f"A channel that takes {SLOW} times as long as those that drive the like is named, {_PRACTICE}.",
        f"One that takes more than {LONG:g} s for its travel is named too, {_PRACTICE}.",
    )
