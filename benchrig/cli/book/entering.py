"""`benchrig book add` and `benchrig book changed`: what goes into the book."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from benchrig.cli.book.folder import BOOK_OPTION, airframe_named, book_folder


@click.command()
@click.argument("results", metavar="FOLDER|RESULT...", nargs=-1, required=True, type=click.Path(path_type=Path))
@BOOK_OPTION
def add(*, results: tuple[Path, ...], book: Path | None) -> int:
    """Enter results into the book, or every result in a folder and the folders below it.

    RESULT is a file that `benchrig check --json` or `benchrig record --json` wrote. One from elsewhere is copied into
    the book's folder. What is in the book already is left as it is, so that the same folder can be added again.
    """
    from benchrig.errors import ResultError  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.book_adding import add_files  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.book_entry import BenchEntry  # noqa: PLC0415 - keeps the help light

    added = add_files(book_folder(book), results)
    benches = sum(isinstance(entry, BenchEntry) for entry in added.new)
    parts = [f"{benches} bench{'' if benches == 1 else 'es'} entered"]
    if len(added.new) > benches:
        parts.append(f"{len(added.new) - benches} changed entered")
    if added.known:
        parts.append(f"{added.known} known already")
    if added.other:
        parts.append(f"{added.other} other JSON file{'' if added.other == 1 else 's'} left out")
    if added.refused:
        parts.append(f"{len(added.refused)} refused")
    click.echo(", ".join(parts))
    if added.refused:
        raise ResultError(*added.refused)
    return 0


@click.command()
@click.argument("airframe")
@click.argument("what")
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="The day it was done (UTC); else now.")
@BOOK_OPTION
def changed(*, airframe: str, what: str, day: datetime | None, book: Path | None) -> int:
    """Enter into the book that something of AIRFRAME was changed: WHAT, in a few words.

    For what the airframe file does not show: a unit replaced by one of its kind, a servo repaired, gains set anew. A
    bench is due from then on, and what figures may do is counted from the first pass after it.
    """
    from benchrig.keeping.book_adding import enter_change  # noqa: PLC0415 - keeps the help light

    folder = book_folder(book)
    now = datetime.now(UTC).replace(microsecond=0)
    when = now if day is None else min(day.replace(tzinfo=UTC), now)
    entry = enter_change(folder, airframe_named(folder, airframe), what, when)
    click.echo(f"Entered for {click.unstyle(entry.airframe)}: {entry.what}. A bench is due.")
    return 0
