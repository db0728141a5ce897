"""What is said of a device's clock: which one it is, what happened to it, and where it speaks against its unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from benchrig.capture.device.counter import RowCounter
from benchrig.capture.device.device_file import Device
from benchrig.capture.device.envelope import Envelope
from benchrig.capture.device.tally import Tally
from benchrig.capture.units import UNITS
from benchrig.declaration.quotation import escape
from benchrig.errors import Problem

TELLING_SPAN: Final = 5.0
"""s of arrivals after which the rate of a device's clock can be told."""

WORTH_SAYING: Final = 0.0005
LARGEST_DRIFT: Final = 0.02
"""How far two clocks may run apart: quartz keeps 0.0001, a resonator 0.005, an RC oscillator 0.02 (from memory)."""

_MOST: Final = 5
_STILL: Final = 1e-10
"""s of a device's clock in one of this computer's: less than a nanosecond taken for a second."""


def clock_words(device: Device, line: Envelope, *, is_coarse: bool) -> str:
    """Say by which clock the times are."""
    time = device.meaning.groups.get("time")
    late = f"95 of 100 rows arrive within {1000 * line.wait:.3g} ms of the quickest"
    if time is None and device.counter is not None:
        return f"the unit's count of rows ({escape(device.counter.name)}), fitted to their arrival: {late}"
    if time is None:
        return f"the arrival of rows at this computer, fitted: {late}; rows lost in ones and twos do not show"
    words = f"the unit's own clock ({escape(time.names[0])})"
    fast = 1 / line.slope - 1
    if line.span >= TELLING_SPAN and WORTH_SAYING < abs(fast) < LARGEST_DRIFT:
        words += f", which runs {abs(fast):.2%} {'fast' if fast > 0 else 'slow'} against this computer's"
    return f"{words}; it is too coarse for its rate, and times are fitted through its stamps" if is_coarse else words


def clock_notes(
    device: Device,
    line: Envelope,
    *,
    restarts: Sequence[float],
    gaps: Sequence[tuple[float, float]],
    tally: Tally,
    counter: RowCounter | None,
) -> tuple[str, ...]:
    """Say what happened to a device's clock and count."""
    notes = list(clock_breaks(device, line, restarts=restarts, gaps=gaps))
    if tally.duplicates:
        notes.append(f"{tally.duplicates:,} rows that repeat the row before wholly left out")
    name = escape(device.counter.name) if device.counter else ""
    if counter is not None and counter.restarts and not restarts:
        notes.append(
            f"the count of rows ({name}) began again {counter.restarts:,} times, while the unit's clock went on"
        )
    if counter is not None and counter.stood_still:
        notes.append(f"the count of rows ({name}) stood still {counter.stood_still:,} times: lost rows may not show")
    return tuple(notes)


def clock_breaks(
    device: Device, line: Envelope, *, restarts: Sequence[float], gaps: Sequence[tuple[float, float]]
) -> tuple[str, ...]:
    """Say where a device's clock or count broke off."""
    is_clock = "time" in device.meaning.groups
    scale = 1.0 if is_clock else line.slope
    notes = []
    for what, moments in (
        ("the unit began again", list(restarts)),
        (_unseen(device), [before for before, _ in gaps]),
    ):
        if moments:
            some = ", ".join(f"{moment * scale:.2f} s" for moment in moments[:_MOST])
            more = f" and {len(moments) - _MOST} times more" if len(moments) > _MOST else ""
            within = f"{1000 * max(line.wait, 0.001):.3g} ms"
            notes.append(f"{what} at {some}{more}; the time between is known by arrival only, to about {within}")
    return tuple(notes)


def _unseen(device: Device) -> str:
    if "time" in device.meaning.groups:
        return "the unit's clock ran over unseen or began again"
    return "rows seem to be missing" if device.counter is None else "the count of rows ran over unseen or began again"


def doubt_of_rate(device: Device, line: Envelope) -> tuple[Problem, ...]:
    """Say that a device's clock runs at another rate than its unit says, where it does."""
    time = device.meaning.groups["time"]
    is_still = line.pace < _STILL
    if line.span < TELLING_SPAN or (abs(line.slope - 1) <= LARGEST_DRIFT and not is_still):
        return ()
    if is_still:
        finding = f"the unit's clock ({escape(time.names[0])}) stands still while rows come"
        act = "name the column of the time, or leave time out of [columns]: then the arrival is the clock"
        return (Problem(time.place, finding, "a clock that goes on", "another column is meant", act),)
    true = time.unit.factor * line.slope
    fitting = [word for word, factor in UNITS["time"].items() if abs(true / factor - 1) <= LARGEST_DRIFT]
    return (
        Problem(
            time.place,
            f"by the unit's clock ({escape(time.names[0])}) {60 / line.slope:,.6g} s pass in a minute",
            f'60 s, since unit = "{time.unit.word}"',
            f'the column is in "{fitting[0]}"' if fitting else "its timer has another frequency than its maker states",
            f'write unit = "{fitting[0]}"' if fitting else "leave time out of [columns]: then the arrival is the clock",
        ),
    )
