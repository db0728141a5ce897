"""Whether what comes over a port is what should: silence, garbage, damaged and lost rows, noticed and told once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from benchrig.capture.device.device_file import Device
from benchrig.capture.device.layout import LineLayout
from benchrig.capture.device.samples import Trouble
from benchrig.capture.device.tally import Tally
from benchrig.capture.port.troubles import ended, trouble
from benchrig.declaration.quotation import escape

SILENCE: Final = 2.0
"""s without a byte after which it is said."""

WINDOW: Final = 2.0
"""s over which shares are taken."""

MANY: Final = 0.05
"""Share of damaged or lost rows that is said: one in twenty, in two windows that follow each other, since one alone may
be a plug that was pulled, or a unit that started again."""

FEW: Final = 0.02
"""Share below which it is over again."""

_ENOUGH: Final = 20  # bytes; fewer may be the noise of a plug


@dataclass(frozen=True, slots=True)
class _Counts:
    bytes: int = 0
    rows: int = 0
    refused: int = 0
    missing: int = 0

    def since(self, before: _Counts) -> _Counts:
        return _Counts(
            self.bytes - before.bytes,
            self.rows - before.rows,
            self.refused - before.refused,
            self.missing - before.missing,
        )


class Health:
    """What is known of a link, moment by moment; each trouble is told when it begins and when it is over.

    Parameters
    ----------
    device : Device
    tally : Tally
        The decoder's.
    now : float, s
        When the port was opened.
    """

    def __init__(self, device: Device, tally: Tally, now: float) -> None:
        self.place = ""
        self.tried = f"{device.baud:,}"
        self._device, self._tally = device, tally
        self._standing: set[str] = set()
        self._suspected: set[str] = set()
        self._heard = self._begun = now
        self._before = self._at_heard = _counts(tally)

    def revive(self, now: float) -> None:
        """Begin anew, as after the port was opened again; what stood is over without a word."""
        self._standing.clear()
        self._suspected.clear()
        self._heard = self._begun = now
        self._before = self._at_heard = _counts(self._tally)

    @property
    def heard(self) -> float:
        """When something came last, s of the clock that `look` is given."""
        return self._heard

    def look(self, now: float) -> tuple[Trouble, ...]:
        """Say what has begun or ended.

        Parameters
        ----------
        now : float, s
        """
        counts = _counts(self._tally)
        told: list[Trouble] = []
        if counts.bytes > self._at_heard.bytes:
            self._heard, self._at_heard = now, counts
        elif now - self._heard >= SILENCE:
            told += self._begin("silent", seconds=f"{SILENCE:g}", unit=f"rows of {self.unit}")
            self._begun, self._before = now, counts
        if counts.rows > self._before.rows and self._standing & _NO_ROWS:
            told += self._end(*_NO_ROWS)
        if now - self._begun >= WINDOW:
            told += self._judge(counts.since(self._before))
            self._begun, self._before = now, counts
        return tuple(told)

    @property
    def unit(self) -> str:
        """The device's name, printable."""
        return escape(self._device.name)

    def _judge(self, recent: _Counts) -> list[Trouble]:
        """Judge what came within the window."""
        if recent.bytes < _ENOUGH:
            return []
        if not recent.rows:
            code, parts = no_rows(self._device, self._tally, self.tried)
            return [] if self._standing & _NO_ROWS else self._begin(code, **parts)
        all_rows = recent.rows + recent.refused + recent.missing
        lost = recent.missing / all_rows
        # damaged rows leave holes in the count too: what is lost beyond them never came
        beyond = max(0, recent.missing - recent.refused) / all_rows
        damaged = recent.refused / (recent.rows + recent.refused)
        told = self._share("damaged", damaged)
        return told + self._share("losing", beyond if damaged > FEW else lost, baud=f"{self._device.baud:,}")

    def _share(self, code: str, share: float, **parts: object) -> list[Trouble]:
        if share < MANY:
            self._suspected.discard(code)
            return self._end(code) if share <= FEW else []
        if code not in self._suspected:
            self._suspected.add(code)
            return []
        return self._begin(code, share=f"{share:.0%}", **parts)

    def _begin(self, code: str, **parts: object) -> list[Trouble]:
        if code in self._standing:
            return []
        self._standing.add(code)
        return [Trouble(code, trouble(code, self.place, **parts))]

    def _end(self, *codes: str) -> list[Trouble]:
        over = [code for code in codes if code in self._standing]
        self._standing -= set(over)
        return [Trouble(code, ended(code, self.place, unit=self.unit), is_over=True) for code in over]


_NO_ROWS: Final = frozenset({"silent", "garbage", "other columns", "no names"})
"""What any whole row ends."""


def _counts(tally: Tally) -> _Counts:
    return _Counts(tally.bytes, tally.rows, tally.refused, tally.missing)


def no_rows(device: Device, tally: Tally, tried: str) -> tuple[str, Mapping[str, object]]:
    """Say why bytes make no rows: the code of the trouble, and what stands in its sentence.

    Parameters
    ----------
    device : Device
    tally : Tally
        With bytes and without rows.
    tried : str
        The speeds that were tried, in words.
    """
    file = escape(device.file.path.name)
    reason = tally.reasons.most_common(1)[0][0] if tally.reasons else ""
    if reason == "fields" and isinstance(device.layout, LineLayout):
        found = tally.field_counts.most_common(1)[0][0]
        return "other columns", {"found": found, "wanted": len(device.layout.order or device.columns), "file": file}
    if reason == "no names":
        return "no names", {"file": file}
    sends_lines = isinstance(device.layout, LineLayout)
    return "garbage", {
        "amount": f"{tally.bytes:,}",
        "share": f"{tally.valid_share:.0%}" if tally.rows else "none",
        "unit": escape(device.name),
        "sample": _beginning(tally.sample, sends_lines=sends_lines, is_endless=reason == "too long"),
        "file": file,
        "tried": tried,
    }


def _beginning(sample: bytes, *, sends_lines: bool, is_endless: bool) -> str:
    """Say how foreign bytes begin: text where they are text, else numbers, and what the other kind looks like."""
    if not sample:
        return "with nothing that looks like one"
    told = sample[:_TEXT_SHOWN]
    if all(byte in _TEXT for byte in told):
        text = f'"{escape(told.decode("ascii"))}"'
        return text if sends_lines or len(told) < _TEXT_SHOWN else f"{text}, which looks like lines"
    numbers = sample[:_BYTES_SHOWN].hex(" ").upper()
    if not sends_lines:
        return numbers
    looks = (
        "and no line ends in them: it looks like frames" if is_endless else "which is no text: frames, or another speed"
    )
    return f"{numbers}, {looks}"


_TEXT: Final = frozenset((*range(0x20, 0x7F), *b"\t\r\n"))
_TEXT_SHOWN: Final = 24
_BYTES_SHOWN: Final = 8
