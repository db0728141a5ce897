"""Units that send, for tests: device files, what they send byte for byte, and when it arrives."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np
from cobs import cobs

from benchrig.capture.device.decoder import Decoder
from benchrig.capture.device.device_file import Device, read_device
from benchrig.capture.device.layout import FrameLayout

SENSORS = """
gyro = { names = ["gx", "gy", "gz"], unit = { lsb_per = "deg/s", count = 16.4 } }
accelerometer = { names = ["ax", "ay", "az"], unit = { lsb_per = "g", count = 2048 } }
"""
TIME = 'time = { names = ["t"], unit = "us" }\n'
AXES = ("gx", "gy", "gz", "ax", "ay", "az")
LETTERS = {"u8": "B", "i8": "b", "u16": "H", "i16": "h", "u32": "I", "i32": "i", "u64": "Q", "i64": "q"} | {
    "f32": "f",
    "f64": "d",
}


def frames_text(fields: str, *, mark: str = 'marked_by = "cobs"', check: str = "crc-32", order: str = "little") -> str:
    axes = ", ".join(f'{{ name = "{name}", type = "i16" }}' for name in AXES)
    return (
        f'[device]\nname = "bench logger"\nsends = "frames"\n[frames]\n{mark}\nbyte_order = "{order}"\n'
        f'check = "{check}"\nfields = [{fields}{axes}]\n'
    )


def lines_text(order: Sequence[str] = ("t", *AXES), more: str = "") -> str:
    listed = ", ".join(f'"{name}"' for name in order)
    named = f"order = [{listed}]\n" if order else ""
    return f'[device]\nname = "bench printer"\nsends = "lines"\n[lines]\n{named}{more}\n'


def device_of(folder: Path, text: str, columns: str = TIME + SENSORS) -> Device:
    path = folder / "unit.toml"
    path.write_text(f"{text}[columns]\n{columns}", encoding="utf-8")
    return read_device(path)


def frame(layout: FrameLayout, values: Sequence[float]) -> bytes:
    """Give the bytes of one row, its check and mark included."""
    order, left, parts = ">" if layout.is_big else "<", list(values), []
    for field in layout.fields:
        if not field.name:
            parts.append(b"\x55" * field.size)
            continue
        value, bits = left.pop(0), 8 * field.size
        if field.kind[0] == "u":
            value = int(value) % 2**bits
        elif field.kind[0] == "i":
            value = (int(value) + 2 ** (bits - 1)) % 2**bits - 2 ** (bits - 1)
        parts.append(struct.pack(order + LETTERS[field.kind], value))
    content = b"".join(parts)
    covered = layout.sync + content if layout.covers_sync else content
    form = layout.check_format
    ended = content + (form.pack(layout.check.of(covered)) if form else b"")
    return cobs.encode(ended) + b"\0" if layout.is_cobs else layout.sync + ended


def made_rows(count: int, *, step: int = 1000, first: int = 0, counted: bool = False) -> np.ndarray:
    """Give rows of a unit: a count where it is wanted, the time in ticks, and six axes that are never alike."""
    rng = np.random.default_rng(4)
    axes = rng.integers(-32000, 32000, (count, 6))
    heads = [np.arange(count)] if counted else []
    return np.column_stack([*heads, first + step * np.arange(count), axes]).astype(float)


def fed(decoder: Decoder, parts: Iterable[tuple[bytes, float]]) -> tuple[np.ndarray, np.ndarray]:
    """Feed all parts and the end; give times and values."""
    samples = [sample for data, arrival in parts for sample in decoder.feed(data, arrival)]
    samples += decoder.finish()
    assert all(len(sample.time) == len(sample.values) == len(sample.arrival) > 0 for sample in samples)
    if not samples:
        return np.empty(0), np.empty((0, len(decoder.columns)))
    time = np.concatenate([sample.time for sample in samples])
    assert (np.diff(time) > 0).all()
    assert (np.diff(np.concatenate([sample.arrival for sample in samples])) >= 0).all()
    return time, np.concatenate([sample.values for sample in samples])


def bursts(
    pieces: Sequence[bytes], taken: np.ndarray, every: float = 0.016, seed: int = 1
) -> list[tuple[bytes, float]]:
    """Let pieces arrive as over a USB adapter that is read every 16 ms, a little late each time."""
    rng = np.random.default_rng(seed)
    block = np.floor(taken / every).astype(int)
    late = rng.exponential(0.001, int(block[-1]) + 2)
    parts = []
    for number in np.unique(block):
        data = b"".join(pieces[i] for i in np.flatnonzero(block == number))
        parts.append((data, float((number + 1) * every + late[number])))
    arrivals = np.maximum.accumulate([arrival for _, arrival in parts])
    return [(data, float(arrival)) for (data, _), arrival in zip(parts, arrivals, strict=True)]
