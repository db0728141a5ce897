"""Bytes from a port to rows with their times: everything that a device file says, put to use."""

from __future__ import annotations

from typing import Final

import numpy as np

from benchrig.capture.device.device_file import Device
from benchrig.capture.device.frames import FrameReader
from benchrig.capture.device.layout import LineLayout
from benchrig.capture.device.lines import LineReader
from benchrig.capture.device.rows import Rows
from benchrig.capture.device.samples import Samples
from benchrig.capture.device.tally import Tally
from benchrig.capture.device.timing import Timing
from benchrig.errors import Problem

HOLD: Final = 0.5
"""s of arrivals at the beginning that are kept back, to learn how fast rows come."""

FEWEST: Final = 8
"""Rows at the beginning that are kept back at least."""

MOST_HELD: Final = 20_000
"""Rows that are kept back at most."""


DAMAGED: Final = 0.01
ENOUGH_DAMAGED: Final = 20
"""Share and number of pieces refused after which rows without a check are doubted: in a trial with lost bytes, twice as
many lines had lost a digit and still looked whole."""


class Decoder:
    """What a device sends, decoded while it comes; nothing that comes makes it raise.

    Parameters
    ----------
    device : Device

    Attributes
    ----------
    tally : Tally
        Counts of all that came, with the reasons why pieces were refused.
    """

    def __init__(self, device: Device) -> None:
        self._device = device
        self.tally = Tally()
        self._lines = LineReader(device, self.tally) if isinstance(device.layout, LineLayout) else None
        self._reader: LineReader | FrameReader = self._lines or _frame_reader(device, self.tally)
        self._timing = Timing(device, self.tally)
        self._early: list[tuple[Rows, float]] | None = []
        self._doubts: tuple[Problem, ...] = ()
        self._told = (0, 0)  # missing and refused, as of the samples before

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns of `Samples.values`, known from the beginning."""
        return self._device.columns

    @property
    def clock(self) -> str:
        """Which clock the times are by, in words."""
        return self._timing.clock

    @property
    def valid_share(self) -> float:
        """Which share of the bytes belongs to whole rows, 0 to 1; comments and idle bytes do not count."""
        return self.tally.valid_share

    @property
    def notes(self) -> tuple[str, ...]:
        """What happened to the device's clock and count so far, in words: restarts, gaps, copies."""
        return self._timing.notes

    @property
    def breaks(self) -> int:
        """How often the device's clock or count began again or jumped."""
        return self._timing.breaks

    @property
    def break_words(self) -> tuple[str, ...]:
        """When that was, in words."""
        return self._timing.break_words

    @property
    def doubts(self) -> tuple[Problem, ...]:
        """What the device sends that speaks against the device file, in the order in which it was found."""
        found = (*(self._lines.doubts if self._lines else ()), *self._timing.doubts, *self._unseen_damage())
        self._doubts += tuple(problem for problem in found if problem not in self._doubts)
        return self._doubts

    def _unseen_damage(self) -> tuple[Problem, ...]:
        """Doubt the rows that were kept where many were refused, and no check tells which of the others are whole."""
        refused, device = self.tally.refused, self._device
        if device.layout.is_checked or refused < max(ENOUGH_DAMAGED, DAMAGED * (refused + self.tally.rows)):
            return ()
        return (
            Problem(
                device.file.place("device", "sends"),
                f"more than {DAMAGED:.0%} of what comes is damaged, and no check tells which of the rest is whole",
                "next to no damage, or rows with a check",
                "bytes are lost on the wire: a digit less is another number, and nobody sees it",
                "shorten the wires, check ground and speed; have the unit send rows with a check if it can",
            ),
        )

    def feed(self, data: bytes, arrival: float) -> tuple[Samples, ...]:
        """Take in what a port gave.

        Parameters
        ----------
        data : bytes
            Any number of them.
        arrival : float, s
            When they were read, monotonic, from when the source was opened; never less than before.

        Returns
        -------
        tuple of Samples
            Rows whose times are settled, none of it empty. The first half second is kept back, and so are rows after a
            silence until it is clear how long it was: `finish` gives them at the end.
        """
        rows = self._reader.feed(data)
        if not len(rows.values):
            return ()
        if self._early is None:
            return self._placed([(rows, arrival)])
        self._early.append((rows, arrival))
        count = sum(len(held.values) for held, _ in self._early)
        if (arrival - self._early[0][1] < HOLD or count < FEWEST) and count < MOST_HELD:
            return ()
        return self._begin()

    def finish(self) -> tuple[Samples, ...]:
        """Give the rows that were kept back, at the end or where the link is cut."""
        begun = self._begin() if self._early else ()
        return (*begun, *self._samples(self._timing.finish()))

    def interrupted(self) -> tuple[Samples, ...]:
        """Give the rows that were kept back, and forget what was begun: the link was cut and may come again."""
        self._reader.interrupted()
        return self.finish()

    def _begin(self) -> tuple[Samples, ...]:
        early, self._early = self._early or [], None
        self._timing.learn(early)
        return self._placed(early)

    def _placed(self, batches: list[tuple[Rows, float]]) -> tuple[Samples, ...]:
        return self._samples([part for rows, arrival in batches for part in self._timing.place(rows, arrival)])

    def _samples(self, parts: list[Samples]) -> tuple[Samples, ...]:
        if not parts:
            return ()
        missing, refused = self.tally.missing - self._told[0], self.tally.refused - self._told[1]
        self._told = (self.tally.missing, self.tally.refused)
        return (
            Samples(
                np.concatenate([part.time for part in parts]),
                np.concatenate([part.arrival for part in parts]),
                np.concatenate([part.values for part in parts]),
                missing,
                refused,
            ),
        )


def _frame_reader(device: Device, tally: Tally) -> FrameReader:
    assert not isinstance(device.layout, LineLayout)  # noqa: S101 - the caller chose this reader by it
    return FrameReader(device, device.layout, tally)
