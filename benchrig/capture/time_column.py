"""The time column: its faults, and seconds from the first sample.

A fault either is a `CaptureError` that names the row, or leaves a note. Nothing is resampled, filled in or sorted here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchrig.capture.table import Table
from benchrig.capture.units import UNITS, Group
from benchrig.capture.values import require_numbers
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector

FEWEST_SAMPLES: Final = 50
SLOWEST_HZ: Final = 2.0
FASTEST_HZ: Final = 20_000.0
USUAL_HZ: Final = (20.0, 8_000.0)
"""Sample rates of the units this is for (common practice), used only to suggest a unit."""
GAP_STEPS: Final = 3.0
WRAP_STEPS: Final = 3.0
COUNTER_BITS: Final = (16, 32)


@dataclass(frozen=True, slots=True, eq=False)
class Clock:
    """The time of each sample.

    Attributes
    ----------
    time : ndarray, shape (N,), s
        From the first sample, strictly increasing.
    start : float, s
        What the stream's own clock showed at the first sample.
    table : Table
        The rows that are left, N of them.
    notes : tuple of str
    """

    time: Vector
    start: float
    table: Table
    notes: tuple[str, ...]


def read_clock(table: Table, group: Group) -> Clock:
    """Turn the time column into seconds from the first sample.

    Parameters
    ----------
    table : Table
    group : Group
        The time column's name and unit.

    Raises
    ------
    CaptureError
        If stamps are missing, go back, repeat with other values, are too few, or fit no sensor's rate in their unit.
    """
    (name,) = group.names
    _require_same_unit(table, group)
    _require_samples(table)
    require_numbers("time", group, table)
    stamps, notes = _unwrapped(table.columns[name], group)
    repeated = np.diff(stamps, prepend=np.nan) == 0
    if repeated.any():
        _require_copies(table, repeated, group)
        note = f"{int(repeated.sum()):,} rows that repeat the row before exactly, time and all, left out"
        table, stamps = table.only(~repeated, note), stamps[~repeated]
    _require_forward(table, stamps, group)
    _require_samples(table)
    time = (stamps - stamps[0]) * group.unit.factor
    _require_plausible_rate(table, time, group)
    return Clock(time, float(stamps[0]) * group.unit.factor, table, (*notes, *_gap_note(table, time)))


def _require_same_unit(table: Table, group: Group) -> None:
    (name,) = group.names
    own = table.own_units.get(name, group.unit.word)
    if own != group.unit.word:
        raise CaptureError(
            Problem(
                f"{table.name} column {escape(name)}",
                f'holds stamps in {own}, and the manifest says unit = "{group.unit.word}"',
                "one and the same",
                act=f'write unit = "{own}" ({group.place})',
            )
        )


def _require_samples(table: Table) -> None:
    if len(table) < FEWEST_SAMPLES:
        raise CaptureError(
            Problem(
                table.name,
                f"{len(table) or 'no'} sample{'' if len(table) == 1 else 's'}",
                f"at least {FEWEST_SAMPLES}; a rest of half a second alone has more",
                "the recording was stopped at once, or the file was cut in copying",
                "record again",
            )
        )


def _unwrapped(stamps: Vector, group: Group) -> tuple[Vector, tuple[str, ...]]:
    """Undo the running over of a 16 or 32 bit counter, where every jump back is exactly that and nothing else."""
    steps = np.diff(stamps)
    back = steps < 0
    whole = bool(np.all(stamps == np.rint(stamps)))
    if not back.any() or not (steps > 0).any() or not whole:
        return stamps, ()
    median = float(np.median(steps[steps > 0]))
    for bits in COUNTER_BITS:
        turn = 2.0**bits
        held = (stamps.min() >= 0 and stamps.max() < turn) or (stamps.min() >= -turn / 2 and stamps.max() < turn / 2)
        after = steps[back] + turn
        if held and np.all((after > 0) & (after <= WRAP_STEPS * median)):
            times = int(back.sum())
            note = (
                f"the {bits} bit clock ran over {times} time{'s' if times > 1 else ''} and was unwrapped; "
                f"a gap of {turn * group.unit.factor:.4g} s or more would not show in it"
            )
            return stamps + turn * np.concatenate([[0.0], np.cumsum(back)]), (note,)
    return stamps, ()


def _require_copies(table: Table, repeated: np.ndarray, group: Group) -> None:
    """Refuse a repeated stamp unless its whole row repeats too."""
    everything = table.group(list(table.columns))
    rows = np.flatnonzero(repeated)
    same = (everything[rows] == everything[rows - 1]) | (np.isnan(everything[rows]) & np.isnan(everything[rows - 1]))
    other = rows[~same.all(axis=1)]
    if not len(other):
        return
    often = len(other) > len(table) / 100
    raise CaptureError(
        Problem(
            table.place(int(other[0]), group.names[0]),
            f"the time of the row before again, with other values; so in {len(other):,} of {len(table):,} rows",
            "a time of its own for each sample",
            "the clock is too coarse for the sample rate, or was stored in too few digits"
            if often
            else "two samples were written in one tick of the clock, or the logger stalled",
            "log the time in microseconds" if often else "record again, or take out the row that is wrong",
        )
    )


def _require_forward(table: Table, stamps: Vector, group: Group) -> None:
    steps = np.diff(stamps)
    back = np.flatnonzero(steps < 0) + 1
    if not len(back):
        return
    row = int(back[0])
    step = float(steps[row - 1])
    raise CaptureError(
        Problem(
            table.place(row, group.names[0]),
            f"time goes back by {-step * group.unit.factor:.6g} s; so in {len(back):,} of {len(table):,} rows",
            "time that only grows",
            _why_back(stamps, row, group),
            "cut the stream to one unbroken recording, or record again",
        )
    )


def _why_back(stamps: Vector, row: int, group: Group) -> str:
    """Tell a counter that ran over in another unit, a restart and rows out of order apart."""
    back = float(stamps[row - 1] - stamps[row]) * group.unit.factor
    median = float(np.median(np.abs(np.diff(stamps)))) * group.unit.factor
    for bits in COUNTER_BITS:
        for word, factor in UNITS["time"].items():
            turn = 2.0**bits * factor
            if turn > 10 * median and abs(back - turn) <= max(WRAP_STEPS * median, 0.01 * turn):
                return f'a {bits} bit counter of {word} ran over; log that counter itself, and say unit = "{word}"'
    if abs(float(stamps[row] - stamps[0])) * group.unit.factor <= WRAP_STEPS * median or stamps[row] == 0:
        return "the unit was restarted, or two recordings stand in one file"
    return "rows are out of order, or the clock was set while it was recording"


def _require_plausible_rate(table: Table, time: Vector, group: Group) -> None:
    """Refuse a rate that no unit under test has; the mean must agree, since stamps taken on a host come in bursts."""
    rates = (1.0 / float(np.median(np.diff(time))), (len(time) - 1) / float(time[-1]))
    if min(rates) <= FASTEST_HZ and max(rates) >= SLOWEST_HZ:
        return
    ticks = rates[0] * group.unit.factor
    fitting = [word for word, factor in UNITS["time"].items() if USUAL_HZ[0] <= ticks / factor <= USUAL_HZ[1]]
    guess = f"the column is in {' or '.join(fitting)}" if fitting else "another column is meant"
    raise CaptureError(
        Problem(
            f"{table.name} column {escape(group.names[0])}",
            f'with unit = "{group.unit.word}" the samples come at {rates[0]:.4g} Hz',
            f"between {SLOWEST_HZ:g} Hz and {FASTEST_HZ / 1000:g} kHz",
            guess,
            f"correct the unit or the name of the time column ({group.place})",
        )
    )


def _gap_note(table: Table, time: Vector) -> tuple[str, ...]:
    steps = np.diff(time)
    gaps = np.flatnonzero(steps > GAP_STEPS * float(np.median(steps)))
    if not len(gaps):
        return ()
    longest = int(gaps[np.argmax(steps[gaps])])
    many = "s" if len(gaps) > 1 else ""
    where = table.place(longest + 1)
    return (f"{len(gaps):,} gap{many} in time, the longest {steps[longest]:.3g} s before {where}; nothing filled in",)
