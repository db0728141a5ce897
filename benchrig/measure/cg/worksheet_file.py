"""Reading a worksheet: what was hung, weighed and measured with a ruler, with every fault named by line and key."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Any, Final

from benchrig.declaration.airframe import Airframe
from benchrig.declaration.airframe_checks import check_name
from benchrig.declaration.file_kind import kind_of_file
from benchrig.declaration.quotation import escape, kind_of, nearest, quote
from benchrig.declaration.table_faults import AnyTable, Faults, Keys, read_table
from benchrig.declaration.toml_lines import TomlFile, read_toml
from benchrig.errors import WorksheetError
from benchrig.measure.cg.worksheet import Accuracy, Hang, NamedPoint, Place, Worksheet
from benchrig.measure.cg.worksheet_form import (
    LISTS,
    TABLES,
    USUAL,
    AccuracyTable,
    PlaceTable,
    PointTable,
    ReferenceTable,
    WorksheetTable,
)
from benchrig.measure.cg.worksheet_hangs import read_hang
from benchrig.measure.cg.worksheet_parts import DEGREES, read_spot
from benchrig.measure.cg.worksheet_weighings import check_masses, read_weighing
from benchrig.measure.measurement import Evidence

MOST_ENTRIES: Final = 64
"""Of each list: more than anybody hangs or weighs."""

_TOP: Final = (*TABLES, *LISTS)
_WITHIN: Final = 2.0
"""Standard deviations that 19 readings in 20 lie within (1.96 for a normal distribution)."""


def read_worksheet(path: Path, airframe: Airframe) -> Worksheet:
    """Read a worksheet, and the captures that it names.

    Parameters
    ----------
    path : Path
    airframe : Airframe
        Whose places the worksheet may measure.

    Returns
    -------
    Worksheet
        In SI units and body axes.

    Raises
    ------
    WorksheetError
        With every fault that was found, in the order of the file.
    CaptureError
        If a capture it names cannot be used.
    """
    path = Path(path)
    file = read_toml(path, error=WorksheetError, what="worksheet")
    faults = Faults(file, lambda keys: _named(keys, file))
    _check_tables(file, faults)
    worksheet = _read(file, airframe, faults)
    if not (worksheet.hangs or worksheet.weighings or faults.found):
        faults.add(
            (), "nothing was hung or weighed", "a [[hang]] or a [[weighing]]", act="write down what was measured"
        )
    faults.raise_any(WorksheetError)
    return worksheet


def _read(file: TomlFile, airframe: Airframe, faults: Faults) -> Worksheet:
    """Read all tables; what is wrong is noted, and left out."""
    reference = _table("reference", ReferenceTable, faults)
    if reference is not None:
        check_name(reference.point, ("reference", "point"), faults)
    points = _points(faults)
    names = [point.name for point in points]
    tables = {key: _tables(key, faults) for key in ("hang", "weighing", "place")}
    hangs = [read_hang(data, ("hang", i), names, airframe, faults) for i, data in enumerate(tables["hang"])]
    weighings = [read_weighing(data, ("weighing", i), names, faults) for i, data in enumerate(tables["weighing"])]
    places = [_place(data, ("place", i), names, airframe, faults) for i, data in enumerate(tables["place"])]
    _check_twice(file, faults)
    head = _table("worksheet", WorksheetTable, faults)
    mass = None if head is None or head.mass_g is None else head.mass_g / 1000
    known_hangs = tuple(hang for hang in hangs if hang is not None)
    known_weighings = tuple(w for w in weighings if w is not None)
    if len(known_weighings) == len(weighings):
        check_masses(mass, known_weighings, faults)
    return Worksheet(
        reference="" if reference is None else reference.point,
        accuracy=_accuracy(faults),
        points=tuple(points),
        hangs=known_hangs,
        weighings=known_weighings,
        places=tuple(p for p in places if p is not None),
        mass=mass,
        operator=None if head is None else head.operator,
        evidence=(Evidence(file.path, file.sha256), *_captures(known_hangs)),
    )


def _captures(hangs: Sequence[Hang]) -> list[Evidence]:
    """Name every capture once."""
    found: dict[Path, Evidence] = {}
    for hang in hangs:
        recording = getattr(hang.reading, "recording", None)
        if recording is not None:
            found.setdefault(recording.manifest, Evidence(recording.manifest, recording.sha256))
    return list(found.values())


def _check_tables(file: TomlFile, faults: Faults) -> None:
    stranger = kind_of_file(file.data)
    if stranger is not None and "worksheet" not in stranger and "reference" not in file.data:
        cause, act = "two files are exchanged", "give the airframe file first, then the worksheet"
        faults.add((), f"is {stranger}, and not a worksheet", "[reference] and [[hang]] or [[weighing]]", cause, act)
        faults.raise_any(WorksheetError)
    unknown = [key for key in file.data if key not in _TOP]
    for key in unknown:
        faults.add_key((key,), _TOP)
    if "reference" not in file.data and "reference" not in {nearest(key, _TOP) for key in unknown}:
        act = 'add [reference] with point = "tip of the nose", or whatever the distances start from'
        faults.add((), "there is no [reference]", "the point that all distances start from", act=act)


def _named(keys: Keys, file: TomlFile) -> str:
    """Say a key path as a person would: ``hang "tail eye" point_mm.aft``."""
    if len(keys) > 1 and keys[0] in LISTS and isinstance(keys[1], int):
        entry = file.data[str(keys[0])][keys[1]]
        name = entry.get("name") if isinstance(entry, dict) else None
        head = f"{keys[0]} {quote(name) if isinstance(name, str) and name.strip() else keys[1] + 1}"
        return f"{head} {_dotted(keys[2:])}".rstrip()
    is_table = len(keys) == 1 and isinstance(file.data.get(str(keys[0])), dict)
    return f"[{_dotted(keys)}]" if is_table else _dotted(keys)


def _dotted(keys: Keys) -> str:
    words = [f".{escape(key)}" if isinstance(key, str) else f" {key + 1}" for key in keys]
    return "".join(words).removeprefix(".").replace(" .", " ")


def _table(key: str, model: type[AnyTable], faults: Faults) -> AnyTable | None:
    data = faults.file.data.get(key)
    if data is None:
        return None
    if not isinstance(data, dict):
        faults.add((key,), f"{key} is {kind_of(data)}", f"a table [{key}]", act=f"write [{key}]")
        return None
    return read_table(data, model, (key,), faults)


def _tables(key: str, faults: Faults) -> list[dict[str, Any]]:
    tables = faults.file.data.get(key, [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        cause = "one bracket instead of two" if isinstance(tables, dict) else ""
        faults.add((key,), f"{key} is {kind_of(tables)}", f"tables [[{key}]]", cause, f"write [[{key}]]")
        return []
    if len(tables) > MOST_ENTRIES:
        faults.add((key, MOST_ENTRIES), f"{len(tables)} tables [[{key}]]", f"at most {MOST_ENTRIES}")
        return []
    return tables


def _accuracy(faults: Faults) -> Accuracy:
    table = _table("accuracy", AccuracyTable, faults)
    stated = {} if table is None else table.model_dump(exclude_none=True)
    value = {key: stated.get(key, usual) / _WITHIN for key, usual in USUAL.items()}
    words = {
        "distance_mm": "distances within {:g} mm",
        "angle_deg": "angles within {:g}°",
        "scale_g": "scales within {:g} g",
    }
    assumed = tuple(text.format(USUAL[key]) for key, text in words.items() if key not in stated)
    return Accuracy(value["distance_mm"] / 1e3, value["angle_deg"] * DEGREES, value["scale_g"] / 1e3, assumed)


def _points(faults: Faults) -> list[NamedPoint]:
    points: list[NamedPoint] = []
    for index, data in enumerate(_tables("point", faults)):
        keys: Keys = ("point", index)
        table = read_table(data, PointTable, keys, faults)
        if table is None:
            continue
        check_name(table.name, (*keys, "name"), faults)
        # only points above it: so no point can rest on itself
        spot = read_spot(table.at_mm, table.measured_from, (*keys, "at_mm"), [p.name for p in points], faults)
        if spot is not None:
            points.append(NamedPoint(table.name, spot))
    return points


def _place(
    data: dict[str, Any], keys: Keys, names: Collection[str], airframe: Airframe, faults: Faults
) -> Place | None:
    table = read_table(data, PlaceTable, keys, faults)
    if table is None:
        return None
    if table.name not in placeable(airframe):
        _note_place(table.name, (*keys, "name"), airframe, faults)
        return None
    spot = read_spot(table.at_mm, table.measured_from, (*keys, "at_mm"), names, faults)
    return None if spot is None else Place(table.name, spot)


def placeable(airframe: Airframe) -> tuple[str, ...]:
    """Name what has a place in this airframe's file."""
    compass = () if airframe.magnetometer is None else ("magnetometer",)
    return ("sensor", *compass, *(a.name for a in airframe.actuators if a.position is not None))


def _note_place(name: str, keys: Keys, airframe: Airframe, faults: Faults) -> None:
    known = placeable(airframe)
    if name == "magnetometer" or name in {a.name for a in airframe.actuators}:
        finding = f"{faults.named(keys)}: {quote(name)} has no position_mm in the airframe file"
        act = "declare it there first" if name == "magnetometer" else "make it a [[point]], to see where it lies"
        faults.add(keys, finding, " or ".join(quote(word) for word in known), act=act)
    else:
        faults.add_word(keys, name, known)


def _check_twice(file: TomlFile, faults: Faults) -> None:
    """Note two entries of one list that bear one name: the report could not tell them apart."""
    for key in LISTS:
        tables = file.data.get(key, [])
        seen: dict[str, int] = {}
        for index, data in enumerate(tables if isinstance(tables, list) else []):
            name = data.get("name") if isinstance(data, dict) else None
            if not isinstance(name, str):
                continue
            if name.casefold() in seen:
                first = file.place(key, seen[name.casefold()], "name")
                act = "give it another" if key != "place" else "keep the one that holds"
                faults.add(
                    (key, index, "name"), f"a second {key} is called {quote(name)} (the first: {first})", act=act
                )
            seen.setdefault(name.casefold(), index)
