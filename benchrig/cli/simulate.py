"""`benchrig simulate`: a capture with known truth."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

FORMATS = ("csv", "parquet", "feather")
CAREFUL_SLOP_DEG = 3.0


def _list_faults(context: click.Context, _parameter: click.Parameter, wanted: bool) -> None:  # noqa: FBT001 - click's signature
    """Print every fault with its line of text, and stop."""
    if not wanted or context.resilient_parsing:
        return
    from benchrig.simulation.fault_list import FAULTS  # noqa: PLC0415 - keeps the help light
    from benchrig.simulation.faults import usual_value  # noqa: PLC0415 - the same

    labels = {name: f"{name}{usual_value(kind)}" for name, kind in FAULTS.items()}
    width = max(map(len, labels.values()))
    for name, kind in FAULTS.items():
        click.echo(f"{labels[name]:<{width}}  {kind.text}")
    context.exit()


def _place(_context: click.Context, parameter: click.Parameter, text: str | None) -> tuple[float, float, float] | None:
    """Read direction words with their distances."""
    if text is None:
        return None
    from benchrig.simulation.places import parse_place  # noqa: PLC0415 - keeps the help light

    return parse_place(parameter.opts[0], text)


def _field(_context: click.Context, parameter: click.Parameter, text: str | None) -> tuple[float, float, float] | None:
    """Read compass points with the field along each."""
    if text is None:
        return None
    from benchrig.simulation.places import parse_field  # noqa: PLC0415 - keeps the help light

    return parse_field(parameter.opts[0], text)


# every option but those of the files goes by the name of its field of `Options`; what is not given is left to that
@click.command()
@click.argument("airframe", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="NAME of the files to make.")
@click.option("--live", is_flag=True, help="Make no files: be a unit at a port, and move when a motion is typed.")
@click.option("--device", type=click.Path(path_type=Path), help="With --live: what it sends; written if not there.")
@click.option("--port", type=click.Path(path_type=Path), help="With --live: a name that leads to its port.")
@click.option("--sends", type=click.Choice(("frames", "lines")), help="With --live: the form of a new --device.")
@click.option("--fault", "faults", multiple=True, metavar="NAME[=VALUE]", help="Put a mistake in; may be repeated.")
@click.option("--seed", default=1, show_default=True, type=click.IntRange(min=0), help="Same seed, same files.")
@click.option("--unit-seed", type=click.IntRange(min=0), help="Same unit, whatever the seed of the bench [the seed].")
@click.option("--rate", "rate_hz", type=float, metavar="HZ", help="Rows a second [100].")
@click.option("--slop-deg", type=float, help="How far moves stray about other axes (sd) [8; --seen: 3].")
@click.option("--rest-s", type=float, metavar="S", help="How long the airframe lies in level and other poses [2 to 3].")
@click.option("--motion", "motions", multiple=True, help="Make these motions, in order, in place of the usual ones.")
@click.option("--rpm", "turntable_rpm", type=float, help="Speed of the turntable [33.333].")
@click.option(
    "--rpm-unknown", "turntable_rpm_declared", flag_value=False, default=True, help="Leave it out of the manifest."
)
@click.option("--spin-s", type=float, metavar="S", help="How long the turntable turns [10].")
@click.option("--turntable-tilt-deg", type=float, metavar="DEG", help="How far the turntable leans [0.3].")
@click.option("--turntable-pivot-mm", "turntable_pivot", callback=_place, metavar="PLACE", help="Its axis [the CG].")
@click.option(
    "--turntable-pivot-unknown", "turntable_pivot_declared", flag_value=False, default=True, help="Leave the axis out."
)
@click.option("--posture", metavar="POSE", help="How the airframe stands on the turntable [level].")
@click.option("--swing-pivot-mm", "pivot", callback=_place, metavar="PLACE", help="What it swings about [up=120].")
@click.option("--hang-point-mm", "hang_point", callback=_place, metavar="PLACE", help="What it hangs from [up=120].")
@click.option("--link-delay-s", type=float, metavar="S", help="From a lost link to what the receiver then does [0.5].")
@click.option("--field-ut", callback=_field, metavar="FIELD", help="The earth's field, like north=20,down=45.")
@click.option("--format", "file_format", default="csv", show_default=True, type=click.Choice(FORMATS))
@click.option("--routine", is_flag=True, help="Name the motions without their times.")
@click.option("--seen", is_flag=True, help="Write down what the operator saw the actuators do.")
@click.option("--no-pulses", "pulses", flag_value=False, default=True, help="Leave the recorded pulses out.")
@click.option("--commands", is_flag=True, help="Record what was commanded beside the pulses.")
@click.option("--operator", help="Who the manifest names [simulated].")
@click.option("--force", is_flag=True, help="Overwrite files that this command did not make.")
@click.option(
    "--list-faults", is_flag=True, is_eager=True, expose_value=False, callback=_list_faults, help="List them."
)
def simulate(
    *,
    airframe: Path,
    out: Path | None,
    live: bool,
    faults: tuple[str, ...],
    seed: int,
    file_format: str,
    force: bool,
    **asked: Any,  # noqa: ANN401 - each value is what its option above says, and `Options` checks it
) -> int:
    """Simulate a bench of AIRFRAME and write NAME.csv, NAME.toml and NAME.truth.toml.

    Nothing is recorded: the capture comes from a made-up operator and sensors of known truth, with the faults
    that are asked for. It never says anything about a real airframe. A PLACE is so many mm from the centre of
    gravity, such as aft=180,up=25.

    With --live nothing is written: rows are sent over a port, for `benchrig record` to be tried without hardware.
    """
    # the work loads scipy, which the help must not wait for
    from benchrig.cli.live_unit import Live, run_live  # noqa: PLC0415 - see above
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - see above
    from benchrig.simulation.faults import parse_faults  # noqa: PLC0415 - see above
    from benchrig.simulation.options import Options  # noqa: PLC0415 - see above

    of_live = Live(asked.pop("device"), asked.pop("port"), asked.pop("sends"))
    of_live.refuse_misuse(live=live, files=out is not None, given=_typed())
    given = {name: value for name, value in asked.items() if value is not None and value != ()}
    if asked["seen"]:
        # whoever watches the servos moves with care, or could not say which axis they answer
        given.setdefault("slop_deg", CAREFUL_SLOP_DEG)
    declared, options = read_airframe(airframe), Options(**given)
    chosen = parse_faults(faults, declared)
    if out is None:
        return run_live(declared, of_live, seed, chosen, options)
    from benchrig.simulation.bench import simulate as simulate_bench  # noqa: PLC0415 - see above
    from benchrig.simulation.files import write_capture  # noqa: PLC0415 - see above

    bench = simulate_bench(declared, seed=seed, faults=chosen, options=options)
    written = write_capture(bench, out, file_format=file_format, force=force)
    for path in (written.manifest, written.stream, written.truth):
        click.echo(str(path))
    return 0


def _typed() -> list[str]:
    """Give the names of the parameters that stand on the command line."""
    context = click.get_current_context()
    from_line = click.core.ParameterSource.COMMANDLINE
    return [name for name in context.params if context.get_parameter_source(name) is from_line]
