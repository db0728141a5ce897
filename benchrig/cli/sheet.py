"""`benchrig sheet`: one printable page of an airframe and everything that was found out about it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from benchrig.cli.terminal import report_width, wants_colour

if TYPE_CHECKING:
    from benchrig.report.sheet_content import Sheet

STATUS: Final = {"pass": 0, "fail": 1, "not shown": 3}


@click.command()
@click.argument("airframe", type=click.Path(path_type=Path))
@click.argument("results", metavar="[RESULT]...", nargs=-1, type=click.Path(path_type=Path))
@click.option("--html", type=click.Path(path_type=Path), help="Write the sheet as a page that prints on A4.")
@click.option("--pdf", type=click.Path(path_type=Path), help="Write the sheet as A4 to print.")
@click.option("--colour/--no-colour", default=None, help="Colour the marks; by default where a terminal shows it.")
@click.option("--force", is_flag=True, help="Replace files that this command did not make.")
def sheet(
    *,
    airframe: Path,
    results: tuple[Path, ...],
    html: Path | None,
    pdf: Path | None,
    colour: bool | None,
    force: bool,
) -> int:
    """Print what was declared, measured and judged of AIRFRAME, and what is still open.

    Each RESULT is a file that `benchrig check --json` or `benchrig measure … --json` wrote. Without any, the sheet is a
    list of what to look at, with every sign the airframe must show. Without --html or --pdf it goes to standard output.
    """
    from benchrig.cli.outputs import refuse_foreign, refuse_shared  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - keeps the help light
    from benchrig.report.sheet import bench_sheet  # noqa: PLC0415 - keeps the help light
    from benchrig.report.stored_result import read_results  # noqa: PLC0415 - keeps the help light

    targets = {"--html": html, "--pdf": pdf}
    refuse_shared(targets)
    for option, target in targets.items():
        if target is not None:
            refuse_foreign(option, target, force=force)
    made = bench_sheet(read_airframe(airframe), read_results(results))
    if html is None and pdf is None:
        from benchrig.report.sheet_text import sheet_text  # noqa: PLC0415 - only standard output needs it

        click.echo(sheet_text(made, width=report_width(), colour=wants_colour(colour)), color=True)
    _write(made, html, pdf)
    return STATUS[made.outcome]


def _write(made: Sheet, html: Path | None, pdf: Path | None) -> None:
    from benchrig.cli.outputs import write_whole  # noqa: PLC0415 - keeps the help light

    if html is not None:
        from benchrig.report.sheet_page import sheet_page  # noqa: PLC0415 - only pages pay for it

        write_whole("--html", html, sheet_page(made))
    if pdf is not None:
        from benchrig.report.sheet_pdf import sheet_pdf  # noqa: PLC0415 - only print pays for it

        write_whole("--pdf", pdf, sheet_pdf(made, datetime.now(UTC)))
    for target in (html, pdf):
        if target is not None:
            click.echo(f"Wrote {target}", err=True)
