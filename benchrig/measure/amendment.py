"""Putting measured lines into an airframe file: comments kept, the old file saved beside it, nothing half written."""

from __future__ import annotations

import codecs
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


def amend(path: Path, entries: Sequence[Entry], sha256: str) -> Path | None:
    """Put lines into an airframe file.

    The new text is read as an airframe file before it takes the old one's place; the old one is kept as
    ``NAME.before-1.toml``, or with the next number that is free. Line ends and a byte-order mark stay as they are.

    Parameters
    ----------
    path : Path
    entries : sequence of Entry
    sha256 : str
        Of the file that the measurement was held against.

    Returns
    -------
    Path or None
        Of the old file's copy; None where the file holds these lines already, and nothing was written.

    Raises
    ------
    UsageError
        If the file changed meanwhile, cannot be written, or would not be an airframe file any more.
    """
    path = path.resolve()  # a link stays a link to the file that is amended
    old = path.read_bytes()
    place = escape(path.name)
    if hashlib.sha256(old).hexdigest() != sha256:
        act = "run the measurement again, so that it is held against the file as it is"
        raise UsageError(Problem(place, "changed since it was measured against", act=act))
    new = _as_before(old, entries)
    if new == old:
        return None
    try:
        return _replace(path, old, new)
    except OSError as refused:
        act = "choose a folder you may write to, with room left"
        raise UsageError(Problem(f"--write {place}", f"cannot be written: {refused.strerror}", act=act)) from refused


def _as_before(old: bytes, entries: Sequence[Entry]) -> bytes:
    """Amend the text, and give it the line ends and the byte-order mark that it had."""
    text = old.decode("utf-8-sig")
    windows = "\r\n" in text
    new = amended(text.replace("\r\n", "\n"), entries)
    new = new.replace("\n", "\r\n") if windows else new
    return (codecs.BOM_UTF8 if old.startswith(codecs.BOM_UTF8) else b"") + new.encode()


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


def _replace(path: Path, old: bytes, new: bytes) -> Path:
    kept = _free(path)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem}.", suffix=".toml")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(new)
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
