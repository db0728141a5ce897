"""What several floors' tests share: recordings in all forms, demo airframes, and real data outside the project."""

from __future__ import annotations

import csv
import functools
import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe_file import read_airframe
from benchrig.geometry.rotations import matrix_from_vector
from benchrig.signals.body import BodyRecording, EvenRecording
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options


@pytest.fixture(scope="session")
def outside_data() -> Callable[[str], Path]:
    """Find a file among the real recordings that lie outside the project, or skip and say where it was looked for."""
    default = Path(__file__).resolve().parents[1].parent / "shared" / "data"
    folder = Path(os.environ.get("BENCHRIG_DATA", default))

    def find(name: str) -> Path:
        path = folder / name
        if not path.exists():
            pytest.skip(f"the real recording {name} is not in {folder} (set BENCHRIG_DATA to the folder that holds it)")
        return path

    return find


@pytest.fixture(scope="session")
def body_recording() -> Callable[..., BodyRecording]:
    """Make a recording in body axes from rates (rad/s) and specific force (m/s²), with no lever arm."""

    def make(rate, force, step=0.01, segment=None) -> BodyRecording:
        rate, force = np.asarray(rate, dtype=np.float64), np.asarray(force, dtype=np.float64)
        number = np.zeros(len(rate), dtype=np.int64) if segment is None else np.asarray(segment, dtype=np.int64)
        return BodyRecording(np.arange(len(rate)) * step, step, number, rate, force, force)

    return make


@pytest.fixture(scope="session")
def captures() -> Path:
    """Give the folder of the demo airframes and captures."""
    return Path(__file__).resolve().parents[1] / "captures"


@pytest.fixture(scope="session")
def demo_airframe(captures):
    """Read a demo airframe by name."""
    return functools.cache(lambda name: read_airframe(captures / f"{name}.toml"))


@pytest.fixture(scope="session")
def simulated_recording(demo_airframe, tmp_path_factory):
    """Simulate a bench of a demo airframe with faults, through the files a logger would leave."""

    @functools.cache
    def make(airframe, *faults, seed=1, **options):
        declared = demo_airframe(airframe)
        bench = simulate(declared, seed=seed, faults=parse_faults(faults, declared), options=Options(**options))
        written = write_capture(bench, tmp_path_factory.mktemp("bench") / "bench")
        return read_capture(written.manifest, declared)

    return make


@pytest.fixture(scope="session")
def exact_stream():
    """Make a noiseless stream from legs: (turn in body axes, deg; duration, s), from a level start, by signed maps."""

    def make(legs, *, gyro=None, accelerometer=None, step=0.01, bias=(0.0, 0.0, 0.0), upright=None) -> EvenRecording:
        attitude = np.eye(3) if upright is None else np.asarray(upright, dtype=np.float64)
        rates, forces = [], []
        for turn, seconds in legs:
            vector = np.radians(np.asarray(turn, dtype=np.float64))
            phase = np.arange(round(seconds / step)) * step / seconds
            # a rate that begins and ends at zero over a whole period, which the trapezoid rule integrates exactly
            rates.append(np.outer(1 - np.cos(2 * np.pi * phase), vector / seconds))
            way = phase - np.sin(2 * np.pi * phase) / (2 * np.pi)
            poses = attitude @ matrix_from_vector(np.outer(way, vector))
            forces.append(np.swapaxes(poses, -1, -2) @ [0.0, 0.0, -9.80665])
            attitude = attitude @ matrix_from_vector(vector)
        rate, force = np.concatenate(rates), np.concatenate(forces)
        rate = rate @ (np.eye(3) if gyro is None else gyro) + np.asarray(bias)
        force = force @ (np.eye(3) if accelerometer is None else accelerometer)
        still = np.zeros(len(rate), dtype=np.bool_)
        segment = np.zeros(len(rate), dtype=np.int64)
        return EvenRecording(np.arange(len(rate)) * step, step, segment, rate, force, None, None, still, still)

    return make


@pytest.fixture(scope="session")
def in_two_streams(captures, tmp_path_factory):
    """Split a demo capture in two streams; the second, with the pulses, has a clock that begins later and runs fast."""

    def make(name, offset, *, told=None, uncertainty=0.004, fast=500e-6) -> Path:
        folder = tmp_path_factory.mktemp("split")
        with (captures / f"{name}.csv").open(encoding="utf-8") as stream:
            header, *rows = csv.reader(stream)
        pulses = [i for i, column in enumerate(header) if column.startswith("us_")]
        main = [i for i in range(len(header)) if i not in pulses]
        taken = [(int(row[0]) - int(rows[0][0])) * 1e-6 for row in rows]
        renewed = [i for i, row in enumerate(rows) if taken[i] >= offset and any(row[p] for p in pulses)]
        began = taken[renewed[0]]
        beside = [[repr((taken[i] - began) * (1 + fast)), *(rows[i][p] for p in pulses)] for i in renewed]
        write_rows(folder / f"{name}.csv", [header[i] for i in main], [[row[i] for i in main] for row in rows])
        write_rows(folder / f"{name}-pulses.csv", ["s", *(header[i] for i in pulses)], beside)
        table = f'[pulses]\nstream = "{name}-pulses.csv"\ntime = {{ names = ["s"], unit = "s" }}\n'
        table += f"offset_s = {began if told is None else told}\noffset_uncertainty_s = {uncertainty}\n"
        manifest = (captures / f"{name}.toml").read_text(encoding="utf-8")
        (folder / f"{name}.toml").write_text(f"{manifest}\n{table}fast_ppm = {fast * 1e6}\n", encoding="utf-8")
        return folder / f"{name}.toml"

    return make


def write_rows(path: Path, header: list[str], rows: list[list[str]]) -> None:
    """Write rows as text that commas separate."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([header, *rows])
