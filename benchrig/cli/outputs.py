"""Writing result files without harming anything that this program did not make."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from benchrig.errors import Problem, UsageError

MARKS: Final = {
    "--html": '<meta name="generator" content="benchrig',
    "--json": '"schema": "benchrig-',
    "--junit": '<testsuites name="benchrig',
    "--pdf": "/Creator (benchrig)",
}
"""What the head of a file of each kind holds if this program made it; of a PDF, its end."""

PRECIOUS: Final = frozenset({".toml", ".csv", ".tsv", ".parquet", ".feather", ".arrow"})
"""Endings of what no report may ever take the place of: airframe files, manifests, worksheets and streams."""

_HEAD: Final = 4096  # bytes
_END: Final = 65536  # bytes


def refuse_foreign(option: str, target: Path, *, force: bool, schema: str = "") -> None:
    """Refuse a target that exists and was not made by this command, before any work is done.

    Parameters
    ----------
    option : str
    target : Path
    force : bool
    schema : str
        Of the JSON that would be written, where only its like may be replaced: the result of a bench is evidence.

    Raises
    ------
    UsageError
        With the reason and the way out.
    """
    if target.name == "-":
        raise UsageError(Problem(f"{option} -", "is no name of a file", act="name a file; only --json prints"))
    if target.is_dir() or not target.parent.is_dir():
        finding = "is a folder" if target.is_dir() else "its folder does not exist"
        raise UsageError(Problem(f"{option} {target}", finding, "the name of a file to write", act="give another name"))
    if not target.exists():
        return
    if target.suffix.lower() in PRECIOUS:
        expectation = "a report of its own name: --force never replaces a recording or a declaration by a report"
        raise UsageError(Problem(f"{option} {target}", "exists", expectation, act="give another name"))
    if force:
        return
    with target.open("rb") as stream:
        if option == "--pdf":  # its properties stand at the end
            stream.seek(max(0, target.stat().st_size - _END))
        looked_at = stream.read(_END if option == "--pdf" else _HEAD).decode("utf-8", errors="replace")
    if (f'"schema": "{schema}"' if schema else MARKS[option]) not in looked_at:
        act = "give another name, or --force to replace it"
        raise UsageError(Problem(f"{option} {target}", "exists and was not made by this command", act=act))


def refuse_shared(targets: Mapping[str, Path | None]) -> None:
    """Refuse one name for two reports: the last would take the place of the first.

    Raises
    ------
    UsageError
    """
    taken: dict[Path, str] = {}
    for option, target in targets.items():
        if target is None:
            continue
        place = target.resolve()
        if place in taken:
            finding = f"is also the target of {taken[place]}"
            raise UsageError(Problem(f"{option} {target}", finding, "a name of its own", act="give another name"))
        taken[place] = option


def write_whole(option: str, target: Path, content: str | bytes) -> None:
    """Write a file under another name first, so that a full disk never leaves half a report in its place.

    Parameters
    ----------
    option : str
    target : Path
    content : str or bytes
        Text is stored as UTF-8.

    Raises
    ------
    UsageError
        If the system refuses.
    """
    part: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", text=False)
        part = Path(name)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content.encode() if isinstance(content, str) else content)
        part.chmod(0o644)
        part.replace(target)
    except OSError as refused:
        if part is not None:
            part.unlink(missing_ok=True)
        act = "choose a folder you may write to, with room left"
        raise UsageError(Problem(f"{option} {target}", f"cannot be written: {refused.strerror}", act=act)) from refused
