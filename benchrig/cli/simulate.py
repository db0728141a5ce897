"""`benchrig simulate`: a capture with known truth."""

from __future__ import annotations

from pathlib import Path

import click

FORMATS = ("csv", "parquet", "feather")
CAREFUL_SLOP_DEG = 3.0


def _list_faults(context: click.Context, _parameter: click.Parameter, wanted: bool) -> None:  # noqa: FBT001 - click's signature
    """Print every fault with its line of text, and stop."""
    if not wanted or context.resilient_parsing:
        return
    from benchrig.simulation.faults import FAULTS, usual_value  # noqa: PLC0415 - keeps the help light

    labels = {name: f"{name}{usual_value(kind)}" for name, kind in FAULTS.items()}
    width = max(map(len, labels.values()))
    for name, kind in FAULTS.items():
        click.echo(f"{labels[name]:<{width}}  {kind.text}")
    context.exit()


@click.command()
@click.argument("airframe", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="NAME of the files to make.")
@click.option("--fault", "faults", multiple=True, metavar="NAME[=VALUE]", help="Put a mistake in; may be repeated.")
@click.option("--seed", default=1, show_default=True, type=click.IntRange(min=0), help="Same seed, same files.")
@click.option("--rate", default=100.0, show_default=True, metavar="HZ", help="Rows a second.")
@click.option("--slop-deg", default=None, type=float, help="How far moves stray about other axes (sd) [8; --seen: 3].")
@click.option("--motion", "motions", multiple=True, help="Make these motions, in order, in place of the usual ones.")
@click.option("--rpm", default=None, type=float, help="Speed of the turntable, for turntable motions [33.333].")
@click.option("--format", "file_format", default="csv", show_default=True, type=click.Choice(FORMATS))
@click.option("--routine", is_flag=True, help="Name the motions without their times.")
@click.option("--seen", is_flag=True, help="Write down what the operator saw the actuators do.")
@click.option("--no-pulses", is_flag=True, help="Leave the recorded pulses out.")
@click.option("--operator", default="simulated", show_default=True, help="Who the manifest names.")
@click.option("--force", is_flag=True, help="Overwrite files that this command did not make.")
@click.option(
    "--list-faults", is_flag=True, is_eager=True, expose_value=False, callback=_list_faults, help="List them."
)
def simulate(
    *,
    airframe: Path,
    out: Path,
    faults: tuple[str, ...],
    seed: int,
    rate: float,
    slop_deg: float | None,
    motions: tuple[str, ...],
    rpm: float | None,
    file_format: str,
    routine: bool,
    seen: bool,
    no_pulses: bool,
    operator: str,
    force: bool,
) -> int:
    """Simulate a bench of AIRFRAME and write NAME.csv, NAME.toml and NAME.truth.toml.

    Nothing is recorded: the capture comes from a made-up operator and sensors of known truth, with the faults
    that are asked for. It never says anything about a real airframe.
    """
    # the work loads scipy, which the help must not wait for
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - see above
    from benchrig.simulation.bench import simulate as simulate_bench  # noqa: PLC0415 - see above
    from benchrig.simulation.faults import parse_faults  # noqa: PLC0415 - see above
    from benchrig.simulation.files import write_capture  # noqa: PLC0415 - see above
    from benchrig.simulation.options import DEFAULT_MOTIONS, Options  # noqa: PLC0415 - see above

    usual = Options()
    # whoever watches the servos moves with care, or could not say which axis they answer
    usual_slop = CAREFUL_SLOP_DEG if seen else usual.slop_deg
    options = Options(
        rate_hz=rate,
        slop_deg=usual_slop if slop_deg is None else slop_deg,
        motions=motions or DEFAULT_MOTIONS,
        routine=routine,
        seen=seen,
        pulses=not no_pulses,
        operator=operator,
        turntable_rpm=usual.turntable_rpm if rpm is None else rpm,
    )
    declared = read_airframe(airframe)
    bench = simulate_bench(declared, seed=seed, faults=parse_faults(faults, declared), options=options)
    written = write_capture(bench, out, file_format=file_format, force=force)
    for path in (written.manifest, written.stream, written.truth):
        click.echo(str(path))
    return 0
