"""What comes in: rows are stored, then kept for the judge, then looked at; troubles stand until they are over."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from typing import Final

import numpy as np

from benchrig.capture.device.samples import Samples, Trouble
from benchrig.capture.manifest import Manifest
from benchrig.capture.table import Table
from benchrig.errors import BenchrigError, Problem, StoreError
from benchrig.geometry.directions import Vector
from benchrig.live.growing import Growing
from benchrig.live.keeping import Keeping
from benchrig.live.view import Heard
from benchrig.live.watch import Sensed, Watch

LONGEST_REFUSAL: Final = 10.0
"""s that a store may refuse to take rows before the session ends."""

_STORE: Final = "not stored"
_WHOLE: Final = {"unplugged", "shared"}
"""Codes of a port that is gone: once it is back, whatever else was said of it is told anew or is over."""
_RATE_S: Final = 1.0


class Intake:
    """Takes rows from the source through the store to the watch.

    Parameters
    ----------
    keeping : Keeping
    clock : callable
        Gives s.

    Attributes
    ----------
    watch : Watch
    final : Problem or None
        Why nothing more can come, where a trouble says so.
    """

    def __init__(self, keeping: Keeping, clock: Callable[[], float]) -> None:
        self._keeping, self._clock = keeping, clock
        self.watch = Watch()
        self.final: Problem | None = None
        self._growing: Growing | None = None
        self._columns = np.zeros(6, dtype=int)
        self._factors = np.ones(6)
        self._unshown: deque[Samples] = deque()
        self._refusing_since: float | None = None
        self._troubles: dict[tuple[str, str], Problem] = {}
        self._news = 0
        self._first: float | None = None
        self._seconds = 0.0
        self._lost = self._damaged = 0
        self._came: deque[tuple[float, int]] = deque()

    def begin(self, described: Manifest, columns: tuple[str, ...]) -> None:
        """Learn from the first manifest which columns are gyro and accelerometer, and in which units."""
        self._growing = Growing(described.stream.name, self._keeping.names)
        groups = [described.groups[kind] for kind in ("gyro", "accelerometer")]
        self._columns = np.array([columns.index(name) for group in groups for name in group.names])
        self._factors = np.repeat([group.unit.factor for group in groups], 3)

    def take(self, samples: Samples) -> None:
        """Store rows; they are shown once the store has them."""
        self._lost, self._damaged = self._lost + samples.lost, self._damaged + samples.refused
        self._came.append((self._clock(), len(samples.time)))
        self._unshown.append(samples)
        self._store(samples)

    def flush(self) -> None:
        """Let the store write what waits, where no row comes; a store that refused is tried again."""
        self._store(_NOTHING if self._growing is None else _no_rows(len(self._keeping.names) - 2))

    def _store(self, samples: Samples) -> None:
        try:
            self._keeping.append(samples)
        except StoreError as error:
            self._refused(error)
            return
        if self._keeping.is_all_stored:
            self._refusing_since = None
            self._troubles.pop(("", _STORE), None)

    def _refused(self, error: BenchrigError) -> None:
        """Note that the store refuses: nothing is shown until it takes rows again."""
        if self._refusing_since is None:
            self._refusing_since = self._clock()
        self.trouble(Trouble(_STORE, error.problems[0]))

    @property
    def gave_up(self) -> bool:
        """Whether the store has refused for too long."""
        return self._refusing_since is not None and self._clock() - self._refusing_since > LONGEST_REFUSAL

    def ready(self) -> Iterator[Sensed]:
        """Look at the rows that are stored, moment by moment."""
        while self._unshown and self._refusing_since is None and self._growing is not None:
            samples = self._unshown.popleft()
            if not len(samples.time):
                continue
            self._growing.add(np.column_stack([samples.time, samples.arrival, samples.values]))
            if self._first is None:
                self._first = float(samples.time[0])
            time = samples.time - self._first
            self._seconds = float(time[-1])
            readings = samples.values[:, self._columns] * self._factors
            whole = np.isfinite(readings).all(axis=1)
            yield from self.watch.feed(time[whole], readings[whole])

    def trouble(self, trouble: Trouble, of: str = "") -> None:
        """Note a trouble, or that it is over; `of` tells the sources apart."""
        if trouble.is_over:
            self.over(of, trouble.code)
            return
        before = self._troubles.get((of, trouble.code))
        self._news += before is None
        if before != trouble.problem:
            self._troubles.pop((of, trouble.code), None)  # the latest is shown: it must not stay under an older one
            self._troubles[of, trouble.code] = trouble.problem
        if trouble.is_final and not of:
            self.final = trouble.problem

    def over(self, of: str, code: str = "") -> None:
        """Note that a trouble of a source is over; with a plug that is in again, or without a code, all of its are."""
        alone = (of, code) in self._troubles and code not in _WHOLE
        for key in [key for key in self._troubles if key[0] == of and key[1] != _STORE]:
            if not alone or key[1] == code:
                del self._troubles[key]

    def news(self) -> int:
        """Count the troubles that began since the last call."""
        news, self._news = self._news, 0
        return news

    @property
    def standing_trouble(self) -> Problem | None:
        """The trouble that stands now, the latest of several."""
        return next(reversed(self._troubles.values()), None)

    def so_far(self) -> Callable[[], Table] | None:
        """Give what makes a table of all rows that were stored, for the judge; None before the first."""
        return None if self._growing is None or not len(self._growing) else self._growing.so_far()

    @property
    def heard(self) -> Heard:
        """Count what has come."""
        now = self._clock()
        while self._came and self._came[0][0] < now - _RATE_S:
            self._came.popleft()
        samples = 0 if self._growing is None else len(self._growing)
        rate = sum(count for _, count in self._came) / _RATE_S if self._seconds > _RATE_S else None
        return Heard(samples, self._lost, self._damaged, self._seconds, rate)


def _no_rows(columns: int) -> Samples:
    nothing: Vector = np.zeros(0)
    return Samples(nothing, nothing, np.zeros((0, columns)))


_NOTHING: Final = _no_rows(0)
