"""What the columns of a stream are: groups, their units, and the names they go by; for manifests and device files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Protocol

from benchrig.capture.form import Counts, OneColumn, ThreeColumns
from benchrig.capture.form_faults import named
from benchrig.capture.prompts import check_actuator
from benchrig.capture.units import COUNTABLE, UNITS, Group, unit_of
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.quotation import escape, listed, quote
from benchrig.declaration.table_faults import Faults, Keys

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
class Meaning:
    """What the columns of a stream are.

    Attributes
    ----------
    groups : mapping of str to Group
        ``time``, ``gyro``, ``accelerometer`` and whatever else there is of `UNITS` but the actuators.
    actuators : mapping of actuator name to Group
    commands : mapping of str to Group
        Of what was commanded, by the operator's own names.
    document : mapping
        The table ``[columns]`` as it stands in its file, to be written again.
    """

    groups: Mapping[str, Group]
    actuators: Mapping[str, Group]
    commands: Mapping[str, Group]
    document: Mapping[str, Any]

    @property
    def names(self) -> tuple[str, ...]:
        """All columns that it names, each once."""
        groups = (*self.groups.values(), *self.actuators.values(), *self.commands.values())
        return tuple(dict.fromkeys(name for group in groups for name in group.names))

    @property
    def required(self) -> tuple[str, ...]:
        """The columns that have a value in every row."""
        needed = (self.groups.get(kind) for kind in ("time", "gyro", "accelerometer"))
        return tuple(name for group in needed if group is not None for name in group.names)


class ColumnsForm(Protocol):
    """``[columns]`` by its form, whichever of its groups a file needs."""

    @property
    def time(self) -> OneColumn | None: ...  # noqa: D102 - a group of UNITS, as all below
    @property
    def gyro(self) -> ThreeColumns | None: ...  # noqa: D102 - as above
    @property
    def accelerometer(self) -> ThreeColumns | None: ...  # noqa: D102 - as above
    @property
    def magnetometer(self) -> ThreeColumns | None: ...  # noqa: D102 - as above
    @property
    def unit_attitude(self) -> ThreeColumns | None: ...  # noqa: D102 - as above
    @property
    def temperature(self) -> OneColumn | None: ...  # noqa: D102 - as above
    @property
    def actuators(self) -> dict[str, OneColumn]: ...  # noqa: D102 - as above
    @property
    def commands(self) -> dict[str, OneColumn]: ...  # noqa: D102 - as above


def read_columns(
    columns: ColumnsForm, document: Mapping[str, Any], faults: Faults, airframe: Airframe | None = None
) -> Meaning:
    """Turn the words of ``[columns]`` into types.

    Parameters
    ----------
    columns : ColumnsForm
    document : mapping
        The same table as `tomllib` gave it.
    faults : Faults
        What is wrong is noted there.
    airframe : Airframe, optional
        To hold the actuators' names against.
    """
    groups = _groups(columns, faults)
    actuators = _actuators(columns, airframe, faults)
    commands = _commands(columns, faults)
    _check_named_once(groups, actuators, faults)
    return Meaning(groups, actuators, commands, document)


def _groups(columns: ColumnsForm, faults: Faults) -> dict[str, Group]:
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
        group = None if given is None else read_group(kind, given, ("columns", kind), faults)
        if group is not None:
            groups[kind] = group
    return groups


def _actuators(columns: ColumnsForm, airframe: Airframe | None, faults: Faults) -> dict[str, Group]:
    groups = {}
    foreign = airframe is not None and _is_foreign(columns, airframe)
    if airframe is not None and foreign:
        finding = f"none of its {len(columns.actuators)} actuators is declared in {escape(airframe.source.file.name)}"
        act = "name the airframe file that it was recorded with"
        faults.add(("columns", "actuators"), finding, "a capture of this airframe", "a capture of another one", act)
    for name, given in columns.actuators.items():
        keys = ("columns", "actuators", name)
        if airframe is not None and airframe.actuators and not foreign:
            check_actuator(keys, name, airframe, faults)
        group = read_group("actuators", given, keys, faults)
        if group is not None:
            groups[name] = group
    return groups


def _is_foreign(columns: ColumnsForm, airframe: Airframe) -> bool:
    """Tell a capture of another airframe from one with a misspelt name."""
    names = columns.actuators.keys()
    return len(names) > 1 and bool(airframe.actuators) and not names & {a.name for a in airframe.actuators}


def _commands(columns: ColumnsForm, faults: Faults) -> dict[str, Group]:
    read = {
        name: read_group("actuators", given, ("columns", "commands", name), faults)
        for name, given in columns.commands.items()
    }
    return {name: group for name, group in read.items() if group is not None}


def read_group(kind: str, given: OneColumn | ThreeColumns, keys: Keys, faults: Faults) -> Group | None:
    """Give a group of columns its unit, or note why it has none.

    Parameters
    ----------
    kind : str
        Of `UNITS`.
    given : OneColumn or ThreeColumns
    keys : tuple of str or int
        Where it stands.
    faults : Faults
    """
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
