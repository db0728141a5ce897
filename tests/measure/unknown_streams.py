"""Streams of which nothing is told, from simulated benches: shuffled, renamed, rescaled, among columns that mislead."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.options import Options
from benchrig.simulation.stream import columns

AIRFRAMES = ("dunlin", "teal", "knot")
GYRO_UNITS = ("deg/s", "rad/s", 16.384, 65.536, 131.072, 14.286)
ACCELEROMETER_UNITS = ("g", "m/s2", 2048.0, 4096.0, 16384.0, 1000.0)
TIME_UNITS = {"us": 1.0, "ms": 1e-3, "s": 1e-6}
FLIPS = ("gyro-sign=x", "gyro-sign=y", "gyro-sign=z", "accelerometer-sign=x", "accelerometer-sign=z")
HARD = ("still", "short", "noisy", "one axis", "no rest", "small", "level yaw")


@dataclass(frozen=True, slots=True, eq=False)
class Unknown:
    """A stream and what it really holds: names by role, units, and the sign that is wrong (empty where none is)."""

    names: list[str]
    values: np.ndarray
    truth: dict[str, list[str]]
    gyro_unit: str | float
    accelerometer_unit: str | float
    time_unit: str
    flip: str
    kind: str

    def write(self, path: Path) -> Path:
        """Write it as text."""
        np.savetxt(path, self.values, delimiter=",", header=",".join(self.names), comments="", fmt="%.10g")
        return path


def make_unknown(seed, airframe_of, *, kind="plain") -> Unknown:
    """Make a stream; `airframe_of` gives a demo airframe by name, `kind` is "plain" or one of `HARD`."""
    rng = np.random.default_rng(seed)
    airframe = airframe_of(str(rng.choice(AIRFRAMES)))
    faults, options = _bench(kind, rng)
    flip = str(rng.choice(FLIPS)) if rng.random() < 0.5 else ""
    bench = simulate(
        airframe,
        seed=seed,
        faults=parse_faults((*faults, *([flip] if flip else [])), airframe),
        options=Options(
            rate_hz=float(rng.choice([50, 100, 200])),
            unit_attitude=bool(rng.random() < 0.8),
            temperature=bool(rng.random() < 0.7),
            pulses=bool(rng.random() < 0.7),
            **options,
        ),
    )
    groups = {group.role: group.values for group in columns(bench)}
    gyro_unit, accelerometer_unit = GYRO_UNITS[rng.integers(6)], ACCELEROMETER_UNITS[rng.integers(6)]
    time_unit = str(rng.choice(list(TIME_UNITS)))
    parts = [("time", np.round(groups["time"] * TIME_UNITS[time_unit], 6 if time_unit == "s" else 2))]
    parts.append(("gyro", _gyro(groups["gyro"], gyro_unit)))
    parts.append(("accelerometer", _accelerometer(groups["accelerometer"], accelerometer_unit)))
    parts += [(role, values) for role, values in groups.items() if role not in ("time", "gyro", "accelerometer")]
    parts += _misleading(parts, rng)
    flat = [(role, axis, column) for role, values in parts for axis, column in enumerate(values.T)]
    flat = [flat[i] for i in rng.permutation(len(flat))]
    names = [f"c{i}" for i in range(len(flat))]
    truth: dict[str, list[str]] = {role: [""] * values.shape[1] for role, values in parts}
    for name, (role, axis, _) in zip(names, flat, strict=True):
        truth[role][axis] = name
    values = np.column_stack([column for _, _, column in flat])
    return Unknown(names, values, truth, gyro_unit, accelerometer_unit, time_unit, flip, kind)


def _bench(kind, rng):
    pair = [["nose up", "nose down"], ["roll right", "roll left"], ["yaw right", "yaw left"]][rng.integers(3)]
    turns = ["nose up", "nose down", "roll right", "yaw left"]
    made = {
        "plain": ((), {}),
        "still": ((), {"motions": ("level", "level"), "rest_s": float(rng.uniform(2, 8))}),
        "short": ((), {"motions": tuple(rng.choice(turns, rng.integers(1, 3)))}),
        "noisy": ((f"noise={rng.choice([10, 30, 100, 300])}",), {}),
        "one axis": ((), {"motions": ("level", *pair, *pair)}),
        "no rest": (("no-rest",), {}),
        "small": ((f"short-tilts={rng.choice([3, 6, 10, 15])}",), {}),
        "level yaw": (
            (),
            {
                "motions": ("level", "yaw right", "yaw left", "nose up", "nose down", "roll right", "roll left"),
                "slop_deg": float(rng.choice([0, 1, 3])),
            },
        ),
    }
    return made[kind]


def _gyro(degrees, unit):
    if unit == "deg/s":
        return degrees
    return np.round(np.radians(degrees), 6) if unit == "rad/s" else np.round(degrees * unit)


def _accelerometer(gravities, unit):
    if unit == "g":
        return gravities
    return np.round(gravities * 9.80665, 5) if unit == "m/s2" else np.round(gravities * unit)


def smoothed(values, count):
    """Give running means of the last `count` rows: a copy that comes later."""
    padded = np.pad(values, ((count - 1, 0), (0, 0)), mode="edge")
    return np.column_stack([np.convolve(column, np.ones(count) / count, "valid") for column in padded.T])


def _misleading(parts, rng):
    by_role = dict(parts)
    rows = len(by_role["time"])
    found = []
    if rng.random() < 0.6:
        found.append(("gyro copy", np.round(smoothed(by_role["gyro"], int(rng.integers(3, 12))), 4)))
    if rng.random() < 0.3:
        found.append(("accelerometer copy", np.round(smoothed(by_role["accelerometer"], int(rng.integers(3, 10))), 5)))
    if rng.random() < 0.5:
        found.append(("counter", (np.arange(rows, dtype=np.float64) % 65536)[:, None]))
    if rng.random() < 0.5:
        found.append(("constant", np.full((rows, 1), float(rng.integers(0, 99)))))
    if rng.random() < 0.3:
        found.append(("noise", rng.normal(0.0, 1.0, (rows, 1)).round(3)))
    return found


def wrong_in(description, stream) -> list[str]:
    """Say what a proposal has wrong of what is needed; what it calls not sure counts all the same."""
    wrong = []
    time = description.group("time")
    if time is None or list(time.names) != stream.truth["time"] or time.unit != stream.time_unit:
        wrong.append("time")
    for group, unit in (("gyro", stream.gyro_unit), ("accelerometer", stream.accelerometer_unit)):
        found = description.group(group)
        if found is None or set(found.names) != set(stream.truth[group]):
            wrong.append(group)
        elif not _same_unit(found, unit):
            wrong.append(f"the unit of {group}")
    if not wrong and description.agree is not None and description.agree is bool(stream.flip):
        wrong.append("whether gyro and accelerometer agree")
    if not wrong and description.agree:
        order = [stream.truth["gyro"].index(name) for name in description.group("gyro").names]
        if order != [stream.truth["accelerometer"].index(n) for n in description.group("accelerometer").names]:
            wrong.append("the order of the axes")
    return wrong


def _same_unit(found, unit) -> bool:
    if isinstance(unit, str):
        return found.unit == unit and found.count is None
    return found.count is not None and abs(found.count / unit - 1) < 0.03
