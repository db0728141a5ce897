"""How a unit lays its values out: lines of text, or frames of bytes."""

from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np

from benchrig.capture.device.checksums import Check

SEPARATORS: Final[Mapping[str, str]] = {",": ",", ";": ";", "tab": "\t", "blanks": " "}
"""The words of a device file, and the sign each stands for; a blank stands for any run of blanks and tabs."""

TYPES: Final[Mapping[str, str]] = {
    "u8": "u1",
    "i8": "i1",
    "u16": "u2",
    "i16": "i2",
    "u32": "u4",
    "i32": "i4",
    "u64": "u8",
    "i64": "i8",
    "f32": "f4",
    "f64": "f8",
}
"""The words for the type of a field, and numpy's for the same."""


@dataclass(frozen=True, slots=True)
class LineLayout:
    """Values as lines of text.

    Attributes
    ----------
    separator : str or None
        A sign of `SEPARATORS`; None where it is to be found from the first lines.
    order : tuple of str or None
        The name of each field, empty for one that is left out; None where a line of names is sent.
    comment : str
        What a line begins with that holds no values.
    decimal : str
        "." or ",".
    is_checked : bool
        Whether each line ends with ``*`` and the exclusive or of the bytes before it, in two hexadecimal digits.
    """

    separator: str | None
    order: tuple[str, ...] | None
    comment: str
    decimal: str
    is_checked: bool = False


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a frame: its name, empty for bytes to skip, its type as a word of `TYPES`, and its bytes."""

    name: str
    kind: str
    size: int


@dataclass(frozen=True)
class FrameLayout:
    """Values as frames of bytes, all of one length.

    Attributes
    ----------
    sync : bytes
        What each frame begins with; empty where zero bytes stand between frames (COBS).
    is_big : bool
        Whether the most significant byte comes first.
    check : Check
        At the end of the frame.
    covers_sync : bool
        Whether the check is over the sync word too.
    fields : tuple of Field
    """

    sync: bytes
    is_big: bool
    check: Check
    covers_sync: bool
    fields: tuple[Field, ...]

    @property
    def is_checked(self) -> bool:
        """Whether each frame ends with a check."""
        return self.check.width > 0

    @property
    def is_cobs(self) -> bool:
        """Whether zero bytes stand between frames."""
        return not self.sync

    @cached_property
    def content_size(self) -> int:
        """Bytes of all fields, without sync word and check."""
        return sum(field.size for field in self.fields)

    @cached_property
    def size(self) -> int:
        """Bytes of a whole frame: sync word, fields and check; for COBS before it is encoded."""
        return len(self.sync) + self.content_size + self.check.width

    @cached_property
    def dtype(self) -> np.dtype[Any]:
        """The named fields as numpy reads them from the bytes of all fields."""
        order = ">" if self.is_big else "<"
        offsets = np.cumsum([0, *(field.size for field in self.fields)]).tolist()
        named = [(field, offset) for field, offset in zip(self.fields, offsets, strict=False) if field.name]
        return np.dtype(
            {
                "names": [field.name for field, _ in named],
                "formats": [order + TYPES[field.kind] for field, _ in named],
                "offsets": [offset for _, offset in named],
                "itemsize": self.content_size,
            }
        )

    @cached_property
    def check_format(self) -> struct.Struct | None:
        """How the check stands in the frame; None where there is none."""
        letter = {2: "H", 4: "I"}.get(self.check.width)
        return None if letter is None else struct.Struct((">" if self.is_big else "<") + letter)
