"""A manifest: which file is the stream, what its columns are, and what was done meanwhile."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

import numpy as np
from pydantic import ValidationError

from benchrig.capture.form import Counts, ManifestForm, OneColumn, ThreeColumns
from benchrig.capture.form_faults import problems_of
from benchrig.capture.prompts import misspelt, read_prompts, read_seen
from benchrig.capture.recording import Prompt, Seen, Turntable
from benchrig.capture.stream import find_stream
from benchrig.capture.units import COUNTABLE, UNITS, Group, unit_of
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import escape, quote
from benchrig.declaration.toml_lines import TomlFile, read_toml
from benchrig.errors import CaptureError, Problem
from benchrig.geometry.directions import DIRECTIONS, position

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
    prompts, seen, turntable, recorded, operator, temperature
        As in `Recording`; temperature in °C.
    notes : tuple of str
        What was left out, in words.
    """

    file: TomlFile
    stream: Path
    groups: Mapping[str, Group]
    actuators: Mapping[str, Group]
    prompts: tuple[Prompt, ...]
    seen: tuple[Seen, ...]
    turntable: Turntable | None
    recorded: datetime | None
    operator: str | None
    temperature: float | None
    notes: tuple[str, ...]

    @property
    def column_names(self) -> tuple[str, ...]:
        """All columns that it names."""
        return tuple(name for group in (*self.groups.values(), *self.actuators.values()) for name in group.names)

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
    file = read_toml(path, error=CaptureError, what="manifest")
    try:
        form = ManifestForm.model_validate(file.data)
    except ValidationError as error:
        raise CaptureError(*problems_of(error, ManifestForm, file.place)) from None
    problems: list[Problem] = []
    groups = _groups(form, file, problems)
    actuators = _actuators(form, file, problems)
    problems.extend(_named_twice({**groups, **{f"actuator {name}": group for name, group in actuators.items()}}))
    if airframe is not None and airframe.actuators:
        problems.extend(_undeclared(actuators, airframe))
    prompts = read_prompts(form, file, problems)
    seen = read_seen(form, file, airframe, prompts, problems)
    turntable = _turntable(form, file, problems)
    if problems:
        raise CaptureError(*problems)
    stream = find_stream(path, form.capture.stream, file.place("capture", "stream"))
    notes: tuple[str, ...] = ()
    if airframe is not None and not airframe.actuators and (actuators or seen):
        notes = ("the airframe declares no actuators: the capture's pulses and looks are left out",)
        actuators, seen = {}, ()
    capture = form.capture
    recorded, operator, temperature = capture.recorded, capture.operator, capture.temperature_c
    return Manifest(file, stream, groups, actuators, prompts, seen, turntable, recorded, operator, temperature, notes)


def _groups(form: ManifestForm, file: TomlFile, problems: list[Problem]) -> dict[str, Group]:
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
        group = None if given is None else _group(kind, given, file.place("columns", kind, "unit"), problems)
        if group is not None:
            groups[kind] = group
    return groups


def _actuators(form: ManifestForm, file: TomlFile, problems: list[Problem]) -> dict[str, Group]:
    groups = {}
    for name, given in form.columns.actuators.items():
        group = _group("actuators", given, file.place("columns", "actuators", name, "unit"), problems)
        if group is not None:
            groups[name] = group
    return groups


def _group(kind: str, given: OneColumn | ThreeColumns, place: str, problems: list[Problem]) -> Group | None:
    """Give a group of columns its unit, or add to the problems why it has none."""
    counts = given.unit if isinstance(given.unit, Counts) else None
    word = given.unit if isinstance(given.unit, str) else given.unit.lsb_per
    words = list(UNITS[kind])
    if counts is not None and kind not in COUNTABLE:
        problems.append(
            Problem(place, f"raw counts for {kind}", f"one of {', '.join(words)}", act="convert the column first")
        )
        return None
    if word not in UNITS[kind]:
        meant = SPELLINGS.get(word, word)
        problems.append(misspelt(place, f"the unit {quote(word)} of {kind}", meant, words))
        return None
    return Group(tuple(given.names), unit_of(kind, word, counts.count if counts else None), place)


def _named_twice(groups: Mapping[str, Group]) -> Iterator[Problem]:
    """Find columns that stand for two things."""
    first: dict[str, str] = {}
    for kind, group in groups.items():
        for name in group.names:
            if name in first:
                other = "twice" if first[name] == kind else f"for {first[name]} too"
                yield Problem(
                    group.place,
                    f'column "{escape(name)}" stands for {escape(kind)} and {escape(other)}',
                    "a column of its own for each axis and value",
                    "a copied name",
                    "correct names",
                )
            first.setdefault(name, kind)


def _undeclared(actuators: Mapping[str, Group], airframe: Airframe) -> Iterator[Problem]:
    names = [actuator.name for actuator in airframe.actuators]
    act = f"name it as {escape(airframe.source.file.name)} does"
    for name, group in actuators.items():
        if name not in names:
            yield misspelt(group.place, f"columns.actuators has {quote(name)}, which is not declared", name, names, act)


def _turntable(form: ManifestForm, file: TomlFile, problems: list[Problem]) -> Turntable | None:
    if form.turntable is None:
        return None
    rpm, pivot_mm = form.turntable.rpm, form.turntable.pivot_mm
    place = file.place("turntable", "pivot_mm")
    unknown = [word for word in pivot_mm or {} if word not in DIRECTIONS]
    problems.extend(misspelt(place, f"pivot_mm has {quote(word)}", word, list(DIRECTIONS)) for word in unknown)
    if unknown:
        return None
    try:
        pivot = None if pivot_mm is None else position(pivot_mm) / 1000
    except ValueError as error:
        problems.append(Problem(place, f"pivot_mm: {error}"))
        return None
    return Turntable(None if rpm is None else rpm * RPM, pivot)
