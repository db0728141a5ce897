"""The text of a small file that a person wrote, or the reason why it cannot be one."""

from __future__ import annotations

import stat
from pathlib import Path
from typing import Final, NoReturn

from benchrig.declaration.quotation import escape
from benchrig.errors import BenchrigError, Problem

LARGEST_FILE: Final = 1_000_000
"""Bytes; a file that a person writes by hand has a few thousand."""

_UTF16_MARKS: Final = (b"\xff\xfe", b"\xfe\xff")


def read_content(path: Path, error: type[BenchrigError], what: str) -> bytes:
    """Read a file's bytes; its size is looked at first, so that a recording named by mistake is not loaded.

    Parameters
    ----------
    path : Path
    error : type
        The error to raise.
    what : str
        What the file is, for messages: "airframe file" or "manifest".

    Raises
    ------
    BenchrigError
        Of the type `error`: no such file, a folder, a device, no right to read it, or more than 1 MB.
    """
    try:
        return _read(path, error, what)
    except (FileNotFoundError, NotADirectoryError):
        finding = f"there is no such {what} in {escape(str(path.parent), 120)}"
        cause = "a misspelt name, or another folder"
        raise error(Problem(_name(path), finding, cause=cause, act="check both")) from None
    except (OSError, ValueError) as fault:
        reason = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        finding = f"the {what} cannot be read: {escape(reason)}"
        raise error(Problem(_name(path), finding, act="check its path and the right to read it")) from None


def _name(path: Path) -> str:
    return escape(path.name) or escape(str(path))


def _read(path: Path, error: type[BenchrigError], what: str) -> bytes:
    def refuse(finding: str, cause: str, act: str) -> NoReturn:
        raise error(Problem(_name(path), finding, f"a text file of at most {LARGEST_FILE // 1000} kB", cause, act))

    status = path.stat()
    if stat.S_ISDIR(status.st_mode):
        refuse("is a folder", "the file's name is missing", f"name the {what} inside it")
    if not stat.S_ISREG(status.st_mode):
        refuse("is a device or a pipe", "", f"save the {what} first, then name it")
    with path.open("rb") as stream:
        content = stream.read(LARGEST_FILE + 1) if status.st_size <= LARGEST_FILE else None
    if content is None or len(content) > LARGEST_FILE:
        size = max(status.st_size, LARGEST_FILE + 1)
        refuse(f"has {size / 1e6:.1f} MB", "a recording was named instead", f"name the {what}")
    return content


def decode(content: bytes, path: Path, error: type[BenchrigError], what: str) -> str:
    r"""Decode UTF-8 and make every line's end ``\n``.

    A byte-order mark of UTF-8, which some editors write, says nothing and is dropped.

    Raises
    ------
    BenchrigError
        Of the type `error`: another encoding, binary data, or nothing but blanks.
    """
    name = _name(path)
    if content.startswith(_UTF16_MARKS):
        cause, act = "an editor that saves as “Unicode”", "save it again as UTF-8"
        raise error(Problem(name, "is UTF-16 text", "UTF-8 text", cause, act))
    if b"\0" in content:
        place = f"{name}:{_line(content, content.index(0))}"
        cause, act = "another file was named", f"name the {what}, or save it again as UTF-8 text"
        raise error(Problem(place, "holds binary data", "UTF-8 text", cause, act))
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        place = f"{name}:{_line(content, fault.start)}"
        finding = f"the byte 0x{content[fault.start]:02x} is not UTF-8"
        cause = "an editor that saves in an older encoding, or another kind of file"
        raise error(Problem(place, finding, "UTF-8 text", cause, "save it again as UTF-8")) from None
    if not text.strip():
        finding, cause = f"the {what} is empty", "it was never saved, or the wrong file was named"
        raise error(Problem(name, finding, cause=cause, act="write it, starting from the example in the documentation"))
    return text.replace("\r\n", "\n")


def _line(content: bytes, offset: int) -> int:
    return content.count(b"\n", 0, offset) + 1
