"""`benchrig compare`: two benches of one airframe."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

from benchrig.cli.terminal import report_width, wants_colour

STATUS: Final = {"pass": 0, "fail": 1, "not shown": 3}
STANDARD_OUTPUT: Final = "-"


@click.command()
@click.argument("first", type=click.Path(path_type=Path))
@click.argument("second", type=click.Path(path_type=Path))
@click.option("--json", "json_target", type=click.Path(path_type=Path), help="Write what moved; - prints only it.")
@click.option("--colour/--no-colour", default=None, help="Colour the marks; by default where a terminal shows it.")
@click.option("--force", is_flag=True, help="Replace a file that this command did not make.")
def compare(*, first: Path, second: Path, json_target: Path | None, colour: bool | None, force: bool) -> int:
    """Show what moved between two benches of one airframe, and whether it matters.

    FIRST and SECOND are files that `benchrig check --json` or `benchrig record --json` wrote. The exit status is 0 if
    the second bench passed and nothing moved that matters, 1 if something did or it failed, 3 if something could not be
    compared.
    """
    from benchrig.cli.outputs import refuse_foreign, write_whole  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.comparison import compare as compared_by  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.comparison_result import SCHEMA, comparison_json  # noqa: PLC0415 - keeps the help light

    to_output = str(json_target) == STANDARD_OUTPUT
    target = None if to_output else json_target
    if target is not None:
        _refuse_itself(target, first, second)
        refuse_foreign("--json", target, force=force, schema=SCHEMA)
    compared = compared_by(first, second)
    if to_output:
        from benchrig.cautions import CAUTIONS  # noqa: PLC0415 - keeps the help light

        for caution in CAUTIONS:
            click.echo(f"Caution: {caution}", err=True)
        click.echo(comparison_json(compared))
    else:
        from benchrig.keeping.comparison_text import comparison_text  # noqa: PLC0415 - only a terminal needs it

        # whether to colour was decided above: click would take the colours out again where no terminal is
        click.echo(comparison_text(compared, width=report_width(), colour=wants_colour(colour)), color=True)
    if target is not None:
        write_whole("--json", target, comparison_json(compared))
        click.echo(f"Wrote {target}", err=True)
    return STATUS[compared.outcome]


def _refuse_itself(target: Path, *results: Path) -> None:
    """Keep the results that are compared."""
    from benchrig.errors import Problem, UsageError  # noqa: PLC0415 - keeps the help light

    if any(target.resolve() == result.resolve() for result in results):
        finding = "is one of the results that are compared"
        raise UsageError(Problem(f"--json {target}", finding, "a name of its own", act="give another name"))
