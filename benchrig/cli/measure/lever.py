"""`benchrig measure lever`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchrig.cli.measure.delivery import delivered

if TYPE_CHECKING:
    from benchrig.measure.measurement import Measurement


@click.command
@click.argument("airframe", type=click.Path(path_type=Path))
@click.argument("captures", metavar="CAPTURE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@delivered
def lever(airframe: Path, captures: tuple[Path, ...]) -> Measurement:
    """Measure where the sensor sits from the centre of gravity.

    AIRFRAME is the airframe file. Each CAPTURE is the manifest of a recording
    with a spin on a turntable or a swing about a fixed point; several are
    joined to one answer. Strap everything down: what is loose flies off.
    """
    from benchrig.cli.measure.captures import read_captures  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - the same
    from benchrig.measure.lever.measure import measure_lever  # noqa: PLC0415 - the same

    declared = read_airframe(airframe)
    return measure_lever(declared, read_captures(captures, declared))
