"""Lines of text turned into rows; what is no row is counted, and nothing that comes is trusted."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from benchrig.capture.device.checksums import xor_of
from benchrig.capture.device.device_file import Device
from benchrig.capture.device.header import Names
from benchrig.capture.device.layout import LineLayout
from benchrig.capture.device.rows import Rows
from benchrig.capture.device.tally import LARGEST_NUMBER, Reason, Tally
from benchrig.capture.numerals import is_number, number
from benchrig.errors import Problem

LONGEST_LINE: Final = 4096
"""Bytes after which a line without an end is given up."""

_CHECK_DIGITS: Final = 2


class LineReader:
    """Rows out of a stream of text that may begin, break off and be damaged anywhere.

    Parameters
    ----------
    device : Device
        Which sends lines.
    tally : Tally
        Where everything is counted.
    """

    def __init__(self, device: Device, tally: Tally) -> None:
        assert isinstance(device.layout, LineLayout)  # noqa: S101 - the decoder chose this reader by it
        self._layout = device.layout
        self._tally = tally
        self._names = Names(device, device.layout)
        self._comment = device.layout.comment.encode()
        meaning = device.meaning
        counter = () if device.counter is None else (device.counter.name,)
        self._decimal = device.layout.decimal
        self._required = [name in (*meaning.required, *counter) for name in device.columns]
        self._named = [name in (*meaning.names, *counter) for name in device.columns]
        self._held = b""
        self._piece = 0
        self._has_begun = False
        self._is_too_long = False

    @property
    def doubts(self) -> tuple[Problem, ...]:
        """What the names that the device sends say against the device file."""
        return self._names.doubts

    def feed(self, data: bytes) -> Rows:
        """Take in bytes, and give the rows that are whole by now."""
        self._tally.bytes += len(data)
        *lines, self._held = (self._held + data).replace(b"\r", b"\n").split(b"\n")
        rows: list[list[float]] = []
        pieces: list[int] = []
        for line in lines:
            row = self._row(line)
            if row is not None:
                rows.append(row)
                pieces.append(self._piece)
                self._piece += 1
                self._tally.rows += 1
                self._tally.row_bytes += len(line) + 1
            self._has_begun = True
        if len(self._held) > LONGEST_LINE:
            self._is_too_long, self._held = True, b""
        values = np.array(rows, dtype=np.float64).reshape(len(rows), len(self._required))
        return Rows(values, np.array(pieces, dtype=np.int64))

    def interrupted(self) -> None:
        """Forget what was begun: the link was cut."""
        self._tally.idle_bytes += len(self._held)
        self._held, self._has_begun, self._is_too_long = b"", False, False

    def _row(self, line: bytes) -> list[float] | None:
        """Give the values of a line that is a whole row; what else it is, is counted."""
        if self._is_too_long:
            self._is_too_long = False
            self._refuse(line, "too long")
            return None
        content = line.strip()
        if not content or content.startswith(self._comment):
            self._idle(line, is_text=bool(content))
            return None
        checked = _without_check(content) if self._layout.is_checked else content
        if not self._has_begun:
            # a stream that is joined in its middle begins with the rest of a line, which may look like a whole one
            self._names.take_header(self._names.fields(checked or content))
            self._idle(line)
            return None
        if checked is None:
            self._refuse(line, "check")
            return None
        fields = self._names.fields(checked)
        picked = self._names.pick(fields)
        values = None if picked is None else self._values(picked)
        if values is None:
            self._strange(line, fields, picked)
        return values

    def _values(self, fields: list[bytes]) -> list[float] | None:
        """Give the numbers of a row; None where they are not all plain numbers."""
        try:
            values = [float(field) for field in fields]
        except ValueError:
            return self._values_exactly(fields)
        # float() takes what no unit sends as a number: 1_000, inf
        is_usual = all(-LARGEST_NUMBER < value < LARGEST_NUMBER for value in values)
        plain = self._decimal == "." and is_usual and b"_" not in b"".join(fields)
        return values if plain else self._values_exactly(fields)

    def _values_exactly(self, fields: list[bytes]) -> list[float] | None:
        values = []
        for field, is_named, is_required in zip(fields, self._named, self._required, strict=True):
            try:
                value = number(field.strip().decode("latin-1"), self._decimal)
            except ValueError:
                if is_named:
                    return None
                value = math.nan
            if not abs(value) < LARGEST_NUMBER:
                if is_required:
                    return None
                value = math.nan
            values.append(value)
        return values

    def _strange(self, line: bytes, fields: list[bytes], picked: list[bytes] | None) -> None:
        """Count a line that is no row: names again, other text, or a damaged row."""
        if self._names.take_header(fields):
            self._idle(line, is_text=True)
        elif 2 * sum(_is_number(field, self._decimal) for field in fields) < len(fields):
            self._tally.skip(line)
        elif picked is not None:
            self._refuse(line, "blank" if any(not field.strip() for field in picked) else "not a number")
        elif self._names.are_known:
            self._tally.field_counts[len(fields)] += 1
            self._refuse(line, "fields")
        else:
            self._refuse(line, "no names")

    def _refuse(self, line: bytes, reason: Reason) -> None:
        self._tally.refuse(line, reason)
        self._piece += 1

    def _idle(self, line: bytes, *, is_text: bool = False) -> None:
        self._tally.idle_bytes += len(line) + 1
        self._tally.skipped += is_text


def _is_number(field: bytes, decimal: str) -> bool:
    return is_number(field.strip().decode("latin-1"), decimal)


def _without_check(content: bytes) -> bytes | None:
    """Give a line without the check at its end and the sign before it that the check does not cover; None if wrong."""
    body, star, stated = content.rpartition(b"*")
    body = body.removeprefix(b"$")
    is_right = bool(star) and len(stated) == _CHECK_DIGITS and stated.upper() == b"%02X" % xor_of(body)
    return body if is_right else None
