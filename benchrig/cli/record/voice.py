"""Prompts spoken aloud by a speech program of the system, where there is one; nothing ever waits for it."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence
from typing import Final

from benchrig.cli.record import phrases
from benchrig.live.view import Cue, View
from benchrig.report.lettering import clean

PROGRAMS: Final = (("spd-say", "--"), ("espeak-ng", "--"), ("espeak", "--"), ("say",))
"""Speech programs, each with what stands before the text; the first that is there is used."""
_LONGEST: Final = 200
"""Characters that are spoken: a longer sentence would still be talking when the next prompt comes."""


def find_speaker() -> list[str]:
    """Give the command that speaks, or an empty list where there is none."""
    for program, *before in PROGRAMS:
        path = shutil.which(program)
        if path:
            return [path, *before]
    return []


def spoken(view: View, cues: Sequence[Cue]) -> str:
    """Give what is said aloud at this moment; empty where nothing is.

    Examples
    --------
    >>> spoken(View("move", "nose up"), [Cue.DONE, Cue.BEGIN])
    'Good. nose up'
    """
    said = ""
    if Cue.TROUBLE in cues and view.trouble is not None:
        return view.trouble.finding
    if Cue.AGAIN in cues:
        return view.said
    if Cue.DONE in cues:
        said = "Good. "
    if Cue.BEGIN in cues:
        return said + phrases.large(view)
    if Cue.QUESTION in cues and view.question is not None:
        return f"{said}What did {view.question.actuator} do?"
    return said.strip()


class Voice:
    """Speaks one sentence at a time, in a process of its own; a new sentence cuts the old one short.

    Parameters
    ----------
    command : sequence of str
        What speaks the text given behind it; empty for silence.
    """

    def __init__(self, command: Sequence[str]) -> None:
        self._command = list(command)
        self._speaking: list[subprocess.Popen[bytes]] = []

    def say(self, text: str) -> None:
        """Begin to say it. A program that cannot be started is not tried again."""
        if not text or not self._command:
            return
        self.hush()
        words = clean(text)[:_LONGEST].lstrip("-")  # never an option of the program
        quiet = subprocess.DEVNULL
        try:
            process = subprocess.Popen([*self._command, words], stdin=quiet, stdout=quiet, stderr=quiet)  # noqa: S603 - a fixed program, and the text as one argument
        except OSError:
            self._command = []
        else:
            self._speaking.append(process)

    def hush(self) -> None:
        """Cut short what is being said, and wait for nothing."""
        for process in self._speaking:
            if process.poll() is None:
                process.terminate()
        self._speaking = [process for process in self._speaking if process.poll() is None]
