"""What came over a port so far, by bytes and by rows: enough to say what is wrong where nothing useful comes."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias

Reason = Literal["length", "check", "fields", "not a number", "blank", "no names", "too long", "time", "counter"]
"""Why a piece was refused: a frame of another length; the check at its end; another number of fields; a field that is
no number, or is blank where a value is needed; rows before the line of names; no end of a line or frame; a stamp or a
count that fits neither the row before nor the row after."""

Octets: TypeAlias = bytes
SAMPLE: Final = 80

LARGEST_NUMBER: Final = 1e20
"""What is beyond any count, stamp or reading, and taken for no number: a stamp in ns since 1970 is below 2e18."""


@dataclass(slots=True)
class Tally:
    """Counts since the decoder was made.

    Attributes
    ----------
    bytes : int
        All that came.
    row_bytes : int
        Of whole rows.
    idle_bytes : int
        That claim nothing: comments, blank lines, lines of names, what came before the first mark.
    rows : int
        That were whole.
    refused : int
        Pieces that look like rows and are damaged, or are none.
    skipped : int
        Comments, lines of names, and other lines of text.
    missing : int
        Rows that the device counted and that never came whole.
    duplicates : int
        Rows that repeat the row before wholly, and were left out.
    reasons : Counter of Reason
    field_counts : Counter of int
        How many fields the refused lines had that had another number than wanted.
    sample : bytes
        The start of the last piece that was refused or skipped: foreign, to be escaped where it is shown.
    """

    bytes: int = 0
    row_bytes: int = 0
    idle_bytes: int = 0
    rows: int = 0
    refused: int = 0
    skipped: int = 0
    missing: int = 0
    duplicates: int = 0
    reasons: Counter[Reason] = field(default_factory=Counter)
    field_counts: Counter[int] = field(default_factory=Counter)
    sample: Octets = b""

    def refuse(self, piece: Octets, reason: Reason, count: int = 1) -> None:
        """Count a refused piece."""
        self.refused += count
        self.reasons[reason] += count
        self.sample = piece[:SAMPLE]

    def skip(self, piece: Octets) -> None:
        """Count a line of text that is no row."""
        self.skipped += 1
        self.sample = piece[:SAMPLE]

    @property
    def valid_share(self) -> float:
        """Which share of the bytes belongs to whole rows; zero where nothing came."""
        claimed = self.bytes - self.idle_bytes
        return min(1.0, self.row_bytes / claimed) if claimed > 0 else 0.0
