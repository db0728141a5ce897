"""One file that only grows, whole message by whole message, and what a system may refuse."""

from __future__ import annotations

import errno
import os
import tempfile
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO, Final

from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, StoreError, UsageError

_SYNC: Final[Callable[[int], None]] = getattr(os, "fdatasync", os.fsync)
"""Where a system has no fdatasync, fsync does the same and the file's dates besides."""

_BINARY: Final = getattr(os, "O_BINARY", 0)

ACTS: Final[Mapping[int, str]] = {
    errno.ENOSPC: "make room on the disk",
    errno.EDQUOT: "make room in your quota",
    errno.EFBIG: "name a folder on a disk that takes larger files",
    errno.EROFS: "name a folder on a disk that can be written",
    errno.EACCES: "name a folder that you may write to",
    errno.EPERM: "name a folder that you may write to",
    errno.EIO: "the disk or card is failing, or was taken out: use another",
    errno.ENOENT: "make the folder first, or correct its name",
    errno.ENOTDIR: "make the folder first, or correct its name",
}


WAITING: Final = "what could not be written waits, and is tried again with the next rows"


def refused(path: Path, what: str, error: OSError, then: str = "") -> StoreError:
    """Say what the system refused, and what to do about it.

    Parameters
    ----------
    path : Path
    what : str
        What could not be done: ``cannot be written``.
    error : OSError
    then : str
        What the program does meanwhile.
    """
    reason = (error.strerror or type(error).__name__).lower()
    act = ACTS.get(error.errno or 0, "choose another folder")
    return StoreError(Problem(escape(str(path), 200), f"{what}: {reason}", act=f"{act}; {then}" if then else act))


def without_hope(problem: Problem) -> Problem:
    """Leave out that what could not be written is tried again: at the end it is not."""
    return replace(problem, act=problem.act.removesuffix(f"; {WAITING}"))


def refuse_folder(path: Path) -> None:
    """Refuse the name of a folder.

    Raises
    ------
    UsageError
    """
    if path.is_dir():
        place = escape(str(path), 200)
        raise UsageError(Problem(place, "is a folder", "the name of a file to write", act="choose another name"))


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder onto the disk, where the system lets one ask for that."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    with suppress(OSError):
        os.fsync(handle)
    os.close(handle)


@contextmanager
def replacing(path: Path) -> Iterator[BinaryIO]:
    """Write a file so that whoever reads it at any moment finds the old one or the new one, whole.

    Raises
    ------
    StoreError
        If the system refuses; the old file is then as it was.
    """
    part: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        part = Path(name)
        with os.fdopen(handle, "wb") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        part.chmod(0o644)
        part.replace(path)
    except OSError as error:
        raise refused(path, "cannot be written", error) from None
    finally:
        if part is not None:
            with suppress(OSError):
                part.unlink(missing_ok=True)
    sync_folder(path.parent)


def write_atomically(path: Path, content: bytes) -> None:
    """Write a small file as `replacing` does.

    Raises
    ------
    StoreError
    """
    with replacing(path) as stream:
        stream.write(content)


class GrowingFile:
    """A new file to which whole messages are added; who makes one has looked whether the name is free.

    A message goes to the system at once, which keeps it should this program be killed; a thread of its own brings it
    onto the disk, so that a slow card never holds up whoever records.

    Parameters
    ----------
    path : Path
    force : bool
        Whether a file that is there may be replaced.

    Raises
    ------
    StoreError
        If the system refuses, or another program took the name meanwhile.
    """

    def __init__(self, path: Path, *, force: bool) -> None:
        self.path = path
        self.size = 0
        try:
            if force:
                path.unlink(missing_ok=True)
            self._handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | _BINARY, 0o644)
        except OSError as error:
            raise refused(path, "cannot be made", error) from None
        sync_folder(path.parent)
        self._open, self._torn = True, False
        self._wanted = threading.Event()
        self._trouble: OSError | None = None
        self._thread = threading.Thread(target=self._sync_again_and_again, name="store", daemon=True)
        self._thread.start()

    def add(self, message: bytes) -> None:
        """Add a message as a whole, or nothing of it.

        Raises
        ------
        StoreError
            If the system refuses, if the file is no longer there, or if an earlier message did not reach the disk.
        """
        self._raise_trouble()
        self._require_there()
        try:
            self._cut_back()
            self._torn = True
            left = memoryview(message)
            while left:
                left = left[os.write(self._handle, left) :]
        except OSError as error:
            with suppress(OSError):
                self._cut_back()
            raise refused(self.path, "cannot be written on", error, WAITING) from None
        self._torn = False
        self.size += len(message)
        self._wanted.set()

    def sync(self) -> None:
        """Wait until all of it is on the disk.

        Raises
        ------
        StoreError
            If the system refuses.
        """
        self._raise_trouble()
        try:
            _SYNC(self._handle)
        except OSError as error:
            raise refused(self.path, "did not reach the disk", error) from None

    def close(self) -> None:
        """Close it, whatever state it is in; may be called twice."""
        if not self._open:
            return
        self._open = False
        self._wanted.set()
        self._thread.join()
        os.close(self._handle)

    def _cut_back(self) -> None:
        """Take back what was written of a message that did not fit, so that the next one follows the last whole one."""
        if self._torn:
            os.ftruncate(self._handle, self.size)
            os.lseek(self._handle, self.size, os.SEEK_SET)
            self._torn = False

    def _require_there(self) -> None:
        """Notice that the file was removed or replaced, which a system that keeps it open would never say."""
        try:
            is_there = os.path.samestat(self.path.stat(), os.fstat(self._handle))
        except FileNotFoundError:
            is_there = False
        except OSError as error:
            raise refused(self.path, "cannot be reached", error) from None
        if not is_there:
            finding = "was removed or replaced while it was being recorded"
            act = "stop, and record again; nothing more can be kept under this name"
            cause = "the file or its folder was deleted, renamed or cleaned up"
            raise StoreError(Problem(escape(str(self.path), 200), finding, cause=cause, act=act))

    def _raise_trouble(self) -> None:
        trouble, self._trouble = self._trouble, None
        if trouble is not None:
            raise refused(self.path, "did not reach the disk", trouble)

    def _sync_again_and_again(self) -> None:
        while self._wanted.wait() and self._open:
            self._wanted.clear()
            try:
                _SYNC(self._handle)
            except OSError as error:
                self._trouble = error
