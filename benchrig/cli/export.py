"""`benchrig export`: a capture as text or Parquet, for other programs."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("capture", type=click.Path(path_type=Path))
@click.option("--out", required=True, type=click.Path(path_type=Path), help="The new stream: NAME.csv or NAME.parquet.")
@click.option("--until-damage", is_flag=True, help="Write what stands before the damage of a damaged recording.")
@click.option("--force", is_flag=True, help="Replace files that are there; a declaration never.")
def export(*, capture: Path, out: Path, until_damage: bool, force: bool) -> int:
    """Write the stream of CAPTURE (a manifest, NAME.toml) anew as text or Parquet, with a manifest beside it.

    Every number reads back to the last digit, so the new capture is judged as the old one is.
    """
    from benchrig.capture.store.export import export_capture  # noqa: PLC0415 - keeps the help light

    done = export_capture(capture, out, until_damage=until_damage, force=force)
    for path in done.files:
        click.echo(str(path))
    for note in done.notes:
        click.echo(f"Noted: {note}", err=True)
    return 0
