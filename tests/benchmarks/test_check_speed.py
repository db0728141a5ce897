"""What a whole check costs, as a process and inside, beside baselines of the same run.

A number of seconds says little of another machine, so it is only printed (``-s``), with what would be wanted on a
quiet one; what is held are ratios to a process that does next to nothing and to the library's own loop.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from time import perf_counter

import numpy as np
import pytest

from benchrig.attitude.library import library_mahony
from benchrig.capture.reader import read_capture
from benchrig.job import judge
from benchrig.simulation.bench import simulate
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

RATE_HZ, DURATION = 400.0, 60.0
MOTIONS = ("level", "nose up", "nose down", "roll right", "roll left", "yaw right", "yaw left", "free", "free")
RUN = "from benchrig.cli.main import run; run()"


def best_of(times: int, work: Callable[[], object]) -> float:
    spans = []
    for _ in range(times):
        began = perf_counter()
        work()
        spans.append(perf_counter() - began)
    return min(spans)


def process(code: str, *arguments: str, status: int = 0) -> Callable[[], None]:
    def work() -> None:
        finished = subprocess.run([sys.executable, "-c", code, *arguments], capture_output=True, check=False)
        assert finished.returncode == status, finished.stderr.decode()

    return work


@pytest.fixture(scope="module")
def minute(demo_airframe, tmp_path_factory):
    """Write a capture of a minute at 400 Hz, and give its manifest."""
    motions = MOTIONS
    while True:
        bench = simulate(demo_airframe("dunlin"), seed=3, options=Options(rate_hz=RATE_HZ, motions=(*motions, "level")))
        if bench.time[-1] >= DURATION:
            return write_capture(bench, tmp_path_factory.mktemp("minute") / "minute").manifest
        motions = (*motions, "nose up", "nose down", "roll right", "yaw right")


def test_a_check_of_a_minute_at_400_hz_costs_little_more_than_its_imports(captures, minute, demo_airframe, capsys):
    airframe = captures / "dunlin.toml"
    declared = demo_airframe("dunlin")
    samples = len(read_capture(minute, declared).time)
    numpy = best_of(3, process("import numpy"))
    check = best_of(3, process(RUN, "check", str(airframe), str(minute)))
    inside = best_of(2, lambda: judge(declared, read_capture(minute, declared)))
    rng = np.random.default_rng(0)
    rate, pull = rng.normal(0, 1, (1000, 3)), rng.normal([0, 0, 9.81], 0.3, (1000, 3))
    level = np.array([1.0, 0.0, 0.0, 0.0])
    loop = best_of(2, lambda: library_mahony(rate, pull, 1 / RATE_HZ, (0.5, 0.001), level)) * samples / 1000
    with capsys.disabled():
        print(  # noqa: T201 - a benchmark is read by people
            f"\n{samples} samples: check {check:.2f} s (wanted under 2 s on a quiet machine), of which reading and "
            f"judging {inside:.2f} s\n  × {check / numpy:.1f} of a process that imports numpy ({numpy:.3f} s), "
            f"× {check / loop:.2f} of the library's own loop over the same samples ({loop:.2f} s)"
        )
    assert samples >= RATE_HZ * DURATION
    # a pass in pure Python over every sample would cost more than this
    assert check < 40 * numpy


def test_help_costs_little_more_than_a_bare_interpreter(capsys):
    bare, numpy = best_of(5, process("pass")), best_of(5, process("import numpy"))
    shown = best_of(5, process(RUN, "--help"))
    with capsys.disabled():
        print(  # noqa: T201 - as above
            f"\nhelp {shown:.3f} s (wanted under 0.2 s on a quiet machine): × {shown / bare:.1f} of a bare "
            f"interpreter ({bare:.3f} s), × {shown / numpy:.2f} of one that imports numpy ({numpy:.3f} s)"
        )
    assert shown < 10 * bare
