"""`benchrig check`: the main job."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from benchrig.cli.terminal import report_width, wants_colour

if TYPE_CHECKING:
    from benchrig.verdict.record import BenchRecord

STATUS: Final = {"pass": 0, "fail": 1, "not shown": 3}
STANDARD_OUTPUT: Final = "-"


@click.command()
@click.argument("airframe", type=click.Path(path_type=Path))
@click.argument("capture", type=click.Path(path_type=Path))
@click.option("--html", "html", type=click.Path(path_type=Path), help="Write the report as one page.")
@click.option("--json", "json_target", type=click.Path(path_type=Path), help="Write the result; - prints only it.")
@click.option("--junit", type=click.Path(path_type=Path), help="Write the result for a build server.")
@click.option("--book", type=click.Path(path_type=Path), help="Enter the bench into the book of this folder.")
@click.option("--colour/--no-colour", default=None, help="Colour the marks; by default where a terminal shows it.")
@click.option("--force", is_flag=True, help="Replace files that this command did not make.")
def check(
    *,
    airframe: Path,
    capture: Path,
    html: Path | None,
    json_target: Path | None,
    junit: Path | None,
    book: Path | None,
    colour: bool | None,
    force: bool,
) -> int:
    """Judge CAPTURE (a manifest, NAME.toml) against the declared AIRFRAME.

    Prints the direction matrix, the verdict and what to fix. Take the blades or propellers off first.
    """
    from benchrig.capture.reader import read_capture  # noqa: PLC0415 - keeps the help light
    from benchrig.cli.book.folder import enter_in_book, refuse_unfit_book  # noqa: PLC0415 - keeps the help light
    from benchrig.cli.outputs import refuse_foreign, refuse_shared  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - keeps the help light
    from benchrig.job import judge  # noqa: PLC0415 - keeps the help light
    from benchrig.report.result import result_json  # noqa: PLC0415 - keeps the help light

    to_output = str(json_target) == STANDARD_OUTPUT
    targets = {"--html": html, "--json": None if to_output else json_target, "--junit": junit}
    refuse_shared(targets)
    for option, target in targets.items():
        if target is not None:
            refuse_foreign(option, target, force=force)
    refuse_unfit_book(book)
    declared = read_airframe(airframe)
    record = judge(declared, read_capture(capture, declared))
    if to_output:
        print_cautions(record)
        click.echo(result_json(record))
    else:
        # whether to colour was decided above: click would take the colours out again where no terminal is
        click.echo(shown(record, colour=colour), color=True)
    write_reports(record, targets)
    enter_in_book(book, record, targets["--json"])
    return STATUS[record.verdict]


def shown(record: BenchRecord, *, colour: bool | None, brief: bool = False) -> str:
    """Give the report for this terminal."""
    from benchrig.report.text import report_text  # noqa: PLC0415 - keeps the help light

    return report_text(record, width=report_width(), colour=wants_colour(colour), brief=brief)


def print_cautions(record: BenchRecord) -> None:
    """Show the cautions beside an output that is for a program."""
    for caution in record.cautions:
        click.echo(f"Caution: {caution}", err=True)


def write_reports(record: BenchRecord, targets: dict[str, Path | None]) -> None:
    """Write the reports that were asked for, and say where they are."""
    from benchrig.cli.outputs import write_whole  # noqa: PLC0415 - keeps the help light

    for option, target in targets.items():
        if target is not None:
            write_whole(option, target, _writer(option)(record))
            click.echo(f"Wrote {target}", err=True)


def _writer(option: str) -> Callable[[BenchRecord], str]:
    if option == "--html":
        from benchrig.report.page import report_page  # noqa: PLC0415 - the page's library is paid for only by pages

        return report_page
    if option == "--junit":
        from benchrig.report.junit import report_junit  # noqa: PLC0415 - keeps the check light

        return report_junit
    from benchrig.report.result import result_json  # noqa: PLC0415 - keeps the help light

    return result_json
