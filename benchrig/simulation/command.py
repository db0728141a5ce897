"""The command line that makes a simulated bench again."""

from __future__ import annotations

from benchrig.simulation.bench import Simulated
from benchrig.simulation.options import Options
from benchrig.simulation.places import field_written, written


def command_of(simulated: Simulated, name: str, file_format: str = "csv") -> str:
    """Write the command line that makes a bench again; what is as usual is left out."""
    options, usual = simulated.options, Options()
    words = ["benchrig simulate", simulated.airframe.source.file.name, "--out", name, "--seed", str(simulated.seed)]
    for fault in simulated.faults.chosen:
        words += ["--fault", _quoted(str(fault))]
    if options.motions != usual.motions:
        for motion in options.motions:
            words += ["--motion", _quoted(motion)]
    words += _numbers(options, usual) + _places(options, usual)
    if options.posture != usual.posture:
        words += ["--posture", _quoted(options.posture)]
    if options.field_ut != usual.field_ut:
        words += ["--field-ut", field_written(options.field_ut)]
    if options.operator != usual.operator:
        words += ["--operator", f'"{options.operator}"']
    words += ["--format", file_format] if file_format != "csv" else []
    words += [flag for flag, wanted in _switches(options) if wanted]
    return " ".join(words)


def _quoted(text: str) -> str:
    return f'"{text}"' if " " in text else text


def _numbers(options: Options, usual: Options) -> list[str]:
    numbers = (
        ("--unit-seed", options.unit_seed, usual.unit_seed),
        ("--rate", options.rate_hz, usual.rate_hz),
        ("--slop-deg", options.slop_deg, usual.slop_deg),
        ("--rest-s", options.rest_s, usual.rest_s),
        ("--rpm", options.turntable_rpm, usual.turntable_rpm),
        ("--turntable-tilt-deg", options.turntable_tilt_deg, usual.turntable_tilt_deg),
        ("--spin-s", options.spin_s, usual.spin_s),
        ("--link-delay-s", options.link_delay_s, usual.link_delay_s),
    )
    return [word for flag, value, otherwise in numbers if value != otherwise for word in (flag, repr(value))]


def _places(options: Options, usual: Options) -> list[str]:
    places = (
        ("--turntable-pivot-mm", options.turntable_pivot, usual.turntable_pivot),
        ("--swing-pivot-mm", options.pivot, usual.pivot),
        ("--hang-point-mm", options.hang_point, usual.hang_point),
    )
    return [word for flag, place, otherwise in places if place != otherwise for word in (flag, written(place))]


def _switches(options: Options) -> tuple[tuple[str, bool], ...]:
    return (
        ("--routine", options.routine),
        ("--seen", options.seen),
        ("--no-pulses", not options.pulses),
        ("--commands", options.commands),
        ("--rpm-unknown", not options.turntable_rpm_declared),
        ("--turntable-pivot-unknown", not options.turntable_pivot_declared),
    )
