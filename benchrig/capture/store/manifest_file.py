"""The manifest of a recording while it is made: whole at every moment, never in place of somebody else's file."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomlkit

from benchrig.capture.store.disk import refused, write_atomically
from benchrig.capture.store.taken import refuse_to_replace
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, StoreError


def write_manifest(path: Path, document: Mapping[str, Any], *, force: bool = False, before: str | None = None) -> str:
    """Write a manifest in one step; the one before it, if any, is read whole until then.

    Parameters
    ----------
    path : Path
        ``NAME.toml``.
    document : mapping
        A tomlkit document, or plain tables.
    force : bool
        Whether files of this name may be replaced; a declaration never is.
    before : str, optional
        What the call before returned: the file as this recording made it may be replaced.

    Returns
    -------
    str
        SHA-256 of what was written, for the next call.

    Raises
    ------
    UsageError
        If another file is in the way at the first call.
    StoreError
        If the system refuses, or somebody else changed the manifest since the call before.
    """
    content = tomlkit.dumps(document).encode()
    tomllib.loads(content.decode())  # what cannot be read again must not take the place of what can
    if before is None:
        refuse_to_replace(path, force=force)
    elif not force:
        _require_own(path, before)
    write_atomically(path, content)
    return hashlib.sha256(content).hexdigest()


def _require_own(path: Path, before: str) -> None:
    try:
        now = hashlib.sha256(path.read_bytes()).hexdigest()
    except FileNotFoundError:
        return
    except OSError as error:
        raise refused(path, "cannot be read", error) from None
    if now != before:
        finding = "was changed by another program while this one was recording"
        act = "close the editor; rename the changed file, and the recording writes its own again"
        raise StoreError(Problem(escape(str(path), 200), finding, "the manifest as it was written", "", act))
