"""Reading a capture: the manifest, then the stream it names, to one `Recording`."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from benchrig.capture.manifest import Manifest, read_manifest
from benchrig.capture.prompts import problems_of_times
from benchrig.capture.pulse_stream import read_all_pulses, read_second
from benchrig.capture.recording import Recording
from benchrig.capture.stream import read_bytes, read_stream
from benchrig.capture.table import Table
from benchrig.capture.time_column import Clock, read_clock
from benchrig.capture.units import refuse_absurd
from benchrig.capture.values import frozen, read_axes, read_optional, require_numbers
from benchrig.declaration.airframe import Airframe
from benchrig.errors import CaptureError, Problem


def read_capture(manifest: Path, airframe: Airframe | None = None) -> Recording:
    """Read a capture as it is: sensor axes, SI units, nothing corrected, filled in or resampled.

    Parameters
    ----------
    manifest : Path
        The ``.toml`` file; its stream lies beside it.
    airframe : Airframe, optional
        Whose actuators' names and words the manifest must use. Where it declares none, recorded pulses are left out.

    Returns
    -------
    Recording
        With all that was left out or converted told in its `history`.

    Raises
    ------
    CaptureError
        If the manifest or its stream cannot be used, naming the place of each fault.

    References
    ----------
    docs/reference/capture.md says which faults are refused and which are noted.
    """
    described = read_manifest(manifest, airframe)
    data = read_bytes(described.stream)
    second = read_second(described, data)
    names = described.column_names if second is None else second.main_names
    table = read_stream(described.stream, data, names, described.required_names)
    stored = data if second is None else data + second.data
    beside = None if second is None else second.table
    recording = recording_from(described, table, _digest(stored, described), beside)
    return replace(recording, stream_sha256=hashlib.sha256(stored).hexdigest(), manifest_sha256=described.file.sha256)


def recording_from(described: Manifest, table: Table, sha256: str, second: Table | None = None) -> Recording:
    """Make a recording of a manifest and the columns of its stream, wherever these came from.

    Parameters
    ----------
    described : Manifest
    table : Table
        At least the columns that the manifest names.
    sha256 : str
        Of what they were read from; empty where nothing is stored yet.
    second : Table, optional
        The columns of the second stream, where ``[pulses]`` names one.

    Raises
    ------
    CaptureError
        If the columns cannot be used, naming the place of each fault.
    """
    clock = read_clock(table, described.groups["time"])
    late = problems_of_times(described.prompts, float(clock.time[-1]), clock.start, described.stream.name)
    if late:
        raise CaptureError(*late)
    return _recording(described, clock, sha256, second)


def _recording(described: Manifest, clock: Clock, sha256: str, second: Table | None) -> Recording:
    table, groups = clock.table, described.groups
    for kind in ("gyro", "accelerometer"):
        require_numbers(kind, groups[kind], table)
        refuse_absurd(kind, groups[kind], table)
    angular_rate, gyro_full_scale = read_axes(groups["gyro"], table)
    acceleration, accelerometer_full_scale = read_axes(groups["accelerometer"], table)
    magnetic_field, of_magnetometer = read_optional("magnetometer", groups.get("magnetometer"), table)
    unit_attitude, of_attitude = read_optional("unit_attitude", groups.get("unit_attitude"), table)
    temperature, of_temperature = read_optional("temperature", groups.get("temperature"), table)
    channels = read_all_pulses(described, clock, second)
    of_columns = (*of_magnetometer, *of_attitude, *of_temperature, *channels.notes)
    history = (*table.notes, *clock.notes, *_start_note(described, clock), *of_columns, *described.notes)
    return Recording(
        time=frozen(clock.time),
        angular_rate=angular_rate,
        acceleration=acceleration,
        magnetic_field=magnetic_field,
        unit_attitude=unit_attitude,
        temperature=None if temperature is None else frozen(temperature[:, 0]),
        pulses=channels.pulses,
        commands=channels.commands,
        prompts=described.prompts,
        taken_back=described.taken_back,
        seen=described.seen,
        turntable=described.turntable,
        swing_pivot=described.swing_pivot,
        gyro_full_scale=gyro_full_scale,
        accelerometer_full_scale=accelerometer_full_scale,
        recorded=described.recorded,
        operator=described.operator,
        temperature_at_bench=described.temperature,
        stream=described.stream,
        manifest=described.file.path,
        sha256=sha256,
        history=history,
        blank_pulses=frozenset(described.actuators) - frozenset(channels.pulses),
    )


def _start_note(described: Manifest, clock: Clock) -> tuple[str, ...]:
    """Say how the times of prompts are counted, where the stream's own clock would count them otherwise."""
    if clock.start == 0 or not described.prompts or described.prompts[0].start is None:
        return ()
    return (f"the stream's clock shows {clock.start:.9g} s at its first sample, where the motions' times count from 0",)


def _digest(data: bytes, described: Manifest) -> str:
    """Give the SHA-256 of the stream's bytes followed by the manifest's, which must be the ones that were read."""
    path = described.file.path
    try:
        own = path.read_bytes()
    except OSError:
        own = b""
    if hashlib.sha256(own).hexdigest() != described.file.sha256:
        raise CaptureError(Problem(path.name, "changed while it was being read", act="run the command again"))
    return hashlib.sha256(data + own).hexdigest()
