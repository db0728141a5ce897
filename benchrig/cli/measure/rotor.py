"""`benchrig measure rotor`: rotor frequencies, and the vibration lines they explain."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchrig.cli.measure.delivery import delivered

if TYPE_CHECKING:
    from benchrig.measure.measurement import Measurement


@click.command()
@click.argument("airframe", type=click.Path(path_type=Path))
@click.argument("capture", type=click.Path(path_type=Path), required=False)
@delivered
def rotor(*, airframe: Path, capture: Path | None) -> Measurement:
    """Work out the rotor's frequencies, and find them in a CAPTURE.

    The frequencies need motor_rpm, pinion_teeth and main_gear_teeth in [rotor],
    which only a helicopter has; of other kinds the lines of a CAPTURE are listed.
    A CAPTURE is recorded with blades or propellers off, the airframe bound to the
    bench and the motor running: see the how-to page first. Nothing is written.
    """
    from benchrig.capture.reader import read_capture  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - keeps the help light
    from benchrig.measure.rotor.measure import measure_rotor  # noqa: PLC0415 - keeps the help light

    declared = read_airframe(airframe)
    return measure_rotor(declared, None if capture is None else read_capture(capture, declared))
