"""Putting measured lines into an airframe file: comments kept, the old file saved beside it, nothing half written."""

from __future__ import annotations

import hashlib
import itertools
import os
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchrig.declaration.airframe_file import read_airframe
from benchrig.declaration.quotation import escape
from benchrig.errors import AirframeFileError, Problem, UsageError
from benchrig.measure.measurement import Entry

if TYPE_CHECKING:
    from tomlkit import TOMLDocument
    from tomlkit.items import Item


def amend(path: Path, entries: Sequence[Entry], sha256: str) -> Path:
    """Put lines into an airframe file.

    The new text is read as an airframe file before it takes the old one's place; the old one is kept as
    ``NAME.before-1.toml``, or with the next number that is free.

    Parameters
    ----------
    path : Path
    entries : sequence of Entry
    sha256 : str
        Of the file that the measurement was held against.

    Returns
    -------
    Path
        Of the old file's copy.

    Raises
    ------
    UsageError
        If the file changed meanwhile, cannot be written, or would not be an airframe file any more.
    """
    old = path.read_bytes()
    place = escape(path.name)
    if hashlib.sha256(old).hexdigest() != sha256:
        act = "run the measurement again, so that it is held against the file as it is"
        raise UsageError(Problem(place, "changed since it was measured against", act=act))
    text = amended(old.decode("utf-8-sig"), entries)
    try:
        return _replace(path, old, text)
    except OSError as refused:
        act = "choose a folder you may write to, with room left"
        raise UsageError(Problem(f"--write {place}", f"cannot be written: {refused.strerror}", act=act)) from refused


def amended(text: str, entries: Sequence[Entry]) -> str:
    r"""Give the text of an airframe file with lines put in or replaced; all else, comments too, stays as it is.

    Examples
    --------
    >>> print(amended("[sensor]\nposition_mm = { aft = 9 } # by ruler\n",
    ...               [Entry(("sensor",), "position_mm", {"aft": 12.4})]), end="")
    [sensor]
    position_mm = {aft = 12.4} # by ruler
    """
    import tomlkit  # noqa: PLC0415 - only writing pays for it

    document = tomlkit.parse(text)
    for entry in entries:
        table = _table(document, entry)
        item = _item(entry.value)
        old = table.get(entry.key)
        if entry.comment:
            item.comment(entry.comment)
        elif old is not None and getattr(old, "trivia", None) is not None:
            item.trivia.comment_ws, item.trivia.comment = old.trivia.comment_ws, old.trivia.comment
        table[entry.key] = item
    return tomlkit.dumps(document)


def _table(document: TOMLDocument, entry: Entry) -> Any:  # noqa: ANN401 - tomlkit's tables share no type
    import tomlkit  # noqa: PLC0415 - only writing pays for it

    if entry.table[0] == "actuator":
        for table in document.get("actuator", ()):
            if table.get("name") == entry.table[1]:
                return table
        act = "declare the actuator first"
        raise UsageError(Problem("--write", f"no [[actuator]] is named {escape(entry.table[1])}", act=act))
    found: Any = document
    for name in entry.table:
        if name not in found:
            found[name] = tomlkit.table()
        found = found[name]
    return found


def _item(value: Any) -> Item:  # noqa: ANN401 - whatever TOML can hold
    import tomlkit  # noqa: PLC0415 - only writing pays for it

    if isinstance(value, dict):
        inline = tomlkit.inline_table()
        inline.update(value)
        return inline
    item: Item = tomlkit.item(value)
    return item


def _replace(path: Path, old: bytes, text: str) -> Path:
    kept = _free(path)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem}.", suffix=".toml")
    part = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        _check(part, path)
        with kept.open("xb") as stream:
            stream.write(old)
        part.chmod(path.stat().st_mode & 0o777)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return kept


def _check(part: Path, path: Path) -> None:
    """Read the new text before anything is replaced."""
    try:
        read_airframe(part)
    except AirframeFileError as refused:
        told = str(refused).replace(part.name, path.name)
        message = Problem(f"--write {escape(path.name)}", f"the file would not be valid with these lines: {told}")
        raise UsageError(message) from refused


def _free(path: Path) -> Path:
    names = (path.with_name(f"{path.stem}.before-{number}.toml") for number in itertools.count(1))
    return next(kept for kept in names if not kept.exists())
