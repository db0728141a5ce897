"""The line of every key of a TOML text that is known to be valid."""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_left
from dataclasses import dataclass, field
from typing import Final

KeyPath = tuple[str | int, ...]

DEEPEST_PATH: Final = 32
"""Keys further down have no line of their own: files that a person writes go down to four or five."""

_BLANK: Final = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_STRING: Final = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}'
    r"|'''(?:[^']|'(?!''))*'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)
_PLAIN_VALUE: Final = re.compile(r"[^,\]}#\n]+")


def key_lines(text: str) -> dict[KeyPath, int]:
    r"""Find the line, from 1, on which each key path first stands.

    Parameters
    ----------
    text : str
        Valid TOML with ``\n`` for every line's end: nothing is checked here.

    Returns
    -------
    dict of tuple to int
        Every key path of what `tomllib` makes of the text, down to `DEEPEST_PATH` parts; an entry of a list is named
        by its index, from 0.

    Raises
    ------
    RecursionError
        If values are nested deeper than Python can follow.

    Examples
    --------
    >>> key_lines('[sensor]\naxes = { x = "aft" }')
    {('sensor',): 1, ('sensor', 'axes'): 2, ('sensor', 'axes', 'x'): 2}
    """
    return _Pass(text, [found.start() for found in re.finditer("\n", text)]).read()


@dataclass(slots=True)
class _Pass:
    """One walk over the text; `lists` counts the tables of each array of tables."""

    text: str
    breaks: list[int]
    position: int = 0
    lines: dict[KeyPath, int] = field(default_factory=dict)
    lists: dict[KeyPath, int] = field(default_factory=dict)

    def read(self) -> dict[KeyPath, int]:
        table: KeyPath = ()
        self.skip()
        while self.position < len(self.text):
            if self.text[self.position] == "[":
                table = self.read_header()
            else:
                self.read_pair(table)
            self.skip()
        return self.lines

    def skip(self, count: int = 0) -> None:
        """Step over `count` characters, then over blanks, line ends and comments."""
        match = _BLANK.match(self.text, self.position + count)
        self.position = match.end() if match else len(self.text)

    def at(self, sign: str) -> bool:
        return self.text.startswith(sign, self.position)

    def note(self, path: KeyPath) -> None:
        if len(path) > DEEPEST_PATH:
            return  # the place of such a key is that of the table around it
        self.lines.setdefault(path, bisect_left(self.breaks, self.position) + 1)

    def take(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.position)
        if match is None:
            message = f"no valid TOML at character {self.position}"
            raise ValueError(message)
        self.position = match.end()
        return match.group()

    def read_key(self) -> list[str]:
        """Read a key with its dots; the position is left after it."""
        parts = []
        while True:
            quoted = self.at('"') or self.at("'")
            token = self.take(_STRING if quoted else _BARE_KEY)
            # a quoted key may hold escapes, which tomllib knows
            parts.append(str(tomllib.loads(f"k = {token}")["k"]) if quoted else token)
            self.skip()
            if not self.at("."):
                return parts
            self.skip(1)

    def read_header(self) -> KeyPath:
        start = self.position
        opening = 2 if self.at("[[") else 1
        self.skip(opening)
        parts = self.read_key()
        end = self.position + opening
        self.position = start  # the header's line, for all its parts
        path: KeyPath = ()
        for index, part in enumerate(parts):
            path = (*path, part)
            self.note(path)
            if opening == 2 and index == len(parts) - 1:  # noqa: PLR2004 - [[ opens one more table of a list
                self.lists[path] = self.lists.get(path, 0) + 1
            if path in self.lists:
                path = (*path, self.lists[path] - 1)
                self.note(path)
        if opening == 1:
            self.lines.pop(path, None)  # a table's own header says more than an earlier mention of it
            self.note(path)
        self.position = end
        return path

    def read_pair(self, table: KeyPath) -> None:
        start = self.position
        parts = self.read_key()
        after, self.position = self.position, start
        path = table
        for part in parts:
            path = (*path, part)
            self.note(path)
        self.position = after
        self.skip(1)  # the equals sign
        self.read_value(path)

    def read_value(self, path: KeyPath) -> None:
        if self.at('"') or self.at("'"):
            self.take(_STRING)
        elif self.at("["):
            self.read_list(path)
        elif self.at("{"):
            self.read_inline_table(path)
        else:
            self.take(_PLAIN_VALUE)

    def read_list(self, path: KeyPath) -> None:
        self.skip(1)
        index = 0
        while not self.at("]"):
            entry = (*path, index)
            self.note(entry)
            self.read_value(entry)
            self.skip()
            if self.at(","):
                self.skip(1)
            index += 1
        self.position += 1

    def read_inline_table(self, path: KeyPath) -> None:
        self.skip(1)
        while not self.at("}"):
            self.read_pair(path)
            self.skip()
            if self.at(","):
                self.skip(1)
        self.position += 1
