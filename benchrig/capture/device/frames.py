"""Frames of bytes: found by their marks, held against their length and check, and turned into rows.

References
----------
Cheshire, S., M. Baker: Consistent Overhead Byte Stuffing, IEEE/ACM Transactions on Networking 7(2), 1999.
"""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from cobs import cobs

from benchrig.capture.device.device_file import Device
from benchrig.capture.device.layout import FrameLayout
from benchrig.capture.device.rows import Rows
from benchrig.capture.device.tally import LARGEST_NUMBER, Tally

_COBS_RUN: Final = 254
"""Bytes after which the encoding needs one more."""

_MANY: Final = 4
"""Frames' worth of garbage after which it is counted, though no whole frame has ended it yet."""


def read_frames(contents: list[bytes], layout: FrameLayout) -> np.ndarray:
    """Turn the fields of frames into numbers.

    Parameters
    ----------
    contents : list of bytes
        The fields of each frame, without mark and check.
    layout : FrameLayout

    Returns
    -------
    ndarray, shape (len(contents), C)
        Whole numbers beyond 2⁵³ lose their last digits.
    """
    dtype = layout.dtype
    names = dtype.names or ()
    records = np.frombuffer(b"".join(contents), dtype)
    values = np.empty((len(records), len(names)))
    for column, name in enumerate(names):
        values[:, column] = records[name]
    return values


class FrameReader:
    """Frames out of a stream of bytes that may begin, break off and be damaged anywhere.

    Parameters
    ----------
    device : Device
    layout : FrameLayout
        The device's.
    tally : Tally
        Where everything is counted.
    """

    def __init__(self, device: Device, layout: FrameLayout, tally: Tally) -> None:
        self._required = [device.columns.index(name) for name in device.meaning.required]
        self._layout = layout
        self._tally = tally
        self._held = b""
        self._piece = 0
        self._has_begun = False
        self._is_too_long = False
        self._garbage = 0
        self._find = self._between_zeros if layout.is_cobs else self._after_sync

    def feed(self, data: bytes) -> Rows:
        """Take in bytes, and give the rows that are whole by now."""
        self._tally.bytes += len(data)
        contents: list[bytes] = []
        pieces: list[int] = []
        self._find(self._held + data, contents, pieces)
        return self._finite(Rows(read_frames(contents, self._layout), np.array(pieces, dtype=np.int64)))

    def _finite(self, rows: Rows) -> Rows:
        """Leave out rows without a number where one is needed; elsewhere such a value is a blank."""
        finite = np.abs(rows.values) < LARGEST_NUMBER
        if finite.all():
            return rows
        whole = finite[:, self._required].all(axis=1)
        damaged = int((~whole).sum())
        if damaged:
            self._tally.refuse(b"", "not a number", damaged)
            self._tally.rows -= damaged
        values = np.where(finite, rows.values, np.nan)
        return Rows(values[whole], rows.piece[whole])

    def interrupted(self) -> None:
        """Forget what was begun: the link was cut."""
        self._tally.idle_bytes += len(self._held)
        self._end_garbage(b"")
        self._held, self._has_begun, self._is_too_long = b"", False, False

    def _between_zeros(self, data: bytes, contents: list[bytes], pieces: list[int]) -> None:
        *parts, self._held = data.split(b"\0")
        for part in parts:
            self._take_part(part, contents, pieces)
            self._has_begun = True
        if len(self._held) > self._layout.size + self._layout.size // _COBS_RUN + 1:
            self._is_too_long = True
            self._held = b""

    def _take_part(self, part: bytes, contents: list[bytes], pieces: list[int]) -> None:
        if self._is_too_long:
            self._is_too_long = False
            self._damaged(part, "too long")
            return
        if not part:
            self._tally.idle_bytes += 1
            return
        content = self._decoded(part)
        if content is None:
            self._damaged(part, "length")
        elif not self._is_right(content):
            self._damaged(part, "check")
        else:
            self._keep(content, contents, pieces)
            self._tally.row_bytes += len(part) + 1

    def _decoded(self, part: bytes) -> bytes | None:
        size = self._layout.size
        if not size < len(part) <= size + size // _COBS_RUN + 1:
            return None
        try:
            frame = cobs.decode(part)
        except cobs.DecodeError:
            return None
        return frame if len(frame) == size else None

    def _damaged(self, part: bytes, reason: Literal["length", "check", "too long"]) -> None:
        if not self._has_begun and reason != "too long":
            # a stream that is joined in its middle begins with the rest of a frame
            self._tally.idle_bytes += len(part) + 1
            return
        self._tally.refuse(part, reason)
        self._piece += max(1, round(len(part) / self._layout.size))

    def _is_right(self, frame: bytes) -> bool:
        form = self._layout.check_format
        if form is None:
            return True
        start = 0 if self._layout.covers_sync else len(self._layout.sync)
        (stated,) = form.unpack_from(frame, len(frame) - form.size)
        return bool(stated == self._layout.check.of(frame[start : len(frame) - form.size]))

    def _keep(self, frame: bytes, contents: list[bytes], pieces: list[int]) -> None:
        start = len(self._layout.sync)
        contents.append(frame[start : start + self._layout.content_size])
        pieces.append(self._piece)
        self._piece += 1
        self._tally.rows += 1

    def _after_sync(self, data: bytes, contents: list[bytes], pieces: list[int]) -> None:
        """Find frames by their sync word; where one is damaged, the next word is sought from its second byte on."""
        sync, size = self._layout.sync, self._layout.size
        # without a check the next sync word must follow, or bytes were lost within the frame
        follows = b"" if self._layout.check_format else sync
        position = 0
        while True:
            found = data.find(sync, position)
            end = found if found >= 0 else max(position, len(data) - len(sync) + 1)
            self._garbage += end - position
            position = end
            if found < 0 or found + size + len(follows) > len(data):
                break
            frame = data[found : found + size]
            if data.startswith(follows, found + size) and self._is_right(frame):
                self._end_garbage(data[:found])
                self._keep(frame, contents, pieces)
                self._tally.row_bytes += size
                self._has_begun = True
                position += size
            else:
                self._garbage += 1
                position += 1
        self._held = data[position:]
        if self._garbage >= _MANY * size:
            self._end_garbage(data)

    def _end_garbage(self, sample: bytes) -> None:
        """Count the bytes since the last whole frame as so many damaged ones."""
        garbage, self._garbage = self._garbage, 0
        if not self._has_begun and garbage < self._layout.size:
            self._tally.idle_bytes += garbage
        elif garbage:
            rows = round(garbage / self._layout.size)
            self._tally.refuse(sample[-garbage:], "check", max(1, rows))
            self._piece += rows
