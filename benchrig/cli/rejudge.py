"""`benchrig rejudge`: an old bench judged again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from benchrig.cli.terminal import report_width, wants_colour

if TYPE_CHECKING:
    from benchrig.keeping.rejudgement import Rejudgement

STATUS: Final = {"pass": 0, "fail": 1, "not shown": 3}
STANDARD_OUTPUT: Final = "-"


@click.command()
@click.argument("result", type=click.Path(path_type=Path))
@click.option("--airframe", type=click.Path(path_type=Path), help="The corrected airframe file; else the result's own.")
@click.option("--capture", type=click.Path(path_type=Path), help="The manifest, if it was moved since.")
@click.option("--html", type=click.Path(path_type=Path), help="Write the new report as one page.")
@click.option("--json", "json_target", type=click.Path(path_type=Path), help="Write the new result; - prints only it.")
@click.option("--colour/--no-colour", default=None, help="Colour the marks; by default where a terminal shows it.")
@click.option("--force", is_flag=True, help="Replace files that this command did not make.")
def rejudge(
    *,
    result: Path,
    airframe: Path | None,
    capture: Path | None,
    html: Path | None,
    json_target: Path | None,
    colour: bool | None,
    force: bool,
) -> int:
    """Judge the capture of an old RESULT again, and show what changed.

    RESULT is a file that `benchrig check --json` or `benchrig record --json` wrote. Its capture must be as it was
    judged, byte for byte; the airframe file may be a corrected one. The exit status is that of the new verdict.
    """
    from benchrig.cli.check import print_cautions  # noqa: PLC0415 - keeps the help light
    from benchrig.cli.outputs import refuse_foreign, refuse_shared  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.rejudgement import rejudge as judged_again  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.rejudgement_result import rejudgement_json  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.rejudgement_text import rejudgement_text  # noqa: PLC0415 - keeps the help light

    to_output = str(json_target) == STANDARD_OUTPUT
    targets = {"--html": html, "--json": None if to_output else json_target}
    _refuse_itself(result, targets)
    refuse_shared(targets)
    for option, target in targets.items():
        if target is not None:
            refuse_foreign(option, target, force=force)
    again = judged_again(result, airframe=airframe, capture=capture)
    if to_output:
        print_cautions(again.record)
        click.echo(rejudgement_json(again))
    else:
        # whether to colour was decided above: click would take the colours out again where no terminal is
        text = rejudgement_text(again, width=report_width(), colour=wants_colour(colour))
        click.echo(text, color=True)
    _write(again, targets)
    return STATUS[again.record.verdict]


def _refuse_itself(result: Path, targets: dict[str, Path | None]) -> None:
    """Keep the old result: what was judged then is evidence too."""
    from benchrig.errors import Problem, UsageError  # noqa: PLC0415 - keeps the help light

    for option, target in targets.items():
        if target is not None and target.resolve() == result.resolve():
            finding = "is the result that is judged again"
            raise UsageError(Problem(f"{option} {target}", finding, "a name of its own", act="give another name"))


def _write(again: Rejudgement, targets: dict[str, Path | None]) -> None:
    from benchrig.cli.outputs import write_whole  # noqa: PLC0415 - keeps the help light

    for option, target in targets.items():
        if target is None:
            continue
        if option == "--html":
            from benchrig.report.page import report_page  # noqa: PLC0415 - the page's library is paid for only by pages

            content = report_page(again.record)
        else:
            from benchrig.keeping.rejudgement_result import rejudgement_json  # noqa: PLC0415 - keeps the check light

            content = rejudgement_json(again)
        write_whole(option, target, content)
        click.echo(f"Wrote {target}", err=True)
