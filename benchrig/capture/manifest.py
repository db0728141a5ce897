"""A manifest: which file is the stream, what its columns are, and what was done meanwhile."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

import numpy as np
from pydantic import ValidationError

from benchrig.capture.columns import Meaning, read_columns, read_group
from benchrig.capture.form import LONGEST_NOTE, ManifestForm
from benchrig.capture.form_faults import named, note_form_faults
from benchrig.capture.joining import Offset
from benchrig.capture.prompts import read_prompts, read_seen, told_of_taken_back
from benchrig.capture.pulse_stream import PulseStream
from benchrig.capture.recording import Prompt, Seen, Turntable
from benchrig.capture.stream import KINDS, find_stream
from benchrig.capture.units import Group
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.file_kind import TRUTH, kind_of_file, manifest_beside
from benchrig.declaration.quotation import escape
from benchrig.declaration.table_faults import Faults, Keys
from benchrig.declaration.toml_lines import TomlFile, read_toml
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import DIRECTIONS, Vector, position

RPM: Final = 2 * np.pi / 60
"""rad/s in one revolution a minute."""


@dataclass(frozen=True, slots=True, eq=False)
class Manifest:
    """A manifest as read: words turned into types.

    Attributes
    ----------
    file : TomlFile
    stream : Path
        Beside the manifest or in a folder below it.
    meaning : Meaning
        What the stream's columns are; its parts can be asked of the manifest itself too.
    prompts, seen, turntable, swing_pivot, recorded, operator, temperature
        As in `Recording`; temperature in °C.
    notes : tuple of str
        What was noted at recording, and what was left out, in words.
    pulse_stream : PulseStream or None
        The second stream, which holds the columns of actuators and commands that `stream` does not.
    taken_back : tuple of str
        As in `Recording`.
    """

    file: TomlFile
    stream: Path
    meaning: Meaning
    prompts: tuple[Prompt, ...]
    seen: tuple[Seen, ...]
    turntable: Turntable | None
    swing_pivot: Vector | None
    recorded: datetime | None
    operator: str | None
    temperature: float | None
    notes: tuple[str, ...]
    pulse_stream: PulseStream | None = None
    taken_back: tuple[str, ...] = ()

    @property
    def groups(self) -> Mapping[str, Group]:
        """``time``, ``gyro``, ``accelerometer`` and whatever else there is of `UNITS` but the actuators."""
        return self.meaning.groups

    @property
    def actuators(self) -> Mapping[str, Group]:
        """The columns of pulses by the actuator's name."""
        return self.meaning.actuators

    @property
    def commands(self) -> Mapping[str, Group]:
        """The columns of what was commanded, by the operator's own names."""
        return self.meaning.commands

    @property
    def column_names(self) -> tuple[str, ...]:
        """All columns that it names, each once."""
        return self.meaning.names

    @property
    def required_names(self) -> tuple[str, ...]:
        """The columns that have a value in every row."""
        return self.meaning.required


def read_manifest(path: Path, airframe: Airframe | None = None) -> Manifest:
    """Read a manifest and check all that can be checked without its stream.

    Parameters
    ----------
    path : Path
    airframe : Airframe, optional
        To hold the actuators' names and words against.

    Raises
    ------
    CaptureError
        With everything that is wrong with it.
    """
    if path.suffix.lower() in KINDS:
        manifest = path.with_suffix(".toml")
        act = f"name {escape(manifest.name)}" if manifest.is_file() else "write a manifest beside it, and name that"
        cause = "the stream was named in place of the manifest that says what its columns are"
        raise CaptureError(Problem(escape(path.name), "is a stream", "a manifest, NAME.toml", cause, act))
    file = read_toml(path, error=CaptureError, what="manifest")
    faults = Faults(file, named)
    _refuse_another(file, faults)
    try:
        form = ManifestForm.model_validate(file.data)
    except ValidationError as error:
        note_form_faults(error, ManifestForm, faults)
        faults.raise_any(CaptureError)
        raise
    meaning = read_columns(form.columns, file.data["columns"], faults, airframe)
    prompts = read_prompts(form, faults)
    seen = read_seen(form, airframe, prompts, faults)
    taken_back = told_of_taken_back(form, faults)
    turntable = _turntable(form, faults)
    swing_pivot = None if form.swing is None else _pivot(form.swing.pivot_mm, ("swing", "pivot_mm"), faults)
    pulse_time = _pulse_time(form, faults)
    faults.raise_any(CaptureError)
    stream = find_stream(path, form.capture.stream, file.place("capture", "stream"))
    pulse_stream = _pulse_stream(form, pulse_time, path, faults)
    notes = tuple(f"noted at recording: {escape(note, LONGEST_NOTE)}" for note in form.capture.notes if note.strip())
    notes = (*notes, *taken_back)
    if airframe is not None and not airframe.actuators and (meaning.actuators or seen):
        notes = (*notes, "the airframe declares no actuators: the capture's pulses and looks are left out")
        meaning, seen = replace(meaning, actuators={}), ()
        pulse_stream = pulse_stream if meaning.commands else None
    return Manifest(
        file=file,
        stream=stream,
        meaning=meaning,
        prompts=prompts,
        seen=seen,
        turntable=turntable,
        swing_pivot=swing_pivot,
        recorded=form.capture.recorded,
        operator=form.capture.operator,
        temperature=form.capture.temperature_c,
        notes=notes,
        pulse_stream=pulse_stream,
        taken_back=tuple(taken.name for taken in form.taken_back),
    )


def _pulse_time(form: ManifestForm, faults: Faults) -> Group | None:
    """Give the time column of the second stream, or note why there is none."""
    if form.pulses is None:
        return None
    columns = form.columns
    if not columns.actuators and not columns.commands:
        expectation = "[columns.actuators] or [columns.commands], which say what its columns are"
        faults.add(("pulses",), "[pulses] names a second stream, and no column is a pulse", expectation)
    return read_group("time", form.pulses.time, ("pulses", "time"), faults)


def _pulse_stream(form: ManifestForm, time: Group | None, path: Path, faults: Faults) -> PulseStream | None:
    given = form.pulses
    if given is None or time is None:
        return None
    file = find_stream(path, given.stream, faults.file.place("pulses", "stream"))
    offset = Offset(given.offset_s, given.offset_uncertainty_s, given.fast_ppm * 1e-6)
    return PulseStream(file, time, offset, faults.file.place("pulses", "offset_s"))


def _refuse_another(file: TomlFile, faults: Faults) -> None:
    """Refuse another file than a manifest in one line, which its keys would give as many faults as it has tables."""
    kind = kind_of_file(file.data)
    if kind is None or ("capture" in file.data and kind != TRUTH):
        return
    cause, act = "the two files are exchanged", "give the airframe file first, then the manifest"
    if kind == TRUTH:
        cause, act = "the truth was named in place of the manifest", f"name {escape(manifest_beside(file.path.name))}"
    elif "worksheet" in kind:
        act = "name the capture's manifest; a worksheet goes to `benchrig measure cg`"
    elif "device" in kind:
        act = "name the capture's manifest; a device file goes to `benchrig record --device`"
    elif "manifest" in kind:
        return
    faults.add((), f"is {kind}, and not a manifest", "[capture] and [columns]", cause, act)
    faults.raise_any(CaptureError)


def _turntable(form: ManifestForm, faults: Faults) -> Turntable | None:
    if form.turntable is None:
        return None
    rpm, pivot_mm = form.turntable.rpm, form.turntable.pivot_mm
    pivot = None if pivot_mm is None else _pivot(pivot_mm, ("turntable", "pivot_mm"), faults)
    return Turntable(None if rpm is None else rpm * RPM, pivot)


def _pivot(pivot_mm: Mapping[str, float], keys: Keys, faults: Faults) -> Vector | None:
    """Give a point in m from the CG, body axes, or note why it is none."""
    unknown = [word for word in pivot_mm if word not in DIRECTIONS]
    for word in unknown:
        faults.add_key((*keys, word), DIRECTIONS)
    if unknown:
        return None
    try:
        return position(pivot_mm) / 1000
    except ValueError as error:
        faults.add(keys, f"{named(keys)}: {error}")
        return None
