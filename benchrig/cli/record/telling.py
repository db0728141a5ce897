"""The bench told line by line, one a change: for outputs that are no terminal, and for those who read by ear."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TextIO

from benchrig.cli.record import phrases
from benchrig.cli.record.standings import in_words
from benchrig.cli.terminal import broken, is_written
from benchrig.declaration.quotation import escape
from benchrig.live.view import REPEAT, View
from benchrig.report.lettering import clean

_SAME = {"moving": "move"}
"""A motion that has begun is no news to whoever makes it."""


class Telling:
    """Writes what changed from one view to the next.

    Parameters
    ----------
    stream : text file
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._told: dict[str, object] = {}
        self.is_lost = False

    def show(self, view: View, now: float) -> None:  # noqa: ARG002 - a page for a terminal is drawn by the time
        """Write what this view says that the one before did not."""
        time = phrases.clock(view.heard.seconds)
        for line in self._news(view):
            self._write(broken(f"{time}  {clean(line)}", self._stream) + "\n")

    def ring(self, bell: str) -> None:
        """Let the terminal ring, where it is one."""
        if self._stream.isatty():
            self._write(bell)

    def answer(self, keys: Sequence[str]) -> None:
        """Say once more what stands already, where somebody asked for it."""
        for key in keys:
            self._told.pop("moment" if key == REPEAT else "said", None)

    def refuse(self, line: str) -> None:
        """Say that a line means nothing."""
        self._write(broken(f'"{escape(line)}" means nothing here. {phrases.WORDS}', self._stream) + "\n")

    def draw_again(self) -> None:
        """Nothing: lines stay where they are."""

    def close(self) -> None:
        """Write nothing more."""

    def _news(self, view: View) -> list[str]:
        news = []
        if self._changed("said", view.said) and view.said:
            news.append(phrases.seen(view))
        had = self._told.get("trouble") is not None
        if self._changed("trouble", view.trouble):
            if view.trouble is not None:
                news.append(f"! {phrases.trouble(view.trouble)}")
            elif had:
                news.append("The trouble is over.")
        if self._changed("standing", in_words(view.standing)) and view.standing.verdict:
            news.append(in_words(view.standing))
        phase = _SAME.get(view.phase, view.phase)
        if self._changed("moment", (phase, view.motion, view.number, view.question)):
            news.append(f"{phrases.large(view).upper()}: {phrases.instruction(view)}")
            if view.phase == "question" and view.question is not None:
                news += [f"{key}  {answer}" for key, answer in view.question.answers.items()]
        return news

    def _changed(self, name: str, value: object) -> bool:
        if name in self._told and self._told[name] == value:
            return False
        self._told[name] = value
        return True

    def _write(self, text: str) -> None:
        if text and not self.is_lost:
            self.is_lost = not is_written(self._stream, text)
