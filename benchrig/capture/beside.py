"""A second source, of servo pulses, drained beside the first into a store of its own, and its clock joined to that."""

from __future__ import annotations

import time as clocks
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np

from benchrig.capture.columns import Meaning
from benchrig.capture.device.samples import Samples, Source, Trouble
from benchrig.capture.joining import EarliestRows, Offset, offset_of
from benchrig.capture.store.ending import ending_path
from benchrig.capture.store.mark import TIME_COLUMN
from benchrig.capture.store.taken import refuse_to_replace
from benchrig.capture.store.writer import StoreWriter
from benchrig.capture.table import Table
from benchrig.declaration.quotation import escape, listed
from benchrig.errors import Problem, StoreError, UsageError
from benchrig.geometry.directions import Vector

LONGEST_END: Final = 5.0
"""s that the rest of a stored second stream is waited for at the end."""

_DRAWN: Final = 0.1  # s
_PPM: Final = 1e6


class SecondSource:
    """Servo pulses from another device than the samples.

    A session calls `open` after the first source is open, then `hear` with the first source's rows and `drain`, once a
    step, then `close`. The store is made when the first rows come; until then there is nothing to say in a manifest.

    Parameters
    ----------
    source : Source
    meaning : Meaning
        What its columns are: only pulses and commands are used.
    stream : Path
        The store to be made, ``NAME-pulses.arrow`` beside the manifest.
    about : mapping
        As in `StoreWriter.create`.
    known : Offset, optional
        Where its clock stands, for a stored stream that is played again: arrivals say nothing then.
    force : bool
        Whether an earlier store of that name may be replaced.

    Attributes
    ----------
    rows, lost, refused : int
        That came, that never came, and that came damaged.
    """

    def __init__(
        self,
        source: Source,
        meaning: Meaning,
        stream: Path,
        about: Mapping[str, Any],
        *,
        known: Offset | None = None,
        force: bool = False,
    ) -> None:
        self.rows = self.lost = self.refused = 0
        self._source, self._meaning, self._stream = source, meaning, stream
        self._about, self._known, self._force = about, known, force
        self._store: StoreWriter | None = None
        self._time: list[Vector] = []
        self._values: list[Vector] = []
        self._unstored: list[Samples] = []
        self._first, self._second = EarliestRows(), EarliestRows()
        self._first_ends = 0.0
        self._failing = self._closed = False

    @property
    def clock(self) -> str:
        """Which clock its rows are by, in words."""
        return self._source.clock

    @property
    def ended(self) -> bool:
        """Whether nothing more will come."""
        return self._source.ended

    @property
    def offset(self) -> Offset | None:
        """Where its clock stands against the first source's, as far as has been heard; None before rows of both."""
        if self._known is not None or not len(self._first) or not len(self._second):
            return self._known
        return offset_of(self._first, self._second)

    def open(self) -> None:
        """Begin.

        Raises
        ------
        UsageError
            If a file is in the way of the store.
        PortError
            If there is nothing to begin with.
        """
        for path in (self._stream, ending_path(self._stream)):
            refuse_to_replace(path, force=self._force)
        self._source.open()

    def refuse_shared(self, columns: Sequence[str]) -> None:
        """Refuse two streams of which a pulse column could be either's.

        Parameters
        ----------
        columns : sequence of str
            Of the first source.

        Raises
        ------
        UsageError
        """
        groups = (*self._meaning.actuators.values(), *self._meaning.commands.values())
        names = dict.fromkeys(name for group in groups for name in group.names)
        shared = [name for name in names if name in columns]
        if names and not shared:
            return
        finding = "it names no column of pulses"
        if shared:
            finding = f"it names {listed(map(escape, shared))}, and so does the first device"
        expectation = "[columns.actuators] or [columns.commands] with names of their own"
        raise UsageError(Problem("the pulses' device file", finding, expectation, act="correct the names there"))

    def hear(self, samples: Samples, opened: float) -> None:
        """Take in when the first source's rows came: its clock is what the second's is held against.

        Parameters
        ----------
        samples : Samples
        opened : float, s
            The first source's `Source.opened`.
        """
        self._first.add(samples.time, samples.arrival + opened)
        if len(samples.time):
            self._first_ends = float(samples.time[-1])

    def drain(self, timeout: float = 0.0) -> tuple[Trouble, ...]:
        """Store what has come, and give the troubles; the store's own are troubles too, and its rows are kept.

        Parameters
        ----------
        timeout : float, s
            To wait where nothing has come.
        """
        troubles: list[Trouble] = []
        for item in self._source.take(timeout):
            if isinstance(item, Trouble):
                troubles.append(item)
            else:
                self._keep(item)
        return (*troubles, *self._write())

    def _keep(self, samples: Samples) -> None:
        self.rows += len(samples.time)
        self.lost, self.refused = self.lost + samples.lost, self.refused + samples.refused
        self._second.add(samples.time, samples.arrival + self._source.opened)
        self._unstored.append(samples)
        if len(samples.time):
            self._time.append(samples.time)
            self._values.append(samples.values)

    def _write(self) -> tuple[Trouble, ...]:
        """Hand rows to the store, or let it write those that wait; tell once that it fails, and once that it works."""
        if self._store is None and not self._unstored:
            return ()
        try:
            if self._store is None:
                self._store = StoreWriter.create(self._stream, self._source.columns, self._about, force=self._force)
            self._unstored = self._unstored or [_nothing(len(self._source.columns))]
            while self._unstored:
                rows = self._unstored.pop(0)  # the store keeps what it was handed, even where it cannot write it
                self._store.append(rows.time, rows.arrival, rows.values, lost=rows.lost, refused=rows.refused)
        except StoreError as error:
            first, self._failing = not self._failing, True
            return tuple(Trouble("pulses not stored", problem) for problem in error.problems) if first else ()
        over, self._failing = self._failing, False
        again = Problem(escape(self._stream.name), "is written again", act="go on")
        return (Trouble("pulses not stored", again, is_over=True),) if over else ()

    def table(self) -> Table:
        """Give all rows so far, for a judgement while it runs: what `recording_from` takes as its second table."""
        names = self._source.columns
        if not self._time:
            return Table(self._stream.name, {})
        time, values = np.concatenate(self._time), np.concatenate(self._values)
        self._time, self._values = [time], [values]
        return Table(self._stream.name, {TIME_COLUMN: time, **{name: values[:, i] for i, name in enumerate(names)}})

    def pulses_document(self) -> dict[str, Any] | None:
        """Give the manifest's table ``[pulses]``; None where nothing came, so that the manifest must not name any."""
        offset = self.offset
        if offset is None or self._store is None:
            return None
        return {
            "stream": self._stream.name,
            "time": {"names": [TIME_COLUMN], "unit": "s"},
            "offset_s": round(offset.value, 6),
            "offset_uncertainty_s": round(min(offset.uncertainty, 0.5), 6),
            "fast_ppm": round(offset.drift * _PPM, 2),
        }

    def columns_document(self) -> dict[str, Any]:
        """Give what ``[columns]`` of the manifest holds of it: its own ``actuators`` and ``commands``."""
        return {key: held for key in ("actuators", "commands") if (held := _held(self._meaning, key, self._source))}

    def sync(self) -> None:
        """Bring what has come to the disk, before a manifest tells of it.

        Raises
        ------
        StoreError
        """
        if self._store is not None and not self._closed:
            self._store.sync()

    def close(self, ended: str = "by the operator") -> tuple[Trouble, ...]:
        """Take what is still there, close the source and end the store; may be called twice.

        Parameters
        ----------
        ended : str
            Why, in words.
        """
        if self._closed:
            return ()
        self._closed = True
        troubles = [*self.drain(), *self._rest()]
        self._source.close()
        troubles += self.drain()  # rows that were kept back until it was clear when they were taken
        if self._store is not None:
            try:
                self._store.close(ended)
            except StoreError as error:
                troubles.extend(Trouble("pulses not stored", problem) for problem in error.problems)
        return tuple(troubles)

    def _rest(self) -> list[Trouble]:
        """Take the rest of a stored stream, up to where the first one ended."""
        troubles: list[Trouble] = []
        stop = clocks.monotonic() + LONGEST_END
        while self._known is not None and not self._source.ended and clocks.monotonic() < stop:
            last = self._time[-1][-1:] if self._time else np.zeros(1)
            if self._known.in_first(last)[0] > self._first_ends:
                break
            troubles.extend(self.drain(_DRAWN))
        return troubles


def _held(meaning: Meaning, key: str, source: Source) -> dict[str, Any]:
    """Give those pulses or commands whose columns a source has, as they stand in its file."""
    groups, there = meaning.document.get(key, {}), set(source.columns)
    # a device that names its columns itself has none before its first line
    return {name: group for name, group in groups.items() if not there or set(group["names"]) <= there}


def _nothing(columns: int) -> Samples:
    return Samples(np.zeros(0), np.zeros(0), np.zeros((0, columns)))
