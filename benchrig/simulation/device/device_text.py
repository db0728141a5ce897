"""The device file of a simulated unit: written for whichever airframe is simulated, in either form."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal

import numpy as np

from benchrig.declaration.quotation import quote
from benchrig.simulation.live_bench import LiveBench
from benchrig.simulation.stream import Group

Form = Literal["frames", "lines"]

BAUD: Final = 921_600

_GRAVITY: Final = 9.80665
_HALF_COUNTS: Final = 32768
_USUAL_RANGES: Final = {"gyro": 2000.0, "accelerometer": 16.0}
_TYPES: Final = {"time": "u32", "gyro": "i16", "accelerometer": "i16", "actuator": "u16", "command": "u16"}
_LINE: Final = 112


def device_text(bench: LiveBench, form: Form = "frames") -> str:
    """Write the device file of a unit that sends what a bench has.

    Parameters
    ----------
    bench : LiveBench
    form : {"frames", "lines"}
        Frames hold raw counts, as the registers of such a sensor do; lines hold plain numbers.
    """
    names = ["seq", *bench.columns]
    parts = [
        "# An invented unit: `benchrig simulate --live` sends this.",
        "[device]",
        f'name = "bench unit, {form}"',
        f"baud = {BAUD}",
        f'sends = "{form}"',
        "",
    ]
    if form == "frames":
        parts += [
            "[frames]",
            'marked_by = "cobs"',
            'byte_order = "little"',
            'check = "crc-16/ccitt-false"',
            "fields = [",
        ]
        parts += [f"    {line}" for line in _wrapped([*_fields(bench)])]
        parts += ["]", "", "[counter]", 'name = "seq"', ""]
    else:
        parts += ["[lines]", 'separator = ","', "order = ["]
        parts += [f"    {line}" for line in _wrapped([f"{quote(name)}," for name in names])]
        parts += ["]", "", "[counter]", 'name = "seq"', "bits = 16", ""]
    return "\n".join([*parts, "[columns]", *_columns(bench, form), ""])


def _fields(bench: LiveBench) -> Iterator[str]:
    yield '{ name = "seq", type = "u16" },'
    for group in bench.groups:
        kind = _TYPES.get(group.role.partition(":")[0], "f32")
        for name in group.names:
            yield f'{{ name = {quote(name)}, type = "{kind}" }},'


def _columns(bench: LiveBench, form: Form) -> Iterator[str]:
    role = ""
    for group in bench.groups:
        kind, _, name = group.role.partition(":")
        if name and kind != role:
            yield from ("", f"[columns.{kind}s]")
        role = kind
        names = ", ".join(map(quote, group.names))
        yield f"{quote(name) if name else kind} = {{ names = [{names}], unit = {_unit(bench, group, form)} }}"


def _unit(bench: LiveBench, group: Group, form: Form) -> str:
    if form == "lines" or group.role not in _USUAL_RANGES:
        return quote(group.unit)
    sensor = bench.airframe.sensor
    ranges = {
        "gyro": None if sensor.gyro_range is None else float(np.degrees(sensor.gyro_range)),
        "accelerometer": None if sensor.accelerometer_range is None else sensor.accelerometer_range / _GRAVITY,
    }
    word = "deg/s" if group.role == "gyro" else "g"
    count = _HALF_COUNTS / (ranges[group.role] or _USUAL_RANGES[group.role])
    return f'{{ lsb_per = "{word}", count = {count:.10g} }}'


def _wrapped(parts: Sequence[str]) -> list[str]:
    lines = [""]
    for part in parts:
        if len(lines[-1]) + len(part) > _LINE:
            lines.append("")
        lines[-1] += f" {part}" if lines[-1] else part
    return lines
