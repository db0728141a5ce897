"""`benchrig book`: the list of airframes, and the table of its commands."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

import click

from benchrig.cli.lazy import Entry, LazyGroup

PAGES: Final[Mapping[str, Entry]] = {
    "add": Entry("benchrig.cli.book.entering:add", "Enter results, or all results in a folder."),
    "show": Entry("benchrig.cli.book.reading:show", "One airframe: every bench, and how its figures moved."),
    "due": Entry("benchrig.cli.book.reading:due", "What has to go on the bench again, and why."),
    "changed": Entry("benchrig.cli.book.entering:changed", "Enter a repair, or a part replaced: a bench is then due."),
}

PURPOSE: Final = """Keep the benches of all airframes, and know what is due.

Without a command it lists the airframes: last bench, last pass, due or not and
why. The book, bench-book.sqlite, lies in the folder that --book names, or else
in this one. A pass in it is bench evidence only."""

STATUSES: Final = """\b
Exit status:
  0  no bench is due
  3  a bench is due
  others as of `benchrig --help`"""


def listing(*, book: Path | None, json_target: Path | None, colour: bool | None, force: bool) -> int | None:
    """List the airframes, where no command was given.

    Raises
    ------
    UsageError
        If a command follows an option that would then do nothing.
    """
    command = click.get_current_context().invoked_subcommand
    if command is not None:
        if json_target is not None or colour is not None or force:
            message = f"--json, --colour and --force belong after the command: benchrig book {command} ..."
            raise click.UsageError(message)
        return None
    from benchrig.cli.book.reading import list_airframes  # noqa: PLC0415 - keeps the help light

    return list_airframes(book, json_target, colour=colour, force=force)


book = LazyGroup("book", PAGES, help=PURPOSE, epilog=STATUSES)
book.invoke_without_command, book.no_args_is_help, book.callback = True, False, listing
book.params += [
    click.Option(["--book"], type=click.Path(path_type=Path), help="The folder of the book; else this one."),
    click.Option(["--json", "json_target"], type=click.Path(path_type=Path), help="Write it; - prints only it."),
    click.Option(
        ["--colour/--no-colour"], default=None, help="Colour the marks; by default where a terminal shows it."
    ),
    click.Option(["--force"], is_flag=True, help="Replace files that this command did not make."),
]
