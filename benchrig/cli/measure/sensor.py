"""`benchrig measure sensor`."""

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
def sensor(airframe: Path, captures: tuple[Path, ...]) -> Measurement:
    """Measure the unit's own errors, its noise and its clock.

    AIRFRAME is the airframe file. Each CAPTURE is the manifest of a recording
    of the unit at rest in six poses or more, of a long rest, or of a spin on a
    turntable; several of one unit are joined. Blades or propellers off first.
    """
    from benchrig.cli.measure.captures import read_captures  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - the same
    from benchrig.measure.sensor.measure import measure_sensor  # noqa: PLC0415 - the same

    declared = read_airframe(airframe)
    return measure_sensor(declared, read_captures(captures, declared))
