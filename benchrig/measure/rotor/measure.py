"""Rotor frequencies from the declared motor and gears, and the vibration lines of a recording that they explain."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig import __version__
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.errors import AirframeFileError, Problem, UsageError
from benchrig.measure.measurement import Evidence, Measurement
from benchrig.measure.noise.spectrum import LONGEST_SEGMENT
from benchrig.measure.noise.vibration import FALSE_ALARM, LEAST_RISE
from benchrig.measure.noise.vibration_figure import spectrum_figures
from benchrig.measure.rotor.findings import findings_of
from benchrig.measure.rotor.match import LARGEST_CHANCE, SPEED_MARGIN, sources_of
from benchrig.measure.rotor.quantities import declared_quantities, recorded_quantities
from benchrig.measure.rotor.run import LOWEST, Run, Turning, run_of

CAUTIONS: Final = (
    "A motor that runs for this turns all it drives: first take off the main and tail blades, and whatever is loose.",
    "Bind the airframe to the bench before the motor gets power, and cut the power before a hand comes near.",
    "Where the maker does not allow the motor to run without blades, do not run it: take the frequencies alone.",
    "Without its load a motor overspeeds: raise the speed slowly, and stay out of the plane of the rotor head.",
    "Wear goggles, and let a second person stand ready to cut the power.",
)
"""Common practice, without a published source; the makers' manuals and local rules come first."""

UNGEARED: Final = ("aeroplane", "multirotor")
"""Kinds of airframe whose file takes no [rotor]: a recording's lines are told alone."""


def measure_rotor(airframe: Airframe, recording: Recording | None = None) -> Measurement:
    """Work out the rotor's frequencies, and find them in a recording.

    Parameters
    ----------
    airframe : Airframe
        With ``motor_rpm`` and the gears' teeth in ``[rotor]``; without them a recording's lines are told alone.
    recording : Recording or None
        Of the airframe bound to the bench, the motor running and the blades off.

    Returns
    -------
    Measurement

    Raises
    ------
    AirframeFileError
        If the motor's speed and gears are not declared and there is no recording either.
    UsageError
        If the airframe is of a kind that has no gears to declare, and there is no recording.

    References
    ----------
    Main rotor = motor × pinion ÷ main gear (trade arithmetic). A line at f is seen at |f − fs·round(f/fs)| (sampling
    theorem).
    """
    declared = declared_turn(airframe)
    if declared is None and recording is None:
        raise _nothing_to_go_by(airframe)
    sources = sources_of(airframe.rotor) if airframe.rotor is not None and declared is not None else ()
    run = None if recording is None else run_of(airframe, recording, Turning(sources, declared))
    known = [] if declared is None else declared_quantities(Turning(sources, declared))
    return Measurement(
        kind="rotor",
        title="Rotor frequencies and vibration",
        airframe_name=airframe.name,
        airframe=Evidence(airframe.source.file, airframe.source.sha256),
        evidence=() if recording is None else (Evidence(recording.manifest, recording.sha256),),
        quantities=(
            *known,
            *([] if run is None else recorded_quantities(run, has_gears=airframe.kind not in UNGEARED)),
        ),
        findings=() if run is None else findings_of(run),
        figures=() if run is None or run.spectrum is None else spectrum_figures(run.spectrum, run.lines),
        entries=(),
        unknown=_unknown(airframe, declared, run),
        method=_method(airframe, run),
        cautions=CAUTIONS,
        software={"benchrig": __version__},
    )


def _nothing_to_go_by(airframe: Airframe) -> AirframeFileError | UsageError:
    if airframe.kind in UNGEARED:
        finding = f"gears can be declared for a helicopter's main rotor alone, not for kind {airframe.kind}"
        act = "give a recording of a run: its lines can be told without"
        return UsageError(Problem(airframe.source.file.name, finding, act=act))
    finding = "[rotor] motor_rpm, pinion_teeth and main_gear_teeth are not all declared, and there is no recording"
    act = "write them, or give a recording: its lines can be told without"
    return AirframeFileError(Problem(airframe.source.file.name, finding, act=act))


def declared_turn(airframe: Airframe) -> float | None:
    """Give how often the main rotor turns in a second as declared, Hz; None where that is not declared."""
    rotor = airframe.rotor
    if rotor is None or rotor.motor_rate is None or rotor.gear_ratio is None:
        return None
    return rotor.motor_rate / rotor.gear_ratio / (2 * np.pi)


def _unknown(airframe: Airframe, declared: float | None, run: Run | None) -> tuple[str, ...]:
    has_gears = airframe.kind not in UNGEARED
    sentences = ["Blades that are off shake nothing: what they will do in flight does not show on the bench."]
    if has_gears:
        sentences.insert(
            0, "The tail rotor's and the gears' own frequencies are not told: their gearing is not declared."
        )
    if declared is not None:
        sentences.append(
            "The declared speed of the motor is taken as it stands; under another load it turns at another."
        )
    if run is None:
        sentences.append("Without a recording nothing was measured: the frequencies are worked out alone.")
    else:
        sentences.append(
            f"A line below {LOWEST:g} Hz is not looked for, and one that folds to below it looks like a slow drift."
        )
        sentences.append("The unit's own filter weakens fast vibration first: sizes are as the unit gives them.")
        if declared is None and has_gears:
            sentences.append("Which lines are the rotor's: its motor_rpm and gears are not declared.")
        elif declared is None:
            sentences.append("Which lines are a motor's: gears can be declared for a helicopter's main rotor alone.")
    return tuple(sentences)


def _method(airframe: Airframe, run: Run | None) -> tuple[str, ...]:
    geared = ["Main rotor = motor × pinion teeth ÷ main gear teeth, in turns a second; twice a turn is twice that."]
    sentences = geared if airframe.kind not in UNGEARED else []
    if run is None:
        return tuple(sentences)
    spectra = (
        f"Spectra of segments of up to {LONGEST_SEGMENT:g} s (Blackman-Harris window, three quarters of overlap) are "
        "averaged; the floor is a running median."
    )
    rise = (
        f"White noise shows a line in at most {FALSE_ALARM:.1%} of all recordings; a line stands "
        f"{10 * np.log10(LEAST_RISE):.0f} dB above the floor."
    )
    fold = f"A frequency f is seen at |f − fs·round(f/fs)|, with fs = {run.rate:.6g} Hz here."
    speed = (
        f"The rotor's speed is looked for within {SPEED_MARGIN:.0%} of the declared one, and taken only if lines of "
        f"chance would fit as well in less than {LARGEST_CHANCE:.0%} of all cases."
    )
    sentences += [spectra, rise, fold, *([speed] if sentences else [])]
    return tuple(sentences)
