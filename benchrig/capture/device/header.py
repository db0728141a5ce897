"""Which field of a line is which column: by the device file's order, or by the line of names that the device sends."""

from __future__ import annotations

from typing import Final

from benchrig.capture.device.device_file import Device
from benchrig.capture.device.layout import SEPARATORS, LineLayout
from benchrig.capture.numerals import is_number
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem

_BLANK: Final = b" "


def split_line(content: bytes, separator: bytes) -> list[bytes]:
    """Split a line into fields; a blank as separator stands for any run of blanks and tabs."""
    return content.split() if separator == _BLANK else content.split(separator)


class Names:
    """The places of the columns in a line, once they are known.

    Parameters
    ----------
    device : Device
    layout : LineLayout
        The device's.
    """

    def __init__(self, device: Device, layout: LineLayout) -> None:
        self._file = device.file
        self._order = layout.order
        self._columns = device.columns
        self._decimal = layout.decimal
        self._candidates = [
            sign.encode()
            for sign in ([layout.separator] if layout.separator else SEPARATORS.values())
            if sign != layout.decimal
        ]
        self._separator = self._candidates[0] if len(self._candidates) == 1 else None
        self._places: list[int] | None = None
        self._count = 0
        if layout.order is not None:
            self._count = len(layout.order)
            self._places = [place for place, name in enumerate(layout.order) if name]
        self.doubts: tuple[Problem, ...] = ()

    @property
    def are_known(self) -> bool:
        """Whether it is known which field is which column."""
        return self._places is not None

    def fields(self, content: bytes) -> list[bytes]:
        """Split a line; into as many fields as any separator gives where the right one is not known yet."""
        if self._separator is None:
            self._separator = next((sign for sign in self._candidates if self._fits(content, sign)), None)
        if self._separator is None:
            return max((split_line(content, sign) for sign in self._candidates), key=len)
        return split_line(content, self._separator)

    def _fits(self, content: bytes, separator: bytes) -> bool:
        """Say whether a line holds either all the names or, in a known order, so many fields, most of them numbers."""
        fields = split_line(content, separator)
        if self._places is None:
            return set(self._columns) <= set(_words(fields))
        picked = self.pick(fields)
        if picked is None:
            return False
        return 2 * sum(is_number(word, self._decimal) for word in _words(picked)) > len(picked)

    def pick(self, fields: list[bytes]) -> list[bytes] | None:
        """Give the fields of the columns in their order; None where the line has another number of fields."""
        places = self._places
        if places is None:
            return None
        if len(fields) != self._count:
            if len(fields) != self._count + 1 or fields[-1].strip():
                return None
            fields = fields[:-1]  # a separator after the last value
        return fields if len(places) == len(fields) and self._order else [fields[place] for place in places]

    def take_header(self, fields: list[bytes]) -> bool:
        """Say whether a line holds the names of the columns, and learn from it where they stand."""
        words = _words(fields)
        if not set(self._columns) <= set(words) or any(words.count(name) > 1 for name in self._columns):
            return False
        if self._order is None:
            self._count, self._places = len(words), [words.index(name) for name in self._columns]
        elif any(name and name != word for name, word in zip(self._order, words, strict=False)):
            self._doubt(words)
        return True

    def _doubt(self, words: list[str]) -> None:
        sent = ", ".join(escape(word, 20) for word in words[:30])
        # one is enough to be looked at, and what a unit sends must not pile up
        self.doubts = self.doubts or (
            Problem(
                self._file.place("lines", "order"),
                f"the unit names its columns in another order: {sent}",
                "the order of the device file",
                "the unit's program was changed, or the file is another unit's",
                "correct lines.order, or take it out, so that the unit's own names are used",
            ),
        )


def _words(fields: list[bytes]) -> list[str]:
    return [_word(field.strip(b" \t\"'")) for field in fields]


def _word(field: bytes) -> str:
    try:
        return field.decode()
    except UnicodeDecodeError:
        return field.decode("latin-1")
