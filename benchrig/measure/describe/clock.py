"""Which column of an unknown stream is its clock, and in which unit; which others only count."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.table import Table
from benchrig.capture.time_column import FEWEST_SAMPLES, USUAL_HZ, Clock, read_clock
from benchrig.capture.units import UNITS, Group, unit_of
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector
from benchrig.measure.describe.hints import counts_by_name, is_clock_by_name
from benchrig.measure.describe.unknown import Unknown

_COUNTER_STEP: Final = 3.0
"""A whole-numbered column that grows by no more than this a row may as well count rows or packets."""

_FORWARD: Final = 0.98
_RUNNING_OVER: Final = 0.7
"""Share of the steps that go ahead: of whatever counts, and of a 16 bit clock that runs over with every few rows."""


@dataclass(frozen=True, slots=True, eq=False)
class FoundClock:
    """The clock of an unknown stream.

    Attributes
    ----------
    column : str
        Empty where the rate was given instead.
    unit : str
        "s", "ms", "us" or "ns".
    time : ndarray, shape (N,), s
        Of the rows that are kept.
    rows : ndarray, shape (N,), int
        Their numbers.
    is_sure : bool
    why : str
    notes : tuple of str
        What reading the clock had to say.
    others : tuple of str
        Other columns that only grow: clocks and counters.
    """

    column: str
    unit: str
    time: Vector
    rows: np.ndarray
    is_sure: bool
    why: str
    notes: tuple[str, ...]
    others: tuple[str, ...]

    @property
    def rate(self) -> float:
        """Rows a second."""
        return float((len(self.time) - 1) / self.time[-1])


@dataclass(frozen=True, slots=True, eq=False)
class _Candidate:
    column: str
    unit: str
    clock: Clock
    is_counter: bool
    may_count: bool
    is_only_unit: bool
    jitter: float

    @property
    def rank(self) -> tuple[bool, bool, bool, float]:
        """Best first: no counter, its name says clock, one unit alone fits, steady."""
        return self.may_count, not is_clock_by_name(self.column), not self.is_only_unit, self.jitter


def find_clock(unknown: Unknown, rate_hz: float | None = None) -> FoundClock:
    """Find the clock, or take the rows as evenly spaced where their rate is given.

    Raises
    ------
    CaptureError
        If no column is a clock and no rate is given, or there are too few rows.
    """
    growing = [name for i, name in enumerate(unknown.names) if _grows(unknown.values[:, i], _FORWARD)]
    if rate_hz is not None:
        return _even(unknown, rate_hz, growing)
    table = Table(
        escape(unknown.path.name),
        dict(zip(unknown.names, unknown.values.T, strict=True)),
        own_units=unknown.own_units,
    )
    candidates, refusals = [], []
    for name in (name for i, name in enumerate(unknown.names) if _grows(unknown.values[:, i], _RUNNING_OVER)):
        found, refused = _read(table, name)
        candidates += found
        refusals += refused
    timely = sorted((c for c in candidates if not c.is_counter), key=lambda c: c.rank)
    if not timely:
        raise CaptureError(_no_clock(unknown, growing, refusals))
    best = timely[0]
    return FoundClock(
        best.column,
        best.unit,
        best.clock.time,
        np.arange(len(unknown.values)) if best.clock.table.rows is None else best.clock.table.rows,
        best.is_only_unit and not best.may_count,
        _why(best),
        best.clock.notes,
        tuple(name for name in growing if name != best.column),
    )


def _grows(values: Vector, share: float) -> bool:
    """Whether a column only grows, but for a counter that runs over."""
    if not np.isfinite(values).all() or len(values) < 2:  # noqa: PLR2004 - one row does not grow
        return False
    steps = np.diff(values)
    return bool(np.mean(steps >= 0) >= share and np.mean(steps > 0) > 0.5 and _is_even(steps))  # noqa: PLR2004 - most


def _is_even(steps: Vector) -> bool:
    """Whether most steps are alike, within a factor of three: what is measured grows as it likes."""
    ahead = steps[steps > 0]
    middle = float(np.median(ahead))
    return bool(np.mean((ahead > middle / 3) & (ahead < middle * 3)) > 0.8)  # noqa: PLR2004 - bursts are allowed


def _read(table: Table, name: str) -> tuple[list[_Candidate], list[str]]:
    """Read a column as a clock in the unit that gives a usual rate, as `check` would."""
    steps = np.diff(table.columns[name])
    middle = float(np.median(steps[steps > 0]))
    jitter = float(np.median(np.abs(steps - middle)) / middle)
    own = table.own_units.get(name)
    words = [own] if own else list(UNITS["time"])
    usual = [w for w in words if own or USUAL_HZ[0] <= 1 / (middle * UNITS["time"][w]) <= USUAL_HZ[1]]
    found, refused = [], []
    for word in usual:
        try:
            clock = read_clock(table, Group((name,), unit_of("time", word), "the proposal"))
        except CaptureError as error:
            refused.append(str(error.problems[0]))
            continue
        found.append(
            _Candidate(name, word, clock, counts_by_name(name), _may_count(name, steps), len(usual) == 1, jitter)
        )
    return found, refused


def _may_count(name: str, steps: Vector) -> bool:
    """Whether a column may as well count rows or packets."""
    whole = bool(np.all(steps == np.rint(steps)))
    return whole and float(np.median(steps)) <= _COUNTER_STEP and not is_clock_by_name(name)


def _why(best: _Candidate) -> str:
    rate = (len(best.clock.time) - 1) / best.clock.time[-1]
    said = f"it only grows, in steps that are alike; in {best.unit} the rows come at {rate:.4g} Hz"
    if best.may_count:
        return f"{said}; but a column of whole numbers with so small a step may as well count rows"
    return said if best.is_only_unit else f"{said}; another unit would fit too"


def _even(unknown: Unknown, rate_hz: float, growing: list[str]) -> FoundClock:
    count = len(unknown.values)
    if count < FEWEST_SAMPLES:
        raise CaptureError(
            Problem(
                escape(unknown.path.name),
                f"{count} rows",
                f"at least {FEWEST_SAMPLES}",
                "the recording was stopped at once, or the file was cut in copying",
                "record again",
            )
        )
    return FoundClock(
        "",
        "s",
        np.arange(count) / rate_hz,
        np.arange(count),
        False,
        f"the rows were taken as {rate_hz:g} a second, as told by --rate-hz",
        (),
        tuple(growing),
    )


def _no_clock(unknown: Unknown, growing: list[str], refusals: list[str]) -> Problem:
    finding = "no column is a clock: none grows steadily at a rate that a sensor has"
    if growing:
        shown = ", ".join(escape(name) for name in growing)
        finding = f"no column is a clock that can be read; what grows is {shown}"
    if refusals:
        finding = f"{finding}; {refusals[0]}"
    return Problem(
        escape(unknown.path.name),
        finding,
        "a column of stamps in s, ms, us or ns",
        "the logger wrote no time, or only counted its rows",
        "give the rows a second with --rate-hz, from the logger's settings; for `check`, log the time itself",
    )
