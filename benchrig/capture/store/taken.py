"""Names that are taken: whose file lies there, and whether a command may put its own in that file's place.

One rule for every command that writes captures: told to (`--force`), it replaces what it wrote itself, as the file
says, and nothing else, ever.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final

from benchrig.capture.store.disk import refuse_folder
from benchrig.capture.store.ending import SCHEMA, SUFFIX
from benchrig.capture.store.mark import MARK, STORE_KEY
from benchrig.declaration.file_kind import kind_of_file
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, UsageError

RECORDED: Final = "Written by `benchrig record`"
EXPORTED: Final = "Exported by `benchrig export`"
"""How the comment begins that is the first line of a manifest."""

_HEAD: Final = 4096  # bytes
_STREAMS: Final = frozenset({".csv", ".tsv", ".parquet", ".feather", ".arrow"})


def refuse_to_replace(path: Path, *, force: bool) -> None:
    """Refuse a name that is taken by anything but what `benchrig record` wrote, and by that too unless forced.

    Raises
    ------
    UsageError
        Saying what the file is.
    """
    refuse_foreign(path, is_recorded, "benchrig record", "an earlier recording", force=force)


def refuse_foreign(path: Path, is_own: Callable[[Path], bool], command: str, earlier: str, *, force: bool) -> None:
    """Refuse a name that is taken by anything but a command's own, and by that too unless forced.

    Parameters
    ----------
    path : Path
    is_own : callable
        Whether the command wrote the file at a path.
    command : str
    earlier : str
        What its own file is.
    force : bool

    Raises
    ------
    UsageError
        Saying what the file is.
    """
    if not os.path.lexists(path):
        return
    refuse_folder(path)
    place = escape(str(path), 200)
    if not is_own(path):
        expectation = f"a name that is free: `{command}` replaces only what it wrote itself, even by --force"
        finding = f"is already there, and is {what_it_is(path)}"
        raise UsageError(Problem(place, finding, expectation, act="choose another name"))
    if not force:
        act = "choose another name, or replace it with --force"
        raise UsageError(Problem(place, "is already there", "a name that is free", earlier, act))


def is_recorded(path: Path) -> bool:
    """Say whether `benchrig record` wrote the file: a manifest, a store, or the file of a store's end."""
    if path.suffix == ".toml":
        return begins_with(path, RECORDED) and "capture" in _tables(path)
    if path.name.endswith(SUFFIX):
        return f'"schema": "{SCHEMA}"'.encode() in _head(path)
    return path.suffix == ".arrow" and (_is_store(path) or not path.stat().st_size)


def is_exported(path: Path) -> bool:
    """Say whether `benchrig export` wrote the file: a manifest, or a stream that one beside it names."""
    if path.suffix == ".toml":
        return begins_with(path, EXPORTED) and "capture" in _tables(path)
    for stem in (path.stem, path.stem.removesuffix("-pulses")):
        manifest = path.with_name(f"{stem}.toml")
        if is_exported(manifest) and path.name in _streams(_tables(manifest)):
            return True
    return False


def begins_with(path: Path, mark: str) -> bool:
    """Say whether the first line of a file is a comment that begins so."""
    return _head(path).startswith(f"# {mark}".encode())


def what_it_is(path: Path) -> str:
    """Say what a file is, as far as it tells.

    Returns
    -------
    str
        With its article: "an airframe file".
    """
    if path.suffix == ".toml":
        return kind_of_file(_tables(path)) or "a file of another program"
    if _is_store(path):
        return "a recording"
    return "the stream of a capture" if path.suffix.lower() in _STREAMS else "a file of another program"


def _is_store(path: Path) -> bool:
    head = _head(path)
    return STORE_KEY.encode() in head or MARK.search(head) is not None


def _streams(data: Mapping[str, Any]) -> list[object]:
    tables = (data.get("capture"), data.get("pulses"))
    return [table.get("stream") for table in tables if isinstance(table, dict)]


def _head(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            return stream.read(_HEAD)
    except OSError:
        return b""


def _tables(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return {}
