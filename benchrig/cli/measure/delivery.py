"""What every measurement does with its result: print it, write its reports, put its lines into the airframe file."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from benchrig.cli.outputs import refuse_foreign, refuse_shared, write_whole
from benchrig.cli.terminal import report_width, wants_colour

if TYPE_CHECKING:
    from benchrig.measure.measurement import Measurement

STANDARD_OUTPUT: Final = "-"
STATUS: Final = {"pass": 0, "not applicable": 0, "fail": 1, "not shown": 3}


@dataclass(frozen=True, slots=True)
class Delivery:
    """Where a measurement goes."""

    html: Path | None
    json: Path | None
    write: bool
    colour: bool | None
    force: bool

    @property
    def only_json(self) -> bool:
        """Whether standard output belongs to the JSON."""
        return str(self.json) == STANDARD_OUTPUT

    @property
    def targets(self) -> dict[str, Path | None]:
        """The files to write, by option."""
        return {"--html": self.html, "--json": None if self.only_json else self.json}


def delivered(measured: Callable[..., Measurement]) -> Callable[..., int]:
    """Make a command of a function that gives a measurement, with the options that all measurements share.

    Parameters
    ----------
    measured : callable
        Takes the command's own arguments; its first is the airframe file, called ``airframe``.
    """

    @click.option("--html", type=click.Path(path_type=Path), help="Write the report as one page, with pictures.")
    @click.option("--json", type=click.Path(path_type=Path), help="Write the result; - prints only it.")
    @click.option(
        "--write",
        is_flag=True,
        help="Put the lines into the airframe file; the old one stays beside it.",
    )
    @click.option("--colour/--no-colour", default=None, help="Colour the marks; by default where a terminal shows it.")
    @click.option(
        "--force",
        is_flag=True,
        help="Replace files of others; with --write, write what failed too.",
    )
    @functools.wraps(measured)
    def command(
        *,
        html: Path | None,
        json: Path | None,
        write: bool,
        colour: bool | None,
        force: bool,
        **arguments: Any,  # noqa: ANN401 - each measurement's own
    ) -> int:
        delivery = Delivery(html, json, write, colour, force)
        refuse_shared(delivery.targets)
        for option, target in delivery.targets.items():
            if target is not None:
                refuse_foreign(option, target, force=force)
        measurement = measured(**arguments)
        _show(measurement, delivery)
        _write_reports(measurement, delivery)
        if write:
            click.echo(_written(measurement, arguments["airframe"], force=force), err=True)
        return STATUS[measurement.outcome]

    return command


def _show(measurement: Measurement, delivery: Delivery) -> None:
    if delivery.only_json:
        from benchrig.report.measurement_result import measurement_json  # noqa: PLC0415 - keeps the help light
        from benchrig.report.measurement_wording import cautions_of  # noqa: PLC0415 - keeps the help light

        for caution in cautions_of(measurement):
            click.echo(f"Caution: {caution}", err=True)
        click.echo(measurement_json(measurement))
        return
    from benchrig.report.measurement_text import measurement_text  # noqa: PLC0415 - keeps the help light

    text = measurement_text(measurement, width=report_width(), colour=wants_colour(delivery.colour))
    click.echo(text, color=True)


def _write_reports(measurement: Measurement, delivery: Delivery) -> None:
    for option, target in delivery.targets.items():
        if target is None:
            continue
        if option == "--html":
            from benchrig.report.measurement_page import measurement_page  # noqa: PLC0415 - only pages pay for it

            text = measurement_page(measurement)
        else:
            from benchrig.report.measurement_result import measurement_json  # noqa: PLC0415 - keeps the help light

            text = measurement_json(measurement)
        write_whole(option, target, text)
        click.echo(f"Wrote {target}", err=True)


def _written(measurement: Measurement, airframe: Path, *, force: bool) -> str:
    """Put the measurement's lines into the airframe file, and say so; the measurement's own status stands.

    What fails is not made right by declaring it: a failed measurement is written only if that is asked for twice.

    Raises
    ------
    UsageError
        If the file changed meanwhile, or cannot be written.
    """
    from benchrig.measure.amendment import amend  # noqa: PLC0415 - only --write pays for it

    count = len(measurement.entries)
    lines = "1 line" if count == 1 else f"{count} lines"
    if not count:
        return f"Nothing was written into {airframe}: this measurement gave no line for it."
    if measurement.outcome == "fail" and not force:
        return (
            f"Nothing was written into {airframe}: what was measured is not as declared. Mend what is wrong; only if "
            f"you are sure that the declaration is what is wrong, --write --force puts the {lines} in."
        )
    kept = amend(airframe, measurement.entries, measurement.airframe.sha256)
    if kept is None:
        return f"Nothing was written into {airframe}: it holds these lines already."
    return f"Wrote {lines} into {airframe}; the old file is {kept.name}"
