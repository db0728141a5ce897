"""What a session keeps beside the samples: motions as they were asked for and made, and what was seen in them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from benchrig.live.sighting import Result
from benchrig.verdict.record import BenchRecord

CLEAR: Final = 0.9999
"""Of one wiring's probability: from here on a person is told which way the airframe turned, by this wiring."""


@dataclass(frozen=True, slots=True)
class Look:
    """What an actuator was seen to do: one of its own words, or "still"."""

    actuator: str
    moved: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One motion that was asked for, about when it was made (s from the first sample), and what was seen in it.

    `result` and `shown` are what it looked like to the guide, `shown` the other motion that it looked like, if it did;
    the judge is told the name and the times alone, and weighs all alike.
    """

    name: str
    start: float
    end: float
    result: Result = "asked"
    looks: tuple[Look, ...] = ()
    label: str = ""
    shown: str = ""

    def with_look(self, look: Look) -> Entry:
        """Add a look."""
        return replace(self, looks=(*self.looks, look))


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that was asked for, in order of time, and what the operator took back."""

    entries: tuple[Entry, ...] = ()
    taken_back: tuple[Entry, ...] = ()

    def with_entry(self, entry: Entry) -> Evidence:
        """Add an entry, which comes after all others."""
        return replace(self, entries=(*self.entries, entry))

    def with_look(self, look: Look) -> Evidence:
        """Add a look to the latest entry."""
        return replace(self, entries=(*self.entries[:-1], self.entries[-1].with_look(look)))

    def without_look(self, actuator: str) -> Evidence:
        """Take the latest look off the latest entry, where it was at this actuator."""
        last = self.entries[-1]
        if not last.looks or last.looks[-1].actuator != actuator:
            return self
        return replace(self, entries=(*self.entries[:-1], replace(last, looks=last.looks[:-1])))

    def without_last(self) -> Evidence:
        """Take the latest entry back: it is kept apart."""
        return Evidence(self.entries[:-1], (*self.taken_back, self.entries[-1]))

    @property
    def until(self) -> float:
        """When the latest of all entries ended, s; 0 where there is none."""
        return max((entry.end for entry in (*self.entries, *self.taken_back)), default=0.0)

    def of(self, name: str) -> tuple[Entry, ...]:
        """All entries of one motion."""
        return tuple(entry for entry in self.entries if entry.name == name)


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """What the judge made of everything up to a request for it, by the request's number."""

    record: BenchRecord
    request: int

    @property
    def is_clear(self) -> bool:
        """Whether one wiring of the gyro is certain enough to tell a person which way the airframe turned."""
        gyro = self.record.gyro
        return gyro is not None and gyro.found is not None and (gyro.probability or 0.0) >= CLEAR
