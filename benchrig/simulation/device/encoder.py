"""Rows of a simulated bench in the form that a device file says: lines of text, or frames of bytes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np
from cobs import cobs

from benchrig.capture.device.checksums import xor_of
from benchrig.capture.device.device_file import Device
from benchrig.capture.device.layout import TYPES, FrameLayout, LineLayout
from benchrig.capture.units import UNITS, Unit
from benchrig.declaration.quotation import escape, listed
from benchrig.errors import Problem, UsageError
from benchrig.geometry.directions import Vector
from benchrig.simulation.live_bench import LiveBench
from benchrig.simulation.stream import Group

HEADER_EVERY: Final = 500
"""Lines after which the line of names is sent again, where the device file gives no order."""

_TIME_FORMATS: Final = {"s": "%.6f", "ms": "%.3f"}


class Encoder:
    """Turns rows of a bench into what the device sends.

    Parameters
    ----------
    device : Device
    bench : LiveBench

    Raises
    ------
    UsageError
        If the device sends something that the bench does not have.
    """

    def __init__(self, device: Device, bench: LiveBench) -> None:
        self._device = device
        self._bits = None if device.counter is None else device.counter.bits
        self._sources = {name: (at, factor) for name, at, factor in _sources(device, bench)}
        self._sent = 0
        self._epoch = 0.0
        self._formats = _formats(device)

    def restart(self, now: float) -> None:
        """Begin count and clock anew, as after a loss of power.

        Parameters
        ----------
        now : float, s
            By the bench's clock.
        """
        self._sent, self._epoch = 0, now

    def jump(self, seconds: float) -> None:
        """Let the device's clock jump ahead."""
        self._epoch -= seconds

    def encoded(self, rows: Vector) -> list[bytes]:
        """Encode rows, each for itself.

        Parameters
        ----------
        rows : ndarray, shape (n, C)
            As `LiveBench.rows` gives them.
        """
        values = self._values(rows)
        layout = self._device.layout
        made = _lines(values, self._device, layout, self._formats) if isinstance(layout, LineLayout) else None
        if made is None:
            return list(_frames(values, layout)) if isinstance(layout, FrameLayout) else []
        if isinstance(layout, LineLayout) and layout.order is None:
            first = self._sent - len(rows)
            header = _line(list(self._device.columns), layout)
            made = [header + line if (first + at) % HEADER_EVERY == 0 else line for at, line in enumerate(made)]
        return made

    def _values(self, rows: Vector) -> Vector:
        """Give the device's columns in its own units."""
        columns = self._device.columns
        values = np.zeros((len(rows), len(columns)))
        time = self._device.meaning.groups.get("time")
        for at, name in enumerate(columns):
            if name in self._sources:
                source, factor = self._sources[name]
                values[:, at] = rows[:, source] * factor
            if time is not None and name == time.names[0]:
                values[:, at] -= self._epoch / time.unit.factor
            elif self._device.counter is not None and name == self._device.counter.name:
                counts = np.arange(self._sent, self._sent + len(rows))
                values[:, at] = counts if self._bits is None else counts % 2**self._bits
        self._sent += len(rows)
        return values


def _sources(device: Device, bench: LiveBench) -> Iterator[tuple[str, int, float]]:
    """Give, for each of the device's columns, the bench's column that it stands for, and what to multiply it by."""
    meaning = device.meaning
    wanted = {
        **meaning.groups,
        **{f"actuator:{name}": group for name, group in meaning.actuators.items()},
        **{f"command:{name}": group for name, group in meaning.commands.items()},
    }
    groups = {group.role: group for group in bench.groups}
    missing = [role for role in wanted if role not in groups]
    if missing:
        has = listed(map(escape, groups))
        finding = f"the unit of {escape(device.file.path.name)} sends {listed(map(escape, missing))}"
        act = "name the device file of this airframe, or write --device with a name that is not taken"
        raise UsageError(Problem("--device", finding, f"what the simulated bench has: {has}", act=act))
    for role, group in wanted.items():
        for name, own in zip(group.names, groups[role].names, strict=True):
            yield name, bench.columns.index(own), _factor(role, groups[role], group.unit)


def _factor(role: str, given: Group, wanted: Unit) -> float:
    kind = "actuators" if ":" in role else role
    return UNITS[kind][given.unit] / wanted.factor


def _formats(device: Device) -> list[str]:
    """Give how each column is written in a line."""
    meaning = device.meaning
    counts = {name for group in meaning.groups.values() if group.unit.count is not None for name in group.names}
    formats = dict.fromkeys(counts, "%d")
    time = meaning.groups.get("time")
    if time is not None:
        formats[time.names[0]] = _TIME_FORMATS.get(time.unit.word, "%d")
    if device.counter is not None:
        formats[device.counter.name] = "%d"
    return [formats.get(name, "%.9g") for name in device.columns]


def _lines(values: Vector, device: Device, layout: LineLayout, formats: list[str]) -> list[bytes]:
    whole = [at for at, form in enumerate(formats) if form == "%d"]
    values[:, whole] = np.round(values[:, whole])
    named = iter(range(len(device.columns)))
    places = [next(named) if name else None for name in (layout.order or device.columns)]
    made = []
    for row in values.tolist():
        fields = ["0" if at is None else "" if row[at] != row[at] else formats[at] % row[at] for at in places]
        made.append(_line([field.replace(".", layout.decimal) for field in fields], layout))
    return made


def _line(fields: list[str], layout: LineLayout) -> bytes:
    body = (layout.separator or ",").join(fields).encode("latin-1", "replace")
    if layout.is_checked:
        body += b"*%02X" % xor_of(body)
    return body + b"\r\n"


def _frames(values: Vector, layout: FrameLayout) -> Iterator[bytes]:
    records = np.zeros(len(values), layout.dtype)
    for at, name in enumerate(layout.dtype.names or ()):
        kind = np.dtype(TYPES[next(field.kind for field in layout.fields if field.name == name)])
        records[name] = _fitted(values[:, at], kind)
    for record in records:
        content = record.tobytes()
        over = layout.sync + content if layout.covers_sync else content
        form = layout.check_format
        frame = layout.sync + content + (b"" if form is None else form.pack(layout.check.of(over)))
        yield cobs.encode(frame) + b"\0" if layout.is_cobs else frame


def _fitted(column: Vector, kind: np.dtype[Any]) -> Vector:
    """Round to whole numbers where the field holds those: a clock runs over, anything else ends at the range's end."""
    if kind.kind == "f":
        return column
    limits = np.iinfo(kind)
    whole = np.round(np.nan_to_num(column))
    if kind.kind == "u":
        return np.mod(whole, 2.0 ** (8 * kind.itemsize))
    # the largest whole number that a float holds below the end of the range
    top = np.nextafter(float(limits.max) + 1.0, 0.0)
    clipped: Vector = np.clip(whole, float(limits.min), np.floor(top))
    return clipped
