"""A device file: what a unit sends over a port, and what each of its columns is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from benchrig.capture.columns import Meaning, read_columns
from benchrig.capture.device.device_layout import read_layout
from benchrig.capture.device.form import CounterTable, DeviceForm
from benchrig.capture.device.layout import FrameLayout, LineLayout
from benchrig.capture.form_faults import named, note_form_faults
from benchrig.declaration.file_kind import kind_of_file
from benchrig.declaration.quotation import escape, listed, nearest, quote
from benchrig.declaration.table_faults import Faults, Keys
from benchrig.declaration.toml_lines import TomlFile, read_toml
from benchrig.errors import DeviceFileError

RESERVED: Final = ("bench_time_s", "bench_arrival_s")
"""The columns that a store keeps beside the device's own."""


@dataclass(frozen=True, slots=True)
class Counter:
    """A column that counts rows, and the bits after which it runs over; None where it never does."""

    name: str
    bits: int | None


@dataclass(frozen=True, slots=True, eq=False)
class Device:
    """A device file as read.

    Attributes
    ----------
    file : TomlFile
    name : str
        The user's own name for it; as written, so to be escaped where it is shown.
    baud : int
        Bits a second.
    start : bytes
        To be written to the port after it is opened; empty where nothing is.
    layout : LineLayout or FrameLayout
    counter : Counter or None
    meaning : Meaning
        What the columns are. ``time`` may be missing; gyro and accelerometer where `is_pulses_only`.
    columns : tuple of str
        Of the values that come, in their order. Where the names come with a header, those that the file names.
    """

    file: TomlFile
    name: str
    baud: int
    start: bytes
    layout: LineLayout | FrameLayout
    counter: Counter | None
    meaning: Meaning
    columns: tuple[str, ...]

    @property
    def is_pulses_only(self) -> bool:
        """Whether it sends no gyro and no accelerometer, but pulses."""
        return "gyro" not in self.meaning.groups

    @property
    def time_bits(self) -> int | None:
        """Bits after which the time column of a frame runs over; None where it does not or cannot be known."""
        time = self.meaning.groups.get("time")
        return None if time is None else self.bits_of(time.names[0])

    def bits_of(self, name: str) -> int | None:
        """Give the bits of a whole number in a frame; None for lines and fractions."""
        if isinstance(self.layout, LineLayout):
            return None
        field = next((field for field in self.layout.fields if field.name == name), None)
        return None if field is None or field.kind.startswith("f") else 8 * field.size


def read_device(path: Path) -> Device:
    """Read a device file and check all that can be checked without the device.

    Parameters
    ----------
    path : Path

    Raises
    ------
    DeviceFileError
        With everything that is wrong with it.
    """
    file = read_toml(path, error=DeviceFileError, what="device file")
    faults = Faults(file, named)
    _refuse_another(file, faults)
    try:
        form = DeviceForm.model_validate(file.data)
    except ValidationError as error:
        note_form_faults(error, DeviceForm, faults)
        faults.raise_any(DeviceFileError)
        raise
    if not form.device.name.isprintable():
        faults.add(("device", "name"), f"device.name = {quote(form.device.name)}", "signs that print")
    meaning = read_columns(form.columns, file.data["columns"], faults)
    _require_sensors(form, faults)
    layout = read_layout(form, faults)
    columns = _columns(layout, meaning, form)
    counter = None if form.counter is None else _counter(form.counter, layout, columns, meaning, faults)
    _check_names(columns, meaning, layout, faults)
    start = _start(form.device.start, faults)
    faults.raise_any(DeviceFileError)
    if layout is None:
        raise AssertionError(path)  # pragma: no cover - a layout is missing only where a fault was noted
    return Device(file, form.device.name, form.device.baud, start, layout, counter, meaning, columns)


def _refuse_another(file: TomlFile, faults: Faults) -> None:
    """Refuse another kind of file in one line."""
    kind = kind_of_file(file.data)
    if kind is None or "device" in file.data:
        return
    act = "name the file that says what the unit sends: one that begins with [device]"
    faults.add((), f"is {kind}, and not a device file", "[device] and [columns]", "the two files are exchanged", act)
    faults.raise_any(DeviceFileError)


def _require_sensors(form: DeviceForm, faults: Faults) -> None:
    """Require gyro and accelerometer, unless nothing but pulses is sent."""
    columns = form.columns
    sensors = (columns.gyro, columns.accelerometer, columns.magnetometer, columns.unit_attitude)
    if (columns.actuators or columns.commands) and sensors == (None,) * 4:
        return
    for kind, given in (("gyro", columns.gyro), ("accelerometer", columns.accelerometer)):
        if given is None:
            faults.add_missing(("columns",), kind)


def _columns(layout: LineLayout | FrameLayout | None, meaning: Meaning, form: DeviceForm) -> tuple[str, ...]:
    if isinstance(layout, FrameLayout):
        return tuple(field.name for field in layout.fields if field.name)
    if layout is not None and layout.order is not None:
        return tuple(name for name in layout.order if name)
    counter = () if form.counter is None else (form.counter.name,)
    return tuple(dict.fromkeys((*counter, *meaning.names)))


def _counter(
    table: CounterTable,
    layout: LineLayout | FrameLayout | None,
    columns: tuple[str, ...],
    meaning: Meaning,
    faults: Faults,
) -> Counter:
    keys: Keys = ("counter", "name")
    if table.name not in columns:
        _note_unknown(keys, table.name, columns, faults)
    if table.name in meaning.names:
        finding = f"counter.name = {quote(table.name)}, which [columns] names too"
        faults.add(keys, finding, "a column that counts rows and nothing else", act="take one of them out")
    bits = table.bits
    if isinstance(layout, FrameLayout):
        field = next((field for field in layout.fields if field.name == table.name), None)
        if field is not None and field.kind.startswith("f"):
            faults.add(keys, f"counter.name = {quote(table.name)} has the type {field.kind}", "a whole number")
        elif field is not None and bits is not None and bits > 8 * field.size:
            faults.add(("counter", "bits"), f"counter.bits = {bits}", f"at most {8 * field.size}: the field's own")
        bits = bits or (None if field is None else 8 * field.size)
    return Counter(table.name, bits)


def _check_names(
    columns: tuple[str, ...], meaning: Meaning, layout: LineLayout | FrameLayout | None, faults: Faults
) -> None:
    """Hold the names under ``[columns]`` against those that are sent."""
    where: Keys = ("frames", "fields") if isinstance(layout, FrameLayout) else ("lines", "order")
    for name in dict.fromkeys(name for name in columns if name in RESERVED):
        faults.add(where, f"a column is named {name}", "another name: the store keeps its own of that name")
    for keys, names in _named_columns(meaning):
        for name in names:
            if layout is not None and name not in columns:
                _note_unknown((*keys, "names"), name, columns, faults)


def _named_columns(meaning: Meaning) -> Iterator[tuple[Keys, tuple[str, ...]]]:
    yield from ((("columns", kind), group.names) for kind, group in meaning.groups.items())
    yield from ((("columns", "actuators", name), group.names) for name, group in meaning.actuators.items())
    yield from ((("columns", "commands", name), group.names) for name, group in meaning.commands.items())


def _note_unknown(keys: Keys, name: str, columns: tuple[str, ...], faults: Faults) -> None:
    close = nearest(name, columns)
    faults.add(
        keys,
        f"{faults.named(keys)} names {quote(name)}, which the unit does not send",
        listed(map(escape, tuple(dict.fromkeys(columns))[:40])) if columns else "",
        f'"{escape(close)}" is meant' if close else "",
        "correct the name",
    )


def _start(text: str, faults: Faults) -> bytes:
    try:
        return text.encode("latin-1")
    except UnicodeEncodeError:
        faults.add(("device", "start"), f"device.start = {quote(text)}", "signs of one byte each, up to U+00FF")
        return b""
