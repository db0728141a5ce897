"""`benchrig demo`: the main job on the demo airframes and captures."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

DEMOS: Final = (
    ("dunlin", "dunlin-ok", "A helicopter whose unit sits and corrects as declared."),
    ("dunlin", "dunlin-unit-turned", "The same helicopter: the unit was fitted the other way round."),
    ("teal", "teal-elevator-reversed", "An aeroplane: the elevator's servo turns the wrong way."),
    ("knot", "knot-gyro-roll-sign", "A multirotor: one channel of the gyro has its sign reversed."),
)
"""Airframe, capture, and what is wrong with it."""


@click.command()
@click.option("--list", "only_list", is_flag=True, help="Name the demo files, and judge nothing.")
@click.option("--colour/--no-colour", default=None, help="Colour the marks; by default where a terminal shows it.")
def demo(*, only_list: bool, colour: bool | None) -> int:
    """Judge the demo captures: one right rig in full, then three wrong ones that fail for different reasons.

    The captures are simulated; their README says how each was made.
    """
    from benchrig.capture.reader import read_capture  # noqa: PLC0415 - keeps the help light
    from benchrig.cli.check import shown  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - keeps the help light
    from benchrig.job import judge  # noqa: PLC0415 - keeps the help light

    folder = demo_folder()
    click.echo(f"Demo files, all of them simulated: {folder}")
    for number, (airframe, capture, what) in enumerate(DEMOS, 1):
        command = f"benchrig check {folder / airframe}.toml {folder / capture}.toml"
        click.echo(f"\n{number} of {len(DEMOS)}  {what}\n{command}")
        if only_list:
            continue
        declared = read_airframe(folder / f"{airframe}.toml")
        record = judge(declared, read_capture(folder / f"{capture}.toml", declared))
        click.echo("")
        click.echo(shown(record, colour=colour, brief=number > 1), color=True)
    return 0


def demo_folder() -> Path:
    """Find the demo files: beside the package in a checkout, inside it where it was installed."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "captures"
    return inside if inside.is_dir() else package.parent / "captures"
