"""The simulated bench as the columns of a logger's file, and what the manifest says of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from benchrig.geometry.directions import Vector
from benchrig.geometry.turns import AXIS_NAMES
from benchrig.simulation.bench import Simulated
from benchrig.simulation.trajectory import STANDARD_GRAVITY

_GAP_S: Final = 0.2
_TESLA: Final = 1e6


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Columns that belong together: names, the unit the manifest gives, decimals written, and values (N, names)."""

    role: str
    names: tuple[str, ...]
    unit: str
    decimals: int
    values: Vector


def columns(simulated: Simulated) -> tuple[Group, ...]:
    """Lay the bench out as columns, with the faults of the logging in them.

    Returns
    -------
    tuple of Group
        ``time`` first; ``actuator:NAME`` for the pulses, ``command:NAME`` for what was commanded, or NaN.
    """
    groups = [_time(simulated), _gyro(simulated), _accelerometer(simulated)]
    if simulated.compass is not None:
        values = simulated.compass * _TESLA
        groups.append(Group("magnetometer", ("mx", "my", "mz"), "uT", 2, values))
    if simulated.options.unit_attitude:
        groups.append(_unit_attitude(simulated))
    if simulated.options.temperature:
        groups.append(Group("temperature", ("temp",), "C", 1, simulated.temperature[:, None]))
    if simulated.options.pulses:
        names = column_names(tuple(simulated.pulses))
        groups += [
            Group(f"actuator:{name}", (names[name],), "us", 0, pulse[:, None])
            for name, pulse in simulated.pulses.items()
        ]
    if simulated.options.commands:
        names = column_names(tuple(simulated.commands), "cmd")
        groups += [
            Group(f"command:{name}", (names[name],), "us", 0, command[:, None])
            for name, command in simulated.commands.items()
        ]
    return _as_logged(simulated, groups)


def column_names(actuators: tuple[str, ...], prefix: str = "us") -> dict[str, str]:
    """Name a column for each actuator: letters, digits and underscores alone, so that any reader takes it.

    Examples
    --------
    >>> column_names(("front left", "front-left"))
    {'front left': 'us_front_left', 'front-left': 'us_front_left_2'}
    """
    names: dict[str, str] = {}
    for actuator in actuators:
        plain = f"{prefix}_" + "".join(letter if letter.isalnum() else "_" for letter in actuator)
        alike = sum(name == plain or name.startswith(f"{plain}_") for name in names.values())
        names[actuator] = f"{plain}_{alike + 1}" if alike else plain
    return names


def _time(simulated: Simulated) -> Group:
    stamped = np.round(simulated.time * simulated.faults.number("clock", 1.0) * 1e6)
    return Group("time", ("t_us",), "us", 0, stamped[:, None])


def _gyro(simulated: Simulated) -> Group:
    names = ("gx", "gy", "gz")
    if simulated.faults.has("gyro-radians"):
        return Group("gyro", names, "deg/s", 6, simulated.gyro)
    unit = "rad/s" if simulated.faults.has("gyro-degrees") else "deg/s"
    return Group("gyro", names, unit, 3, np.degrees(simulated.gyro))


def _accelerometer(simulated: Simulated) -> Group:
    names = ("ax", "ay", "az")
    if simulated.faults.has("accelerometer-m-s2"):
        return Group("accelerometer", names, "g", 4, simulated.accelerometer)
    return Group("accelerometer", names, "g", 5, simulated.accelerometer / STANDARD_GRAVITY)


def _unit_attitude(simulated: Simulated) -> Group:
    signs = [-1.0 if name in simulated.faults.values("unit-attitude-sign") else 1.0 for name in AXIS_NAMES]
    return Group("unit_attitude", AXIS_NAMES, "deg", 2, np.degrees(simulated.believed.attitude) * signs)


def _as_logged(simulated: Simulated, groups: list[Group]) -> tuple[Group, ...]:
    """Round as written, freeze, cut gaps out, and stamp a row backwards, as the faults say."""
    time, faults = simulated.time, simulated.faults
    kept = np.ones(len(time), dtype=bool)
    for centre in simulated.gap_centres:
        kept &= np.abs(time - centre) > 0.5 * _GAP_S
    source = np.arange(len(time))
    if faults.has("frozen-stream"):
        first = min(int(np.searchsorted(time, faults.number("frozen-stream", 0.0))), len(time) - 1)
        source = np.minimum(source, first)
    logged = []
    for group in groups:
        rows = np.arange(len(time)) if group.role == "time" else source
        # + 0.0 so that no column says -0
        logged.append(replace(group, values=np.round(group.values[rows][kept], group.decimals) + 0.0))
    if faults.has("time-backwards"):
        row = len(logged[0].values) // 2
        logged[0].values[row] = logged[0].values[row - 2]
    return tuple(logged)
