"""`benchrig book add` and `benchrig book changed`: what goes into the book."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

import click

from benchrig.cli.book.folder import BOOK_OPTION, book_folder

_LAST_SECOND: Final = timedelta(hours=23, minutes=59, seconds=59)
_AHEAD: Final = timedelta(hours=14)
"""By which a day begins somewhere before it begins by UTC."""


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
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="The day it was done (UTC), to its end; else now.")
@BOOK_OPTION
def changed(*, airframe: str, what: str, day: datetime | None, book: Path | None) -> int:
    """Enter into the book that something of AIRFRAME was changed: WHAT, in a few words.

    For what the airframe file does not show: a unit replaced by one of its kind, a servo repaired, gains set anew. A
    bench is due from then on, and what figures may do is counted from the first pass after it.
    """
    from benchrig.cli.book.folder import history_named, read_histories  # noqa: PLC0415 - keeps the help light
    from benchrig.declaration.quotation import escape  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.book_adding import enter_change  # noqa: PLC0415 - keeps the help light

    folder = book_folder(book)
    history = history_named(read_histories(folder), airframe)
    entry = enter_change(folder, history.airframe, what, _moment(day))
    passed = history.last_pass
    is_due = passed is None or entry.when.timestamp() > passed.when.timestamp()
    follows = "A bench is due." if is_due else "A bench has passed since."
    click.echo(f"Entered for {escape(entry.airframe)}: {entry.what}. {follows}")
    return 0


def _moment(day: datetime | None) -> datetime:
    """Give the end of a day, or now: a bench of that day may have been before the change, and a doubt is no pass.

    Raises
    ------
    UsageError
        If the day is to come.
    """
    from benchrig.errors import Problem, UsageError  # noqa: PLC0415 - keeps the help light

    now = datetime.now(UTC)
    if day is None:
        return now
    begins = day.replace(tzinfo=UTC)
    if begins > now + _AHEAD:
        place, act = f"--on {day:%Y-%m-%d}", "correct the day, or set this computer's clock"
        raise UsageError(Problem(place, "is still to come", f"a day up to {now:%Y-%m-%d}", act=act))
    return min(begins + _LAST_SECOND, now)
