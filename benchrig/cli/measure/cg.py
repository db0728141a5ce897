"""`benchrig measure cg`: the centre of gravity, and places from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchrig.cli.measure.delivery import delivered

if TYPE_CHECKING:
    from benchrig.measure.measurement import Measurement


@click.command()
@click.argument("airframe", type=click.Path(path_type=Path))
@click.argument("worksheet", type=click.Path(path_type=Path))
@delivered
def cg(*, airframe: Path, worksheet: Path) -> Measurement:
    """Find the centre of gravity from a WORKSHEET of hangs and weighings.

    Gives the CG from the reference point, and every measured place from the CG, as position_mm wants it.
    A hanging airframe swings and can fall: hang it low, over something soft.
    """
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - keeps the help light
    from benchrig.measure.cg.measure import measure_cg  # noqa: PLC0415 - keeps the help light
    from benchrig.measure.cg.worksheet_file import read_worksheet  # noqa: PLC0415 - keeps the help light

    declared = read_airframe(airframe)
    return measure_cg(declared, read_worksheet(worksheet, declared))
