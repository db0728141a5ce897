"""`benchrig measure actuators`: the servos and motors."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchrig.cli.measure.delivery import delivered

if TYPE_CHECKING:
    from benchrig.measure.measurement import Measurement


@click.command()
@click.argument("airframe", type=click.Path(path_type=Path))
@click.argument("capture", type=click.Path(path_type=Path))
@delivered
def actuators(*, airframe: Path, capture: Path) -> Measurement:
    """Measure the servos and motors from sweeps in CAPTURE (a manifest, NAME.toml).

    For each: centre, ends, how fast its pulse moves, how late it answers a
    recorded command, how often it comes; with the motion `collective up` its
    sense too, and how level a swash plate rises.

    A servo under power moves without warning: keep clear of links and horns.
    Propellers and blades off, or the motor disconnected, before any sweep.
    """
    from benchrig.capture.reader import read_capture  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - keeps the help light
    from benchrig.measure.actuators.measure import measure_actuators  # noqa: PLC0415 - keeps the help light

    declared = read_airframe(airframe)
    return measure_actuators(declared, read_capture(capture, declared))
