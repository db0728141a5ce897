"""Which book is meant, and which airframe in it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

if TYPE_CHECKING:
    from benchrig.keeping.book_history import History
    from benchrig.verdict.record import BenchRecord

BOOK_OPTION: Final = click.option(
    "--book", type=click.Path(path_type=Path), help="The folder of the book; else this one."
)


def book_folder(given: Path | None) -> Path:
    """Give the folder of the book: as named after the command, after `book`, or else the working folder."""
    parent = click.get_current_context().parent
    before = None if parent is None else parent.params.get("book")
    return given or before or Path()


def refuse_unfit_book(book: Path | None) -> None:
    """Refuse, before any work is done, a book that the bench could not be entered into; None where none is wanted.

    Raises
    ------
    UsageError, StoreError
    """
    if book is not None:
        from benchrig.keeping.book_adding import refuse_unfit  # noqa: PLC0415 - only a kept bench pays for it

        refuse_unfit(book)


def enter_in_book(book: Path | None, record: BenchRecord, result: Path | None = None) -> None:
    """Enter a bench that was just judged, and say so; None where no book is wanted.

    Parameters
    ----------
    book : Path or None
        The folder of the book.
    record : BenchRecord
    result : Path, optional
        Where its result was written.

    Raises
    ------
    StoreError
    """
    if book is not None:
        from benchrig.keeping.book_adding import enter_record  # noqa: PLC0415 - only a kept bench pays for it

        entry = enter_record(book, record, result)
        click.echo(f"Entered in the book of {book}: {entry.result_file}", err=True)


def read_histories(folder: Path) -> tuple[History, ...]:
    """Read the book of a folder, sorted by airframe; say so where files that it keeps are not entered."""
    from benchrig.keeping.book_file import RESULTS, not_entered, read_book  # noqa: PLC0415 - keeps the help light
    from benchrig.keeping.book_history import histories  # noqa: PLC0415 - keeps the help light

    entries = read_book(folder)
    count = not_entered(folder, entries)
    if count:
        files = f"{count} file{'' if count == 1 else 's'} in {folder / RESULTS}"
        click.echo(f"{files} not entered; `benchrig book add {RESULTS}` enters them, or says why not.", err=True)
    return histories(entries)


def history_named(found: tuple[History, ...], name: str) -> History:
    """Find an airframe by its name, or by its file.

    Raises
    ------
    UsageError
        If the book holds none of that name.
    """
    from benchrig.declaration.quotation import escape, nearest, quote  # noqa: PLC0415 - keeps the help light
    from benchrig.errors import Problem, UsageError  # noqa: PLC0415 - keeps the help light

    wanted = _by_file(name)
    alike = [h for h in found if h.airframe == wanted] or [
        h for h in found if h.airframe.casefold() == wanted.casefold()
    ]
    if len(alike) == 1:
        return alike[0]
    names = [history.airframe for history in found]
    close = nearest(wanted, names)
    there = ", ".join(escape(one, 40) for one in names[:12]) or "nothing"
    cause = f'"{escape(close)}" is meant' if close else ""
    act = "enter its results with `benchrig book add`"
    raise UsageError(Problem("benchrig book", f"holds no airframe {quote(wanted)}", f"one of: {there}", cause, act))


def _by_file(name: str) -> str:
    """Give the name that an airframe file declares; other words as they stand."""
    path = Path(name)
    if path.suffix.lower() != ".toml" or not path.is_file():
        return name
    from benchrig.declaration.airframe_file import read_airframe  # noqa: PLC0415 - keeps the help light

    return read_airframe(path).name
