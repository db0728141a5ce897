"""The stream beside a manifest: where it may lie, what kind of file it is, and its columns."""

from __future__ import annotations

import re
import stat
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from benchrig.capture.columnar import ARROW_FILE_MARK, ARROW_STREAM_MARK, PARQUET_MARK, read_arrow, read_parquet
from benchrig.capture.store.reading import is_store, read_store
from benchrig.capture.table import Table
from benchrig.capture.text import read_text
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem

KINDS: Final[Mapping[str, str]] = {
    ".csv": "text",
    ".tsv": "text",
    ".txt": "text",
    ".parquet": "Parquet",
    ".feather": "Feather",
    ".arrow": "Feather",
}
"""What each ending of a stream's name says about the file."""

MARKS: Final = (
    (PARQUET_MARK, "Parquet"),
    (ARROW_FILE_MARK, "Feather"),
    (ARROW_STREAM_MARK, "Feather"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"PK\x03\x04", "a zip archive or a spreadsheet"),
    (b"\x89HDF\r\n", "HDF5"),
    (b"\x28\xb5\x2f\xfd", "a Zstandard archive"),
    (b"\xfd7zXZ", "an xz archive"),
    (b"BZh", "a bzip2 archive"),
    (b"SQLite format 3", "an SQLite database"),
)
"""The first bytes of files that are taken for a stream by mistake (from the published format of each)."""

READABLE: Final = ("text", "Parquet", "Feather")
_DRIVE = re.compile(r"[A-Za-z]:")


def find_stream(manifest: Path, named: str, place: str) -> Path:
    """Find the stream that a manifest names, in the manifest's own folder or below it.

    Parameters
    ----------
    manifest : Path
    named : str
        What stands behind ``stream =``.
    place : str
        Where it stands.

    Raises
    ------
    CaptureError
        If the name leads out of the folder, or to nothing, or to something that is not a file.
    """
    parts = re.split(r"[/\\]", named)
    rooted = named.startswith(("/", "\\", "~")) or _DRIVE.match(named)
    if rooted or "\\" in named or ".." in parts or not named.strip() or not named.isprintable():
        raise CaptureError(_leads_out(place, named))
    folder = manifest.parent.resolve()
    path = manifest.parent / named
    try:
        resolved = path.resolve()
        mode = resolved.stat().st_mode
    except (OSError, RuntimeError) as error:
        raise CaptureError(_not_found(place, named, manifest.parent, error)) from None
    if not resolved.is_relative_to(folder):
        raise CaptureError(_leads_out(place, named))
    if not stat.S_ISREG(mode):
        what = "a folder" if stat.S_ISDIR(mode) else "not an ordinary file"
        raise CaptureError(
            Problem(place, f'stream "{escape(named)}" is {what}', "a file", act="name the stream itself")
        )
    return path


def _leads_out(place: str, named: str) -> Problem:
    return Problem(
        place,
        f'stream = "{escape(named)}"',
        "the name of a file beside the manifest or in a folder below it, with / between folders",
        "the manifest was written on another machine, or its stream was moved",
        "put the stream beside the manifest and write its name alone",
    )


def _not_found(place: str, named: str, folder: Path, error: Exception) -> Problem:
    if isinstance(error, PermissionError):
        return Problem(place, f'stream "{escape(named)}" may not be read', act="change the permissions of the file")
    try:
        there = sorted(p.name for p in folder.iterdir() if p.suffix.lower() in KINDS)
    except OSError:
        there = []
    return Problem(
        place,
        f'stream = "{escape(named)}", which is not there',
        f"a file beside the manifest; there are: {', '.join(map(escape, there[:8]))}" if there else "a file beside it",
        "it was renamed or left behind when the manifest was copied",
        "copy it to the manifest's folder, or correct its name",
    )


def read_bytes(path: Path) -> bytes:
    """Read a whole file.

    Raises
    ------
    CaptureError
        If it cannot be read or is empty.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        finding = f"cannot be read: {error.strerror or type(error).__name__}"
        raise CaptureError(Problem(escape(path.name), finding, act="check its permissions and its disk")) from None
    if not data:
        raise CaptureError(
            Problem(
                path.name,
                "the file is empty",
                "a line of column names and then one line a sample",
                "the logger was stopped before it wrote anything, or the disk was full",
                "record again",
            )
        )
    return data


def read_stream(path: Path, data: bytes, wanted: Sequence[str], required: Sequence[str] = ()) -> Table:
    """Read the wanted columns of a stream; its name says which kind of file it is, and its content must agree.

    Parameters
    ----------
    path : Path
    data : bytes
        The file's content.
    wanted : sequence of str
    required : sequence of str
        Those of them that have a value in every row.

    Raises
    ------
    CaptureError
        If the name's ending is not known or its content is of another kind, and whatever its reader finds.
    """
    said = KINDS.get(path.suffix.lower())
    found = next((kind for mark, kind in MARKS if data.startswith(mark)), "text")
    if said is None:
        raise CaptureError(
            Problem(
                escape(path.name),
                f'its name ends in "{escape(path.suffix)}"',
                f"one of {' '.join(KINDS)}",
                "it was packed" if found not in READABLE else "the logger uses a form of its own",
                "unpack it" if found not in READABLE else "export the recording as text, Parquet or Feather",
            )
        )
    if said != found:
        raise CaptureError(_other_kind(path, said, found, data))
    if said == "text":
        return read_text(path.name, data, wanted, required)
    if said == "Parquet":
        return read_parquet(path.name, data, wanted)
    if data.startswith(ARROW_STREAM_MARK) and is_store(path, data):
        return read_store(path, data, wanted)
    return read_arrow(path.name, data, wanted)


def _other_kind(path: Path, said: str, found: str, data: bytes) -> Problem:
    if found == "text" and b"\0" in data[:4096]:
        found = "something else"
    act = "export the recording again as text, Parquet or Feather"
    if found in READABLE:
        ending = next(end for end, kind in KINDS.items() if kind == found)
        act = f'rename it to "{escape(path.stem)}{ending}" and correct `stream` in the manifest'
    return Problem(
        escape(path.name), f"its content is {found}", f"{said}, as its name says", "the file was renamed", act
    )
