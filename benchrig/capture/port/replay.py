"""A stored capture as a source: its rows come again as they came then, faster or slower if wanted."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

import numpy as np

from benchrig.capture.device.samples import Samples, Trouble
from benchrig.capture.manifest import Manifest, read_manifest
from benchrig.capture.pulse_stream import read_second
from benchrig.capture.stream import read_bytes, read_stream
from benchrig.capture.table import Table
from benchrig.capture.time_column import read_clock
from benchrig.capture.units import Group
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem, UsageError
from benchrig.geometry.directions import Vector

OWN_COLUMNS: Final = ("bench_time_s", "bench_arrival_s")
"""What a store adds to every source's columns: a replay of a store leaves them out, or they would be there twice."""

BATCH_S: Final = 0.05
"""Of the stream's time in one batch, where it comes as fast as it can."""


class ReplaySource:
    """The stream of a capture, row for row, by its own clock.

    Rows and times are those that `read_capture` would judge, so that a recording of the replay judges as the original.

    Parameters
    ----------
    manifest : Path
    airframe : Airframe, optional
        Whose actuators' names the manifest must use.
    speed : float
        How many times as fast as it was recorded; infinite for as fast as it can.
    beside : bool
        Whether to play the second stream, that ``[pulses]`` of the manifest names, in place of the first.
    clock, sleep : callable
        That tell and pass the time, s.

    Attributes
    ----------
    described : Manifest
        What the capture's manifest says: motions, looks and columns.
    columns : tuple of str
        What the manifest names, as the stream calls it.
    notes : tuple of str
        What was left out or converted on the way in, in words.
    duration : float, s
        Of the stream.

    Raises
    ------
    CaptureError
        If the manifest or its stream cannot be used.
    UsageError
        If the speed is none, or there is no second stream.
    """

    def __init__(
        self,
        manifest: Path,
        airframe: Airframe | None = None,
        speed: float = 1.0,
        *,
        beside: bool = False,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        if not speed > 0:
            finding, act = f"{speed:g} times as fast", "write --speed 1, or leave it out"
            raise UsageError(Problem("--speed", finding, "a number above zero, or inf", act=act))
        self._clock, self._sleep, self._speed = clock, sleep, speed
        self.described: Manifest = read_manifest(manifest, airframe)
        table, of_time = _table(self.described, beside=beside)
        read = read_clock(table, of_time)
        self.columns = tuple(name for name in table.columns if name not in OWN_COLUMNS)
        self.notes = (*read.table.notes, *read.notes)
        self.clock = f"the time column of {escape(table.name)}"
        self.duration = float(read.time[-1])
        self._time: Vector = read.time
        self._values: Vector = read.table.group(self.columns)
        self._given = 0
        self._opened: float | None = None

    @property
    def opened(self) -> float:
        """What its clock showed when it was opened, s; 0 before."""
        return self._opened or 0.0

    @property
    def ended(self) -> bool:
        """Whether every row was given, or it was closed."""
        return self._given >= len(self._time)

    def open(self) -> None:
        """Start the clock."""
        self._opened = self._clock()

    def take(self, timeout: float) -> tuple[Samples | Trouble, ...]:
        """Give the rows whose time has come, after at most `timeout` s."""
        if self.ended or self._opened is None:
            return ()
        stop = self._due()
        if stop == self._given:
            self._sleep(min(timeout, self._wait()))
            stop = self._due()
        if stop == self._given:
            return ()
        rows = slice(self._given, stop)
        self._given = stop
        arrived = self._clock() - self._opened
        # a replay's rows arrive when they are due; only where no pace is kept, when they were asked for
        due = np.full(stop - rows.start, arrived) if math.isinf(self._speed) else self._time[rows] / self._speed
        return (Samples(self._time[rows], np.minimum(due, arrived), self._values[rows]),)

    def close(self) -> None:
        """Give nothing more."""
        self._given = len(self._time)

    def _due(self) -> int:
        """Count the rows whose time has come."""
        if math.isinf(self._speed):
            until = float(self._time[self._given]) + BATCH_S
        else:
            until = (self._clock() - self.opened) * self._speed
        return int(np.searchsorted(self._time, until, side="right"))

    def _wait(self) -> float:
        """Give how long it is until the next row is due, s, and a little more, so that rows come in batches."""
        next_row = float(self._time[self._given]) / self._speed
        return max(0.0, next_row - (self._clock() - self.opened)) + BATCH_S / 2


def _table(described: Manifest, *, beside: bool) -> tuple[Table, Group]:
    """Read one of a capture's streams, and say which of its columns is the time."""
    data = read_bytes(described.stream)
    second = read_second(described, data)
    if not beside:
        names = described.column_names if second is None else second.main_names
        return read_stream(described.stream, data, names, described.required_names), described.groups["time"]
    if second is None or described.pulse_stream is None:
        finding = "has no second stream"
        raise UsageError(Problem(escape(described.file.path.name), finding, "[pulses]", act="play its one stream"))
    return second.table, described.pulse_stream.time
