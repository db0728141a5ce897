"""A recording with known numbers, stored as the program stores it, by a clock that the test moves."""

from __future__ import annotations

import resource
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from benchrig.capture.store.writer import StoreWriter

SOURCE = ("gx", "gy", "gz", "ax", "ay", "az", "front")
RATE = 200
ABOUT = {"program": "benchrig 0", "source": "an invented unit", "clock": "the unit's own"}


class Hand:
    """A clock that only moves when it is told."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        """Give s."""
        return self.now


def made(rows: int) -> np.ndarray:
    """Give rows of time, arrival and values, none of which has a short decimal form; some pulses are blank."""
    random = np.random.default_rng(11)
    values = random.normal(0, 30, (rows, 2 + len(SOURCE)))
    values[:, 0] = np.arange(rows) / RATE + random.uniform(0, 0.1 / RATE, rows)
    values[:, 1] = values[:, 0] + 0.003
    values[::3, -1] = np.nan
    return values


def given(writer: StoreWriter, clock: Hand, rows: np.ndarray, each: int = 2) -> None:
    """Hand rows over, a few at a time, as they would have come."""
    for at in range(0, len(rows), each):
        some = rows[at : at + each]
        clock.now = 100.0 + float(some[-1, 0])
        writer.append(some[:, 0], some[:, 1], some[:, 2:])


@contextmanager
def small_files(size):
    """Let the system refuse larger files, as a full disk would."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.fixture
def files_of_at_most():
    return small_files


@pytest.fixture(scope="session")
def rows_of_bench():
    return made


@pytest.fixture(scope="session")
def give():
    return given


@pytest.fixture
def new_store(tmp_path: Path):
    """Begin a store, and give the writer and its clock."""

    def begin(name: str = "bench.arrow", columns=SOURCE, *, force: bool = False) -> tuple[StoreWriter, Hand]:
        clock = Hand()
        return StoreWriter.create(tmp_path / name, columns, ABOUT, force=force, clock=clock), clock

    return begin


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """Store 240 rows in a score of batches, once; give its path, bytes, end and rows."""
    path = tmp_path_factory.mktemp("bench") / "bench.arrow"
    clock = Hand()
    writer = StoreWriter.create(path, SOURCE, ABOUT, clock=clock)
    rows = made(240)
    given(writer, clock, rows)
    end = writer.close()
    return SimpleNamespace(path=path, data=path.read_bytes(), end=end.read_bytes(), rows=rows)
