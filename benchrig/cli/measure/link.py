"""`benchrig measure link`: switches and the lost link."""

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
def link(*, airframe: Path, capture: Path) -> Measurement:
    """Measure where switches and a lost link send every actuator, from CAPTURE (a manifest, NAME.toml).

    The motions are `switch`, labelled with the switch's name, `transmitter off`
    and `transmitter on`. Held against [link_loss] of the airframe file.

    A motor may start when the link is lost or restored: propellers and blades
    off, or the motor disconnected, before you touch the transmitter.
    """
    from benchrig.capture.reader import read_capture  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - keeps the help light
    from benchrig.measure.link.measure import measure_link  # noqa: PLC0415 - keeps the help light

    declared = read_airframe(airframe)
    return measure_link(declared, read_capture(capture, declared))
