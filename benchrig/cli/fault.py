"""The details of a fault of the program, kept in a file for those who mend it."""

from __future__ import annotations

import platform
import shlex
import tempfile
import traceback
from collections.abc import Sequence

from benchrig import __version__


def write_details(error: BaseException, arguments: Sequence[str]) -> str:
    """Write what was called, on what, and where it failed; the text is for a maintainer.

    Parameters
    ----------
    error : BaseException
    arguments : sequence of str
        As the user gave them.

    Returns
    -------
    str
        The file, in the system's folder for temporary files.

    Raises
    ------
    OSError
        If there is no room or no right to write it.
    """
    lines = [
        f"benchrig {__version__}, Python {platform.python_version()}, {platform.platform()}",
        f"called as: {shlex.join(['benchrig', *arguments])}",
        "",
        *traceback.format_exception(error),
    ]
    with tempfile.NamedTemporaryFile(
        "w", prefix="benchrig-fault-", suffix=".txt", delete=False, encoding="utf-8", errors="backslashreplace"
    ) as file:
        file.write("\n".join(lines))
    return file.name
