"""The airframe file: what the builder declares, read and checked, with every fault named by line and key."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np

from benchrig.declaration.actuator_file import read_actuator
from benchrig.declaration.actuators import DRIVES_OF_KIND, Actuator
from benchrig.declaration.airframe import Airframe, Calibration, LinkLoss, Magnetometer, Rotor, Sensor, Source
from benchrig.declaration.airframe_checks import Placed, check_control, check_name, check_unique
from benchrig.declaration.airframe_tables import (
    TABLES,
    AirframeTable,
    CalibrationTable,
    ClearancesTable,
    LimitsTable,
    LinkLossTable,
    MagnetometerTable,
    RotorTable,
    SensorTable,
)
from benchrig.declaration.file_kind import TRUTH, kind_of_file
from benchrig.declaration.mounting import read_mounting, read_position
from benchrig.declaration.quotation import escape, kind_of, nearest, quote
from benchrig.declaration.receiver_file import read_calibration, read_link_loss
from benchrig.declaration.table_faults import Faults, Keys, read_table
from benchrig.declaration.toml_lines import TomlFile, read_toml
from benchrig.errors import AirframeFileError
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.geometry.turns import REQUIRED_TURNS, TURNS

MOST_ACTUATORS: Final = 64
REQUIRABLE: Final = ("level", *TURNS)
"""Motions that can be required; `free` claims no direction, so nothing can be judged by it."""

_TOP: Final = (*TABLES, "actuator")


def read_airframe(path: Path) -> Airframe:
    """Read an airframe file.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Airframe
        In SI units and body axes; its arrays are read-only.

    Raises
    ------
    AirframeFileError
        With every fault that was found, in the order of the file.
    """
    path = Path(path)
    file = read_toml(path, error=AirframeFileError, what="airframe file")
    faults = Faults(file, lambda keys: _named(keys, file))
    kind = kind_of_file(file.data)
    if kind == TRUTH or (kind is not None and "airframe" not in file.data):
        finding = f"is {kind}" if kind == TRUTH else "there is no [airframe]"
        cause = f"{kind} was named in place of the airframe file"
        faults.add((), finding, "an airframe file", cause, "name the airframe file first")
        faults.raise_any(AirframeFileError)
    airframe = _read(file, faults)
    faults.raise_any(AirframeFileError)
    if airframe is None:  # pragma: no cover - a table that is not read has always noted why
        message = "a table was not read, and no fault was noted"
        raise RuntimeError(message)
    return airframe


def _read(file: TomlFile, faults: Faults) -> Airframe | None:
    _check_tables(file, faults)
    head: AirframeTable | None = _table("airframe", AirframeTable, faults)
    kind = _head_text(file, "kind")
    name = _head_text(file, "name")
    if name is not None:
        check_name(name, ("airframe", "name"), faults)
    sensor = _sensor(faults)
    magnetometer = _magnetometer(faults)
    clearances = _clearances(faults)
    rotor = _rotor(kind, faults)
    actuators = _actuators(kind if kind in DRIVES_OF_KIND else None, rotor, faults)
    required = _required_motions(faults)
    calibration, link_loss = _calibration(faults), _link_loss(actuators, faults)
    if head is None or sensor is None:
        return None
    source = Source(file.path, file.sha256)
    return Airframe(
        name=head.name,
        kind=head.kind,
        sensor=sensor,
        magnetometer=magnetometer,
        clearances=clearances,
        rotor=rotor,
        actuators=actuators,
        required_motions=required,
        source=source,
        calibration=calibration,
        link_loss=link_loss,
    )


def _check_tables(file: TomlFile, faults: Faults) -> None:
    unknown = [key for key in file.data if key not in _TOP]
    for key in unknown:
        faults.add_key((key,), _TOP)
    meant = {nearest(key, _TOP) for key in unknown}
    for key in ("airframe", "sensor"):
        if key not in file.data and key not in meant:
            faults.add((), f"there is no [{key}]", act=f"add the table [{key}]")


def _head_text(file: TomlFile, key: str) -> str | None:
    """Give a text of ``[airframe]`` even where the rest of it is wrong."""
    table = file.data.get("airframe")
    text = table.get(key) if isinstance(table, dict) else None
    return text if isinstance(text, str) else None


def _named(keys: Keys, file: TomlFile) -> str:
    """Say a key path as a person would: ``sensor.axes.x``, ``actuator "front" azimuth_deg``."""
    if keys[:1] == ("actuator",) and len(keys) > 1:
        name = file.data["actuator"][keys[1]].get("name")
        head = f"actuator {quote(name) if isinstance(name, str) and name.strip() else int(keys[1]) + 1}"
        return f"{head} {_dotted(keys[2:])}".rstrip()
    is_table = len(keys) == 1 and isinstance(file.data.get(str(keys[0])), dict)
    return f"[{_dotted(keys)}]" if is_table else _dotted(keys)


def _dotted(keys: Keys) -> str:
    """Join keys with dots, and count the entries of a list from 1: ``limits.required_motions[2]``."""
    words = [f".{escape(key)}" if isinstance(key, str) else f"[{key + 1}]" for key in keys]
    return "".join(words).removeprefix(".")


def _table(key: str, model: type[Any], faults: Faults) -> Any:  # noqa: ANN401 - the model's instance, or None
    data = faults.file.data.get(key)
    if data is None:
        return None
    if not isinstance(data, dict):
        cause = f"[[{key}]] in place of [{key}]" if isinstance(data, list) else f"{key} = … in place of [{key}]"
        faults.add((key,), f"{key} is {kind_of(data)}", f"a table [{key}]", cause, f"write [{key}]")
        return None
    return read_table(data, model, (key,), faults)


def _sensor(faults: Faults) -> Sensor | None:
    table: SensorTable | None = _table("sensor", SensorTable, faults)
    if table is None:
        return None
    mounting = read_mounting(table, ("sensor",), faults)
    lever_arm = read_position(table.position_mm, ("sensor", "position_mm"), faults)
    if mounting is None or lever_arm is None:
        return None
    return Sensor(
        body_from_sensor=mounting,
        lever_arm=lever_arm,
        position_tolerance=_scaled(table.position_tolerance_mm, 1e-3),
        reads=table.accelerometer_reads,
        gyro_range=_scaled(table.gyro_range_deg_s, float(np.radians(1.0))),
        accelerometer_range=_scaled(table.accelerometer_range_g, STANDARD_GRAVITY),
    )


def _scaled(value: float | None, unit: float) -> float | None:
    return None if value is None else value * unit


def _magnetometer(faults: Faults) -> Magnetometer | None:
    table: MagnetometerTable | None = _table("magnetometer", MagnetometerTable, faults)
    if table is None:
        return None
    mounting = read_mounting(table, ("magnetometer",), faults)
    where = read_position(table.position_mm, ("magnetometer", "position_mm"), faults)
    if mounting is None or where is None:
        return None
    return Magnetometer(mounting, where, table.hemisphere, table.nearby_current_a)


def _calibration(faults: Faults) -> Calibration | None:
    table: CalibrationTable | None = _table("calibration", CalibrationTable, faults)
    return None if table is None else read_calibration(table, faults)


def _link_loss(actuators: Sequence[Actuator], faults: Faults) -> LinkLoss | None:
    table: LinkLossTable | None = _table("link_loss", LinkLossTable, faults)
    return None if table is None else read_link_loss(table, [a.name for a in actuators], faults)


def _clearances(faults: Faults) -> dict[str, float]:
    table: ClearancesTable | None = _table("clearances_mm", ClearancesTable, faults)
    return {} if table is None else {key: value / 1000 for key, value in table.model_dump(exclude_none=True).items()}


def _rotor(kind: str | None, faults: Faults) -> Rotor | None:
    table: RotorTable | None = _table("rotor", RotorTable, faults)
    if table is None:
        return None
    if kind in ("aeroplane", "multirotor"):
        expectation = "[rotor] for a helicopter only: it is the main rotor"
        act = 'take it out; the rotors of a multirotor are each an [[actuator]] with drives = "rotor"'
        faults.add(("rotor",), f"[rotor] is declared, and kind is {kind}", expectation, "kind is wrong", act)
    teeth = table.pinion_teeth, table.main_gear_teeth
    if (teeth[0] is None) != (teeth[1] is None):
        key = "pinion_teeth" if teeth[0] is None else "main_gear_teeth"
        faults.add(("rotor",), f"[rotor] has no {key}", "the teeth of both gears, or of neither", act=f"add {key} = …")
    return Rotor(
        turns=table.turns,
        plate_lead=float(np.radians(table.plate_lead_deg)),
        motor_rate=_scaled(table.motor_rpm, float(2 * np.pi / 60)),
        gear_ratio=None if teeth[0] is None or teeth[1] is None else teeth[1] / teeth[0],
        blades=table.blades,
    )


def _actuators(kind: str | None, rotor: Rotor | None, faults: Faults) -> tuple[Actuator, ...]:
    tables = faults.file.data.get("actuator", [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        finding = f"actuator is {kind_of(tables)}" if not isinstance(tables, list) else "actuator lists other things"
        cause = "one bracket instead of two" if isinstance(tables, dict) else ""
        faults.add(("actuator",), finding, "tables [[actuator]], one for each", cause, "write [[actuator]]")
        return ()
    if len(tables) > MOST_ACTUATORS:
        faults.add(("actuator", MOST_ACTUATORS), f"{len(tables)} actuators", f"at most {MOST_ACTUATORS}")
        return ()
    placed: list[Placed] = []
    names = []
    for index, data in enumerate(tables):
        keys = ("actuator", index)
        if isinstance(data.get("name"), str):
            names.append(((*keys, "name"), data["name"]))
            check_name(data["name"], (*keys, "name"), faults)
        actuator = read_actuator(data, keys, kind, rotor, faults)
        if actuator is not None:
            placed.append((keys, actuator))
    check_unique(names, faults)
    if kind is not None and len(placed) == len(tables):
        check_control(placed, kind, faults)
    return tuple(actuator for _, actuator in placed)


def _required_motions(faults: Faults) -> tuple[str, ...]:
    table: LimitsTable | None = _table("limits", LimitsTable, faults)
    if table is None or table.required_motions is None:
        return REQUIRED_TURNS
    keys: Keys = ("limits", "required_motions")
    if not table.required_motions:
        cause = "meant as 'no limits'; without evidence nothing can pass"
        faults.add(
            keys, "limits.required_motions is empty", "at least one motion", cause, "leave the key out for all six"
        )
    for index, motion in enumerate(table.required_motions):
        if motion not in REQUIRABLE:
            faults.add_word((*keys, index), motion, REQUIRABLE)
        elif motion in table.required_motions[:index]:
            faults.add((*keys, index), f'limits.required_motions names "{motion}" twice', act="take one out")
    return tuple(table.required_motions)
