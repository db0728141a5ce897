"""Writing a proposed manifest without harming one that a person has worked on."""

from __future__ import annotations

import hashlib
import os
import re
import tomllib
from pathlib import Path
from typing import Final

from benchrig.declaration.file_kind import kind_of_file
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, UsageError

_MARK: Final = re.compile(rb"\A# benchrig describe made the lines below \(sha256 ([0-9a-f]{64})\)\n")
ENDING: Final = ".toml"


def signed(text: str) -> str:
    """Put a line above a manifest by which a later run knows whether anybody changed it."""
    return f"# benchrig describe made the lines below (sha256 {_digest(text.encode())})\n{text}"


def refuse_target(target: Path, stream: Path, *, force: bool) -> None:
    """Refuse a place for a manifest where it could not serve, or would take the place of something else.

    Raises
    ------
    UsageError
        If its name does not end in .toml, the stream does not lie beside or below it, or a file is in the way that is
        no manifest, or one that was not made by this command, or was changed since.
    """
    place = f"--out {escape(str(target))}"
    if target.suffix.lower() != ENDING or target.is_dir():
        raise UsageError(Problem(place, "is no name of a manifest", f"NAME{ENDING}", act="give another name"))
    if not target.parent.is_dir():
        raise UsageError(Problem(place, "its folder does not exist", "the folder of the stream", act="name that"))
    if target.parent.resolve() != stream.parent.resolve():
        raise UsageError(
            Problem(
                place,
                "is not in the folder of the stream",
                f"a name in {escape(os.fspath(stream.parent))}",
                "a manifest names its stream by its place beside it",
                "name a file there",
            )
        )
    if target.exists():
        _refuse_in_the_way(place, target, force=force)


def _refuse_in_the_way(place: str, target: Path, *, force: bool) -> None:
    content = target.read_bytes()
    mark = _MARK.match(content)
    if mark is not None and mark[1].decode() == _digest(content[mark.end() :]):
        return
    kind = _kind(content)
    if kind != "the manifest of a capture":
        finding = f"is there already, and is {kind or 'no manifest'}"
        raise UsageError(Problem(place, finding, "a name of its own; --force does not help", act="give another name"))
    if not force:
        finding = "was changed since this command made it" if mark is not None else "was not made by this command"
        raise UsageError(Problem(place, finding, act="give another name, or --force to replace it"))


def _kind(content: bytes) -> str | None:
    try:
        return kind_of_file(tomllib.loads(content.decode()))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError):
        return None


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
