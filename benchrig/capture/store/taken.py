"""Names that are taken: what lies there, and whether a command may put its own file in that place.

One rule for every command that writes captures: nothing is replaced unless it is told to (`--force`), and a declaration
is never replaced by a recording, whatever it is told.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from benchrig.capture.store.disk import refuse_folder
from benchrig.capture.store.ending import SUFFIX
from benchrig.capture.store.mark import MARK, STORE_KEY
from benchrig.declaration.file_kind import MANIFEST, TRUTH, kind_of_file
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, UsageError

_HEAD: Final = 4096  # bytes
_STREAMS: Final = frozenset({".csv", ".tsv", ".parquet", ".feather", ".arrow"})
_RECORDED: Final = frozenset({MANIFEST, TRUTH})


def refuse_to_replace(path: Path, *, force: bool) -> None:
    """Refuse a name that is taken, unless forced; a declaration's name in any case.

    Raises
    ------
    UsageError
        Saying what the file is.
    """
    if not os.path.lexists(path):
        return
    refuse_folder(path)
    refuse_declaration(path)
    if not force:
        finding = f"is already there, and is {what_it_is(path)}"
        act = "choose another name, or replace it with --force"
        raise UsageError(Problem(escape(str(path), 200), finding, "a name that is free", act=act))


def refuse_declaration(path: Path) -> None:
    """Refuse the name of an airframe file, a device file or a worksheet.

    Raises
    ------
    UsageError
        Saying what the file is.
    """
    kind = _kind(path)
    if kind is None or kind in _RECORDED:
        return
    expectation = "a name that is free: --force never puts a recording in the place of a declaration"
    finding = f"is already there, and is {kind}"
    raise UsageError(Problem(escape(str(path), 200), finding, expectation, act="choose another name"))


def what_it_is(path: Path) -> str:
    """Say what a file is, as far as it tells.

    Returns
    -------
    str
        With its article: "an airframe file".
    """
    if path.suffix == ".toml":
        return _kind(path) or "a file of another program"
    if path.name.endswith(SUFFIX):
        return "the end of a recording"
    if _is_store(path):
        return "a recording"
    return "the stream of a capture" if path.suffix.lower() in _STREAMS else "a file of another program"


def _kind(path: Path) -> str | None:
    return kind_of_file(_tables(path)) if path.suffix == ".toml" else None


def _is_store(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            head = stream.read(_HEAD)
    except OSError:
        return False
    return STORE_KEY.encode() in head or MARK.search(head) is not None


def _tables(path: Path) -> Mapping[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return {}
