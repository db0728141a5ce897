"""`benchrig book`, `benchrig book show` and `benchrig book due`: what the book says."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, TypedDict

import click

from benchrig.cli.book.folder import BOOK_OPTION, book_folder, history_named, read_histories
from benchrig.cli.terminal import report_width, wants_colour

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchrig.keeping.book_text import Told


class _Looks(TypedDict):
    width: int
    colour: bool


DUE: Final = 3
STANDARD_OUTPUT: Final = "-"


def list_airframes(book: Path | None, json_target: Path | None, *, colour: bool | None, force: bool) -> int:
    """List the airframes of a book; the status says whether a bench is due."""
    from benchrig.keeping.book_text import book_text  # noqa: PLC0415 - keeps the help light

    told = _told(book or Path())
    _tell(told, json_target, None if _prints(json_target) else book_text(told, **_looks(colour)), force=force)
    return _status(told)


@click.command()
@click.argument("airframe")
@click.option("--all", "everything", is_flag=True, help="Show all figures, and not only bias, scale, size and latency.")
@click.option("--html", type=click.Path(path_type=Path), help="Write it as one page with pictures.")
@click.option("--json", "json_target", type=click.Path(path_type=Path), help="Write it; - prints only it.")
@click.option("--colour/--no-colour", default=None, help="Colour the marks; by default where a terminal shows it.")
@click.option("--force", is_flag=True, help="Replace files that this command did not make.")
@BOOK_OPTION
def show(
    *,
    airframe: str,
    everything: bool,
    html: Path | None,
    json_target: Path | None,
    colour: bool | None,
    force: bool,
    book: Path | None,
) -> int:
    """Show every bench of AIRFRAME (its name, or its airframe file), and how its figures moved.

    Each strip is one bench, with one standard deviation to either side; the upright lines are how far the figure may
    move from the first pass of the airframe as it is built now.
    """
    from benchrig.cli.outputs import refuse_foreign, refuse_shared, write_whole  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.book_due import due as reasons_of  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.book_text import history_text  # noqa: PLC0415 - keeps the help light

    refuse_shared({"--html": html, "--json": None if _prints(json_target) else json_target})
    if html is not None:
        refuse_foreign("--html", html, force=force)
    folder = book_folder(book)
    history = history_named(read_histories(folder), airframe)
    told = ((history, reasons_of(history, folder)),)
    text = None if _prints(json_target) else history_text(*told[0], everything=everything, **_looks(colour))
    _tell(told, json_target, text, force=force, benches=True)
    if html is not None:
        from benchrig.keeping.book_page import history_page  # noqa: PLC0415 - only pages pay for it

        write_whole("--html", html, history_page(*told[0], everything=everything))
        click.echo(f"Wrote {html}", err=True)
    return _status(told)


@click.command()
@click.option("--json", "json_target", type=click.Path(path_type=Path), help="Write it; - prints only it.")
@click.option("--colour/--no-colour", default=None, help="Colour the marks; by default where a terminal shows it.")
@click.option("--force", is_flag=True, help="Replace files that this command did not make.")
@BOOK_OPTION
def due(*, json_target: Path | None, colour: bool | None, force: bool, book: Path | None) -> int:
    """Say which airframes have to go on the bench again, and why.

    A bench is due where none has passed, the last one did not pass, the airframe file declares otherwise than what
    passed, a change was entered since, or a figure moved beyond its limits.
    """
    from benchrig.keeping.book_text import due_text  # noqa: PLC0415 - keeps the help light

    told = _told(book_folder(book))
    _tell(told, json_target, None if _prints(json_target) else due_text(told, **_looks(colour)), force=force)
    return _status(told)


def _told(folder: Path) -> Sequence[Told]:
    from benchrig.keeping.book_due import due as reasons_of  # noqa: PLC0415 - keeps the help light

    return [(history, reasons_of(history, folder)) for history in read_histories(folder)]


def _looks(colour: bool | None) -> _Looks:  # noqa: FBT001 - three answers: yes, no, and not asked
    return {"width": report_width(), "colour": wants_colour(colour)}


def _prints(json_target: Path | None) -> bool:
    return str(json_target) == STANDARD_OUTPUT


def _status(told: Sequence[Told]) -> int:
    return DUE if any(reasons for _, reasons in told) else 0


def _tell(
    told: Sequence[Told], json_target: Path | None, text: str | None, *, force: bool = False, benches: bool = False
) -> None:
    """Print the text, or the JSON alone; write the JSON where it has a name."""
    if json_target is None:
        click.echo(text, color=True)
        return
    from benchrig.keeping.book_values import SCHEMA, book_json  # noqa: PLC0415 - only programs ask for it

    written = book_json(told, benches=benches)
    if _prints(json_target):
        click.echo(written)
        return
    from benchrig.cli.outputs import refuse_foreign, write_whole  # noqa: PLC0415 - keeps the help light

    refuse_foreign("--json", json_target, force=force, schema=SCHEMA)
    click.echo(text, color=True)
    write_whole("--json", json_target, written + "\n")
    click.echo(f"Wrote {json_target}", err=True)
