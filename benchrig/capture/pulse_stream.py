"""A second stream for the servo pulses, with a clock of its own: which columns stand in it, and its place in time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrig.capture.columnar import ARROW_FILE_MARK, ARROW_STREAM_MARK, PARQUET_MARK
from benchrig.capture.joining import Offset
from benchrig.capture.layout import find_layout
from benchrig.capture.recording import Pulses
from benchrig.capture.stream import read_bytes, read_stream
from benchrig.capture.table import Table
from benchrig.capture.text import plain_text
from benchrig.capture.time_column import FEWEST_SAMPLES, Clock, read_clock
from benchrig.capture.units import Group
from benchrig.capture.values import read_pulses
from benchrig.declaration.quotation import escape
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import Vector

if TYPE_CHECKING:
    from benchrig.capture.manifest import Manifest

_HEAD_BYTES: Final = 1 << 18
_MS: Final = 1e3


@dataclass(frozen=True, slots=True)
class PulseStream:
    """What ``[pulses]`` of a manifest says.

    Attributes
    ----------
    file : Path
    time : Group
        Its time column, by its own clock.
    offset : Offset
        Of its first row, against the capture's first sample.
    place : str
        Where ``offset_s`` stands.
    """

    file: Path
    time: Group
    offset: Offset
    place: str


@dataclass(frozen=True, slots=True, eq=False)
class SecondTable:
    """The second stream as read: its wanted columns, its bytes, and the columns that the capture's own stream holds."""

    table: Table
    data: bytes
    main_names: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class AllPulses:
    """Pulses and commands of both streams, by the capture's clock, and what was done to them, in words."""

    pulses: Mapping[str, Pulses]
    commands: Mapping[str, Pulses]
    notes: tuple[str, ...]


def read_second(described: Manifest, main: bytes) -> SecondTable | None:
    """Read the second stream of a capture, where it has one.

    Parameters
    ----------
    described : Manifest
    main : bytes
        Of the capture's own stream: a pulse column that stands there is not looked for in the second one.

    Raises
    ------
    CaptureError
        If it cannot be read, a column is in neither stream or in both, or it holds none of those that are named.
    """
    second = described.pulse_stream
    if second is None:
        return None
    data = read_bytes(second.file)
    needed = described.required_names
    there = column_names_in(described.stream, main, needed)
    here = column_names_in(second.file, data, second.time.names)
    groups = (*described.actuators.values(), *described.commands.values())
    wanted = tuple(dict.fromkeys(name for group in groups for name in group.names))
    both = [name for name in wanted if name in there and name in here]
    beside = [name for name in wanted if name not in there]
    if both or not beside:
        raise CaptureError(*(_in_both(second, described, name) for name in both), *_none_beside(second, beside))
    table = read_stream(second.file, data, (*second.time.names, *beside), second.time.names)
    return SecondTable(table, data, tuple(name for name in described.column_names if name not in beside))


def _in_both(second: PulseStream, described: Manifest, name: str) -> Problem:
    main = escape(described.stream.name)
    return Problem(
        escape(second.file.name),
        f'its column "{escape(name)}" stands in {main} too',
        "a name of its own for each column of the two streams",
        "both units call it so",
        "rename it in one of the streams, and in the manifest",
    )


def _none_beside(second: PulseStream, beside: Sequence[str]) -> tuple[Problem, ...]:
    if beside:
        return ()
    finding = f"{escape(second.file.name)} is named, and every pulse column stands in the capture's own stream"
    return (Problem(second.place, finding, act="take [pulses] out, or name the second stream's columns"),)


def column_names_in(path: Path, data: bytes, needed: Sequence[str]) -> tuple[str, ...]:
    """Give the names of all columns of a stream; empty where it cannot be read, which its reader will say better.

    Parameters
    ----------
    path : Path
    data : bytes
    needed : sequence of str
        Columns by which the line of names is found in text.
    """
    import pyarrow as pa  # noqa: PLC0415 - 0.1 s that captures of one stream need not pay
    from pyarrow import parquet  # noqa: PLC0415 - the same

    try:
        if data.startswith(PARQUET_MARK):
            return tuple(parquet.ParquetFile(pa.BufferReader(data)).schema_arrow.names)
        if data.startswith(ARROW_FILE_MARK):
            return tuple(pa.ipc.open_file(pa.BufferReader(data)).schema.names)
        if data.startswith(ARROW_STREAM_MARK):
            return tuple(pa.ipc.open_stream(pa.BufferReader(data)).schema.names)
        head, _ = plain_text(path.name, data[:_HEAD_BYTES])
        return find_layout(path.name, head.decode(errors="ignore"), needed).names
    except (pa.ArrowException, OSError, UnicodeError, CaptureError):
        return ()


def read_all_pulses(described: Manifest, clock: Clock, second: Table | None) -> AllPulses:
    """Give every channel's pulses, and every command's, by the capture's clock.

    Parameters
    ----------
    described : Manifest
    clock : Clock
        Of the capture's own stream.
    second : Table or None
        The second stream's columns, where there is one; None too where nothing of it has come yet.

    Raises
    ------
    CaptureError
        If a pulse is none, or nothing of the second stream lies within the capture.
    """
    here, notes = _read(described, clock.table, clock.time)
    if described.pulse_stream is None:
        return AllPulses(here["pulses"], here["commands"], notes)
    beside, of_second = _beside(described, described.pulse_stream, clock, second)
    pulses = {**here["pulses"], **beside["pulses"]}
    commands = {**here["commands"], **beside["commands"]}
    return AllPulses(
        {name: pulses[name] for name in described.actuators if name in pulses},
        {name: commands[name] for name in described.commands if name in commands},
        (*notes, *of_second),
    )


_Read = dict[str, dict[str, Pulses]]


def _read(described: Manifest, table: Table, time: Vector) -> tuple[_Read, tuple[str, ...]]:
    """Read those pulses and commands whose columns a table holds."""
    read: _Read = {}
    notes: list[str] = []
    for what, groups in (("pulses", described.actuators), ("commands", described.commands)):
        held = {name: group for name, group in groups.items() if group.names[0] in table.columns}
        read[what], told = read_pulses(held, table, time, what)
        notes.extend(told)
    return read, tuple(notes)


def _beside(
    described: Manifest, stream: PulseStream, clock: Clock, second: Table | None
) -> tuple[_Read, tuple[str, ...]]:
    name = escape(stream.file.name)
    if second is None or len(second) < FEWEST_SAMPLES:
        rows = 0 if second is None else len(second)
        return {"pulses": {}, "commands": {}}, (f"{name}: {rows or 'no'} rows, so nothing is said from it",)
    own = read_clock(second, stream.time)
    when = stream.offset.in_first(own.time)
    inside = (when >= 0) & (when <= clock.time[-1])
    if not inside.any():
        raise CaptureError(_outside(stream, when, float(clock.time[-1])))
    table = own.table
    if not inside.all():
        table = table.only(inside, f"{int((~inside).sum()):,} rows from before or after the capture left out")
    read, notes = _read(described, table, when[inside])
    placed = {
        what: {key: replace(channel, delay_uncertainty=stream.offset.uncertainty) for key, channel in channels.items()}
        for what, channels in read.items()
    }
    # the notes of the rows come with the table, those of the clock beside it
    told = (*table.notes, *own.notes, *notes)
    return placed, (_placed(stream), *(note if name in note else f"{name}: {note}" for note in told))


def _placed(stream: PulseStream) -> str:
    offset = stream.offset
    side = "after" if offset.value >= 0 else "before"
    drift = f", its clock {abs(offset.drift) * 1e6:.0f} ppm {'fast' if offset.drift > 0 else 'slow'}"
    return (
        f"pulses from {escape(stream.file.name)}: its first row {abs(offset.value):.3f} s {side} the first sample, "
        f"± {offset.uncertainty * _MS:.3g} ms{drift if offset.drift else ''}"
    )


def _outside(stream: PulseStream, when: Vector, end: float) -> Problem:
    mirrored = when - 2 * stream.offset.value
    turned = bool(((mirrored >= 0) & (mirrored <= end)).any())
    return Problem(
        stream.place,
        f"offset_s = {stream.offset.value:g} puts every row of {escape(stream.file.name)} "
        f"between {when[0]:.3f} s and {when[-1]:.3f} s",
        f"rows within the capture, which ends at {end:.3f} s",
        "its sign is turned round" if turned else "the stream of another capture, or an offset in another unit",
        "offset_s is when its first row was taken, in s after the capture's first sample; below zero if before",
    )
