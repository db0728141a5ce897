"""What a source of samples gives while it runs: rows as they came, and troubles in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from benchrig.errors import Problem
from benchrig.geometry.directions import Vector


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """Rows in the order in which they were taken, in the device's own units.

    Attributes
    ----------
    time : ndarray, shape (n,), s
        By the source's clock, from its first sample; strictly increasing from one batch to the next too.
    arrival : ndarray, shape (n,), s
        When this computer had the row, monotonic, from when the source was opened.
    values : ndarray, shape (n, C)
        In the order of the source's `columns`; NaN where a field was blank.
    lost : int
        Rows that the device counted and that never came, since the batch before.
    refused : int
        Rows that came damaged and were left out, since the batch before.
    """

    time: Vector
    arrival: Vector
    values: Vector
    lost: int = 0
    refused: int = 0


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that the person at the bench must know, or that is over again.

    Attributes
    ----------
    code : str
        Short, for tests and logs: ``unplugged``, ``back``, ``silent``, ``wrong speed`` ...
    problem : Problem
        What happened and what to do, printable.
    is_over : bool
        Whether it says that an earlier trouble has ended.
    is_final : bool
        Whether the source can give nothing more.
    """

    code: str
    problem: Problem
    is_over: bool = False
    is_final: bool = False


class Source(Protocol):
    """Where samples come from. `open` is called once, then `take` again and again, then `close`.

    Attributes
    ----------
    columns : tuple of str
        Names of the columns of `Samples.values`.
    clock : str
        Which clock `Samples.time` is by, in words; with the jitter where it is the arrival.
    opened : float, s
        What the monotonic clock showed when it was opened: `Samples.arrival` counts from there, so that the arrivals of
        two sources can be compared.
    notes : tuple of str
        What happened to its rows and its clock so far, in words.
    ended : bool
        Whether nothing more will come.
    """

    @property
    def columns(self) -> tuple[str, ...]: ...  # noqa: D102 - told above

    @property
    def clock(self) -> str: ...  # noqa: D102 - told above

    @property
    def opened(self) -> float: ...  # noqa: D102 - told above

    @property
    def notes(self) -> tuple[str, ...]: ...  # noqa: D102 - told above

    @property
    def ended(self) -> bool: ...  # noqa: D102 - told above

    def open(self) -> None:
        """Begin; raises `PortError` where there is nothing to begin with."""

    def take(self, timeout: float) -> tuple[Samples | Trouble, ...]:
        """Give what has come since the last call, after at most `timeout` s; empty where nothing came."""

    def close(self) -> None:
        """End; may be called twice. One `take` after it gives the rows that were kept back, where there are any."""
