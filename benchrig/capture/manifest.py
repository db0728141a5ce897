"""A manifest: which file is the stream, what its columns are, and what was done meanwhile."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

import numpy as np
from pydantic import ValidationError

from benchrig.capture.form import LONGEST_NOTE, Counts, ManifestForm, OneColumn, ThreeColumns
from benchrig.capture.form_faults import named, note_form_faults
from benchrig.capture.prompts import check_actuator, read_prompts, read_seen
from benchrig.capture.recording import Prompt, Seen, Turntable
from benchrig.capture.stream import KINDS, find_stream
from benchrig.capture.units import COUNTABLE, UNITS, Group, unit_of
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.file_kind import TRUTH, kind_of_file, manifest_beside
from benchrig.declaration.quotation import escape, listed, quote
from benchrig.declaration.table_faults import Faults, Keys
from benchrig.declaration.toml_lines import TomlFile, read_toml
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import DIRECTIONS, Vector, position

RPM: Final = 2 * np.pi / 60
"""rad/s in one revolution a minute."""

SPELLINGS: Final[Mapping[str, str]] = {
    "µs": "us",
    "μs": "us",
    "°/s": "deg/s",
    "dps": "deg/s",
    "m/s²": "m/s2",
    "m/s^2": "m/s2",
    "µT": "uT",
    "μT": "uT",
    "°": "deg",
    "°C": "C",
}
"""Other ways people write these units, to say which word is meant."""


@dataclass(frozen=True, slots=True, eq=False)
class Manifest:
    """A manifest as read: words turned into types.

    Attributes
    ----------
    file : TomlFile
    stream : Path
        Beside the manifest or in a folder below it.
    groups : mapping of str to Group
        ``time``, ``gyro``, ``accelerometer`` and whatever else there is of `UNITS` but the actuators.
    actuators : mapping of actuator name to Group
    commands : mapping of str to Group
        Of what was commanded, by the operator's own names.
    prompts, seen, turntable, swing_pivot, recorded, operator, temperature
        As in `Recording`; temperature in °C.
    notes : tuple of str
        What was noted at recording, and what was left out, in words.
    """

    file: TomlFile
    stream: Path
    groups: Mapping[str, Group]
    actuators: Mapping[str, Group]
    commands: Mapping[str, Group]
    prompts: tuple[Prompt, ...]
    seen: tuple[Seen, ...]
    turntable: Turntable | None
    swing_pivot: Vector | None
    recorded: datetime | None
    operator: str | None
    temperature: float | None
    notes: tuple[str, ...]

    @property
    def column_names(self) -> tuple[str, ...]:
        """All columns that it names, each once."""
        groups = (*self.groups.values(), *self.actuators.values(), *self.commands.values())
        return tuple(dict.fromkeys(name for group in groups for name in group.names))

    @property
    def required_names(self) -> tuple[str, ...]:
        """The columns that have a value in every row."""
        return tuple(name for kind in ("time", "gyro", "accelerometer") for name in self.groups[kind].names)


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
    groups = _groups(form, faults)
    actuators = _actuators(form, airframe, faults)
    commands = _commands(form, faults)
    _check_named_once(groups, actuators, faults)
    prompts = read_prompts(form, faults)
    seen = read_seen(form, airframe, prompts, faults)
    turntable = _turntable(form, faults)
    swing_pivot = None if form.swing is None else _pivot(form.swing.pivot_mm, ("swing", "pivot_mm"), faults)
    faults.raise_any(CaptureError)
    stream = find_stream(path, form.capture.stream, file.place("capture", "stream"))
    notes = tuple(f"noted at recording: {escape(note, LONGEST_NOTE)}" for note in form.capture.notes if note.strip())
    if airframe is not None and not airframe.actuators and (actuators or seen):
        notes = (*notes, "the airframe declares no actuators: the capture's pulses and looks are left out")
        actuators, seen = {}, ()
    return Manifest(
        file=file,
        stream=stream,
        groups=groups,
        actuators=actuators,
        commands=commands,
        prompts=prompts,
        seen=seen,
        turntable=turntable,
        swing_pivot=swing_pivot,
        recorded=form.capture.recorded,
        operator=form.capture.operator,
        temperature=form.capture.temperature_c,
        notes=notes,
    )


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
    elif "manifest" in kind:
        return
    faults.add((), f"is {kind}, and not a manifest", "[capture] and [columns]", cause, act)
    faults.raise_any(CaptureError)


def _groups(form: ManifestForm, faults: Faults) -> dict[str, Group]:
    columns = form.columns
    forms: dict[str, OneColumn | ThreeColumns | None] = {
        "time": columns.time,
        "gyro": columns.gyro,
        "accelerometer": columns.accelerometer,
        "magnetometer": columns.magnetometer,
        "unit_attitude": columns.unit_attitude,
        "temperature": columns.temperature,
    }
    groups = {}
    for kind, given in forms.items():
        group = None if given is None else _group(kind, given, ("columns", kind), faults)
        if group is not None:
            groups[kind] = group
    return groups


def _actuators(form: ManifestForm, airframe: Airframe | None, faults: Faults) -> dict[str, Group]:
    groups = {}
    foreign = airframe is not None and _is_foreign(form, airframe)
    if airframe is not None and foreign:
        finding = (
            f"none of its {len(form.columns.actuators)} actuators is declared in {escape(airframe.source.file.name)}"
        )
        act = "name the airframe file that it was recorded with"
        faults.add(("columns", "actuators"), finding, "a capture of this airframe", "a capture of another one", act)
    for name, given in form.columns.actuators.items():
        keys = ("columns", "actuators", name)
        if airframe is not None and airframe.actuators and not foreign:
            check_actuator(keys, name, airframe, faults)
        group = _group("actuators", given, keys, faults)
        if group is not None:
            groups[name] = group
    return groups


def _is_foreign(form: ManifestForm, airframe: Airframe) -> bool:
    """Tell a capture of another airframe from one with a misspelt name."""
    names = form.columns.actuators.keys()
    return len(names) > 1 and bool(airframe.actuators) and not names & {a.name for a in airframe.actuators}


def _commands(form: ManifestForm, faults: Faults) -> dict[str, Group]:
    read = {
        name: _group("actuators", given, ("columns", "commands", name), faults)
        for name, given in form.columns.commands.items()
    }
    return {name: group for name, group in read.items() if group is not None}


def _group(kind: str, given: OneColumn | ThreeColumns, keys: Keys, faults: Faults) -> Group | None:
    """Give a group of columns its unit, or note why it has none."""
    keys = (*keys, "unit")
    counts = given.unit if isinstance(given.unit, Counts) else None
    word = given.unit if isinstance(given.unit, str) else given.unit.lsb_per
    if counts is not None and kind not in COUNTABLE:
        faults.add(keys, f"{faults.named(keys)} is in raw counts", listed(UNITS[kind]), act="convert the column first")
        return None
    if word in SPELLINGS:
        finding = f"{faults.named(keys)} = {quote(word)} is not a word known here"
        faults.add(keys, finding, listed(UNITS[kind]), act=f'write "{SPELLINGS[word]}"')
        return None
    if word not in UNITS[kind]:
        faults.add_word(keys if counts is None else (*keys, "lsb_per"), word, UNITS[kind])
        return None
    unit = unit_of(kind, word, counts.count if counts else None)
    return Group(tuple(given.names), unit, faults.file.place(*keys))


def _check_named_once(groups: Mapping[str, Group], actuators: Mapping[str, Group], faults: Faults) -> None:
    """Find columns that stand for two things; only actuators may share one, as two servos on one lead do."""
    first: dict[str, str] = {}
    for kind, group in groups.items():
        for name in group.names:
            if name in first:
                _note_two_meanings(("columns", kind), name, first[name], faults)
            first.setdefault(name, kind)
    for actuator, group in actuators.items():
        for name in group.names:
            if name in first:
                _note_two_meanings(("columns", "actuators", actuator), name, first[name], faults)


def _note_two_meanings(keys: Keys, name: str, first: str, faults: Faults) -> None:
    other = " twice" if keys[-1] == first else f", and so does columns.{first}"
    faults.add(
        (*keys, "names"),
        f"{named(keys)} names the column {quote(name)}{other}",
        "a column of its own for each axis and value",
        "a copied name",
        "correct the names",
    )


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
