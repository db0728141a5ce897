"""`benchrig describe`: the manifest that an unknown stream asks for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

if TYPE_CHECKING:
    from benchrig.measure.describe.description import Description

SURE, NOT_SURE = 0, 3
STANDARD_OUTPUT: Final = "-"


@click.command()
@click.argument("stream", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Write the manifest here, beside the stream.")
@click.option("--json", "json_target", type=click.Path(path_type=Path), help="Write all of it; - prints only that.")
@click.option("--rate-hz", type=click.FloatRange(2.0, 20_000.0), help="Rows a second, where there is no clock.")
@click.option("--force", is_flag=True, help="Replace a manifest that was changed, or that this command did not make.")
def describe(*, stream: Path, out: Path | None, json_target: Path | None, rate_hz: float | None, force: bool) -> int:
    """Look at an unknown STREAM (text, Parquet or Arrow) and propose its manifest.

    Which columns are gyro and accelerometer, and in which units, is told by physics, whatever they are called: while
    the unit is turned by hand, the gyro must carry gravity from where it was to where it is found. It only proposes:
    every line says how sure it is and why. Status 0 where all that is needed is sure, 3 where it is not.
    """
    from benchrig.cli.outputs import refuse_foreign, refuse_shared, write_whole  # noqa: PLC0415 - keeps the help light
    from benchrig.cli.proposals import refuse_target, signed  # noqa: PLC0415 - keeps the help light
    from benchrig.measure.describe.describe import describe as described  # noqa: PLC0415 - keeps the help light
    from benchrig.measure.describe.manifest_text import manifest_text  # noqa: PLC0415 - keeps the help light
    from benchrig.report.description_result import description_json  # noqa: PLC0415 - keeps the help light

    to_output = str(json_target) == STANDARD_OUTPUT
    json_file = None if to_output else json_target
    refuse_shared({"--out": out, "--json": json_file})
    if out is not None:
        refuse_target(out, stream, force=force)
    if json_file is not None:
        refuse_foreign("--json", json_file, force=force)
    found = described(stream, rate_hz)
    if to_output:
        click.echo(description_json(found))
    elif out is None:
        click.echo(manifest_text(found), nl=False)
    else:
        click.echo(_brief(found))
    if json_file is not None:
        write_whole("--json", json_file, description_json(found) + "\n")
        click.echo(f"Wrote {json_file}", err=True)
    if out is not None:
        write_whole("--out", out, signed(manifest_text(found)))
        click.echo(f"Wrote {out}", err=True)
    return SURE if found.is_sure else NOT_SURE


def _brief(found: Description) -> str:
    """Say in a line a group what is proposed; the reasons stand in the manifest."""
    from benchrig.measure.describe.description import NEEDED  # noqa: PLC0415 - keeps the help light
    from benchrig.measure.describe.manifest_text import brief_line  # noqa: PLC0415 - keeps the help light

    lines = [brief_line(group) for group in found.groups]
    lines += [f"{name:<14} not found" for name in NEEDED if found.group(name) is None]
    return "\n".join([*lines, f"{found.agreement[:1].upper()}{found.agreement[1:]}.", *found.notes])
