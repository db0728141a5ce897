"""A program that is killed at any moment leaves all it was given but the rows that still waited for their batch."""

import os
import random
import signal
import struct
import subprocess
import sys

import numpy as np
import pytest

from benchrig.capture.store.reading import open_store

OFTEN = 100
EACH, STEP_S = 5, 0.005
PER_BATCH = 50
"""Rows that are handed over at once, what that moves the clock by, and so the rows of a batch of 50 ms."""

RECORDER = """
import os, struct, sys
import numpy as np
from pathlib import Path
from benchrig.capture.store.writer import StoreWriter

def record(path, pipe):
    now = 0.0
    writer = StoreWriter.create(Path(path), ["row", "half"], {}, clock=lambda: now)
    out = os.open(pipe, os.O_WRONLY)
    os.write(out, struct.pack("<q", os.getpid()))
    given = 0
    while True:
        rows = np.arange(given, given + 5, dtype=float)
        now += 0.005001
        writer.append(rows / 1000, rows / 1000, np.column_stack([rows, rows / 2]))
        given += 5
        os.write(out, struct.pack("<q", given))

StoreWriter.create(Path(sys.argv[1]), ["a"], {}).close()  # loads what a writer loads, once for all children
for line in sys.stdin:
    if os.fork() == 0:
        record(*line.split())
    os.wait()
"""


@pytest.fixture
def recorder(tmp_path):
    """Start a program that starts recorders, each in a process of its own."""
    process = subprocess.Popen([sys.executable, "-c", RECORDER, str(tmp_path / "first.arrow")], stdin=subprocess.PIPE)
    yield process.stdin
    process.stdin.close()
    assert process.wait(60) == 0


def killed_after(announcements, recorder, path, pipe):
    """Let a recorder announce so often what it was given, kill it, and give the last row that it announced."""
    os.mkfifo(pipe)
    recorder.write(f"{path} {pipe}\n".encode())
    recorder.flush()
    with pipe.open("rb") as said:
        (process,) = struct.unpack("<q", said.read(8))
        said.read(8 * announcements)
        os.kill(process, signal.SIGKILL)
        rest = said.read()
    given = struct.unpack("<q", rest[len(rest) - len(rest) % 8 - 8 :][:8])[0] if len(rest) >= 8 else 0
    return max(given, EACH * announcements)


def test_a_recording_that_is_killed_lacks_at_most_the_rows_of_one_batch(recorder, tmp_path):
    chance = random.Random(5)  # noqa: S311 - moments by chance
    cut_short = 0
    for number in range(OFTEN):
        path = tmp_path / f"bench-{number}.arrow"
        given = killed_after(chance.randrange(0, 120), recorder, path, tmp_path / f"pipe-{number}")
        data = path.read_bytes()
        store = open_store(path, data)
        rows = store.values[2]
        assert store.problem is None
        assert np.array_equal(rows, np.arange(len(rows)))
        assert np.array_equal(store.values[3], rows / 2)
        assert len(rows) >= given - given % PER_BATCH
        assert len(rows) <= given + EACH
        assert store.notes[-1].startswith("the recording was interrupted: ")
        cut_short += given > len(rows)
    assert cut_short > OFTEN / 2  # else nobody was killed in the middle of anything
