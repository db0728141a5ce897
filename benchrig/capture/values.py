"""The columns of samples: what may be blank and what may not, and SI units."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from benchrig.capture.recording import Pulses
from benchrig.capture.table import Table
from benchrig.capture.units import Group, full_scale
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector

LONGEST_PULSE: Final = 0.1
"""s; servo pulses are 0.5 to 2.5 ms long, and some motors' a hundred times shorter (common practice)."""


def frozen(values: Vector) -> Vector:
    """Give the array as float64, contiguous and read-only."""
    array = np.ascontiguousarray(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def require_numbers(kind: str, group: Group, table: Table) -> None:
    """Refuse blanks and infinities in columns that must have a value in every row.

    Raises
    ------
    CaptureError
        One problem a column, each naming the first such row.
    """
    problems = [problem for name in group.names if (problem := _gap_in(kind, name, group, table)) is not None]
    if problems:
        raise CaptureError(*problems)


def _gap_in(kind: str, name: str, group: Group, table: Table) -> Problem | None:
    values = table.columns[name]
    bad = ~np.isfinite(values)
    if not bad.any():
        return None
    if bad.all():
        return Problem(
            f"{table.name} column {escape(name)}",
            "holds no number at all",
            f"a value in every row, since it is a column of {kind}",
            "the sensor did not answer, or the logger did not record it",
            f"record again, or name another column ({group.place})",
        )
    row = int(np.argmax(bad))
    blank = bool(np.isnan(values[row]))
    return Problem(
        table.place(row, name),
        f"{'blank or not a number' if blank else 'infinite'}; so in {int(bad.sum()):,} of {len(values):,} rows",
        f"a value in every row, since it is a column of {kind}",
        "samples were lost, or slower columns were merged in on rows of their own"
        if blank
        else "an overflow in the logger",
        "leave out the rows that hold no sample; a gap in time is understood",
    )


def read_axes(group: Group, table: Table) -> tuple[Vector, float | None]:
    """Give three columns in SI.

    Returns
    -------
    ndarray, shape (N, 3)
    float or None
        The full scale of raw 16 bit counts, SI.
    """
    raw = table.group(group.names)
    return frozen(raw * group.unit.factor), full_scale(raw, group.unit)


def read_optional(kind: str, group: Group | None, table: Table) -> tuple[Vector | None, tuple[str, ...]]:
    """Give columns that may be blank, in SI, and say how often they are.

    Returns
    -------
    ndarray, shape (N, len(names)), or None
        A row of NaN where any of the columns was blank; None where there is nothing at all.
    tuple of str

    Raises
    ------
    CaptureError
        If a value is infinite.
    """
    if group is None:
        return None, ()
    raw = table.group(group.names)
    _refuse_infinite(group, table, raw)
    blank = np.isnan(raw).any(axis=1)
    if blank.all():
        return None, (f"{kind}: every row is blank, so nothing of it is used",)
    raw[blank] = np.nan
    notes = (f"{kind}: no new value in {int(blank.sum()):,} of {len(raw):,} rows",) if blank.any() else ()
    return frozen(raw * group.unit.factor), notes


def _refuse_infinite(group: Group, table: Table, raw: Vector) -> None:
    if np.isinf(raw).any():
        row, column = (int(i) for i in np.argwhere(np.isinf(raw))[0])
        raise CaptureError(
            Problem(
                table.place(row, group.names[column]),
                "infinite",
                "a number, or a blank where there is no new value",
                "an overflow in the logger",
                "take the value out, or record again",
            )
        )


def read_pulses(
    groups: Mapping[str, Group], table: Table, time: Vector, what: str = "pulses"
) -> tuple[dict[str, Pulses], tuple[str, ...]]:
    """Give each actuator's pulses, or each command's, on a time base of their own.

    Parameters
    ----------
    groups : mapping of name to Group
    table : Table
    time : ndarray, shape (N,), s
    what : str
        For the notes: ``pulses`` or ``commands``.

    Raises
    ------
    CaptureError
        If a pulse is infinite, negative or longer than any actuator takes.
    """
    pulses, notes = {}, []
    for actuator, group in groups.items():
        (name,) = group.names
        raw = table.columns[name]
        _refuse_infinite(group, table, raw[:, None])
        width = raw * group.unit.factor
        _refuse_absurd_pulse(actuator, group, table, width)
        blank, zero = np.isnan(width), width == 0
        if blank.any():
            notes.append(f"{what} of {escape(actuator)}: no new value in {int(blank.sum()):,} of {len(raw):,} rows")
        if zero.any():
            notes.append(f"{what} of {escape(actuator)}: {int(zero.sum()):,} of length zero left out")
        keep = ~(blank | zero)
        if keep.any():
            pulses[actuator] = Pulses(frozen(time[keep]), frozen(width[keep]))
        else:
            notes.append(f"{what} of {escape(actuator)}: none at all, so nothing is said from them")
    return pulses, tuple(notes)


def _refuse_absurd_pulse(actuator: str, group: Group, table: Table, width: Vector) -> None:
    bad = (width < 0) | (width > LONGEST_PULSE)
    if not bad.any():
        return
    row = int(np.argmax(bad))
    value = float(table.columns[group.names[0]][row])
    raise CaptureError(
        Problem(
            table.place(row, group.names[0]),
            f"a pulse of {value:g} {group.unit} for {escape(actuator)}; "
            f"so in {int(bad.sum()):,} of {len(width):,} rows",
            f"between 0 and {LONGEST_PULSE * 1000:g} ms",
            "the column is in microseconds" if value > 0 else "the column holds a position, and not a pulse",
            f"correct the unit or the name of the column ({group.place})",
        )
    )
