"""Benches with one build mistake each: which airframe, which seed, which axis, motion or actuator is hit in turn."""

from __future__ import annotations

import itertools
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe import Airframe
from benchrig.geometry.directions import DIRECTIONS, axis_words
from benchrig.geometry.turns import AXIS_NAMES
from benchrig.job import judge
from benchrig.simulation.bench import simulate
from benchrig.simulation.fault_list import FAULTS, HAND_TURNS, Number
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

AIRFRAMES = ("dunlin", "teal", "knot")
MOUNTINGS = tuple(f"{x},{y}" for x, y in itertools.permutations(DIRECTIONS, 2) if DIRECTIONS[x][0] != DIRECTIONS[y][0])


@dataclass(frozen=True, slots=True)
class Mistake:
    """One bench to be made: a demo airframe, the fault as on the command line, and the seed."""

    airframe: str
    fault: str
    seed: int

    def __str__(self) -> str:
        """Write it so that it can be made again."""
        return f"benchrig simulate {self.airframe}.toml --seed {self.seed} --fault '{self.fault}'"


def differing_pairs(airframe: Airframe) -> list[str]:
    """Pair actuators of unlike effect: a swap of two that get the same pulse, or its reverse, shows in no pulse."""

    def unlike(first, second) -> bool:
        size = np.linalg.norm(first.effect) * np.linalg.norm(second.effect)
        return bool(abs(first.effect @ second.effect) < 0.9 * size)

    pairs = itertools.combinations(airframe.actuators, 2)
    return [f"{first.name},{second.name}" for first, second in pairs if unlike(first, second)]


def values_of(fault: str, airframe: Airframe) -> Sequence[str]:
    """List the values a fault is tried with on one airframe: an empty one where it takes none, or its usual number."""
    kind = FAULTS[fault].value
    if isinstance(kind, Number) or kind == "none":
        return [""]
    sensor = airframe.magnetometer if fault.startswith("magnetometer") else airframe.sensor
    declared = axis_words(sensor.body_from_sensor)
    return {
        "axes": ["x", "y", "z"],
        "two axes": ["xy", "xz", "yz"],
        "words": [m for m in MOUNTINGS if m != f"{declared['x']},{declared['y']}"],
        "body axis": AXIS_NAMES,
        "motion": HAND_TURNS,
        "actuator": [a.name for a in airframe.actuators],
        "two actuators": differing_pairs(airframe),
        "line": ["80,0.1", "119,0.2", "237,0.1"],
    }[kind]


def airframes_for(fault: str, declared: Sequence[Airframe]) -> list[str]:
    """Name the demo airframes that have what a fault needs: a compass, or a swash plate."""
    needs = {
        "magnetometer": lambda a: a.magnetometer is not None,
        "iron": lambda a: a.magnetometer is not None,
        "plate": lambda a: any(x.drives == "swashplate" for x in a.actuators),
    }
    fits = needs.get(fault.partition("-")[0], lambda _: True)
    return [name for name, airframe in zip(AIRFRAMES, declared, strict=True) if fits(airframe)]


@pytest.fixture(scope="session")
def mistakes_of(demo_airframe):
    """Give a number of benches with one fault, each with its own seed, airframes and values taken in turn."""

    def make(fault: str, count: int) -> list[Mistake]:
        names = airframes_for(fault, [demo_airframe(name) for name in AIRFRAMES])
        benches = []
        for seed in range(count):
            round_, place = divmod(seed, len(names))
            name = names[place]
            values = values_of(fault, demo_airframe(name))
            # a stride that shares no factor with any number of values, so that four rounds give four values of each
            value = values[(7 * round_ + place) % len(values)]
            benches.append(Mistake(name, f"{fault}={value}" if value else fault, seed))
        return benches

    return make


@pytest.fixture(scope="session")
def judged(demo_airframe):
    """Simulate a bench, write the files a logger would leave, read them back, and judge them."""

    def run(name: str, *faults: str, seed: int, **options):
        airframe = demo_airframe(name)
        bench = simulate(airframe, seed=seed, faults=parse_faults(faults, airframe), options=Options(**options))
        with tempfile.TemporaryDirectory() as folder:
            written = write_capture(bench, Path(folder) / "bench")
            return judge(airframe, read_capture(written.manifest, airframe))

    return run
