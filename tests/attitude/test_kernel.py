"""The loop against the library's own: equal quaternions, interpreted, compiled, and resumed on the way."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from benchrig.attitude.kernel import Loop, compiled_steps, mahony_steps
from benchrig.attitude.library import library_mahony, upright_attitude

OURS, THEIRS = (0.5, 0.001), (1.0, 0.3)


def stream(samples: int) -> tuple[np.ndarray, np.ndarray]:
    """Rough moves, with the rows that the library treats apart: no rate, no acceleration, and neither."""
    rng = np.random.default_rng(20)
    rate = np.cumsum(rng.normal(0, 0.3, (samples, 3)), axis=0) * 0.1 + rng.normal(0, 2.0, (samples, 3))
    pull = rng.normal([1.0, -2.0, 9.0], 3.0, (samples, 3))
    rate[100:140] = 0.0
    pull[130:160] = 0.0
    pull[170] *= 1e3
    return rate, pull


def run(rate, pull, gains, *, compiled: bool) -> np.ndarray:
    loop = Loop(rate, pull, 0.004, gains, upright_attitude(pull[0]), compiled=compiled)
    loop.run_to(len(rate))
    return loop.attitude


@pytest.mark.parametrize("gains", [OURS, THEIRS])
def test_the_interpreted_loop_gives_the_librarys_quaternions(gains):
    rate, pull = stream(3000)
    expected = library_mahony(rate, pull, 0.004, gains, upright_attitude(pull[0]))
    assert np.abs(np.ptp(expected, axis=0)).min() > 0.5, "the stream must turn about everything"
    np.testing.assert_allclose(run(rate, pull, gains, compiled=False), expected, rtol=0, atol=1e-12)


def test_the_compiled_loop_is_the_same_source_and_gives_the_same_quaternions():
    rate, pull = stream(3000)
    assert compiled_steps().py_func is mahony_steps
    interpreted = run(rate, pull, THEIRS, compiled=False)
    np.testing.assert_allclose(run(rate, pull, THEIRS, compiled=True), interpreted, rtol=0, atol=1e-12)


def test_a_sample_without_rate_leaves_the_attitude_as_the_library_does():
    rate, pull = stream(200)
    attitude = run(rate, pull, THEIRS, compiled=False)
    assert (attitude[100:140] == attitude[99]).all()
    assert not (attitude[140] == attitude[139]).all()


@pytest.mark.parametrize("compiled", [False, True])
def test_a_loop_stopped_on_the_way_goes_on_where_it_was(compiled):
    rate, pull = stream(400)
    loop = Loop(rate, pull, 0.004, THEIRS, upright_attitude(pull[0]), compiled=compiled)
    for stop in (1, 2, 150, 399, 400):
        loop.run_to(stop)
        assert not loop.attitude[stop:].any()
    assert np.array_equal(loop.attitude, run(rate, pull, THEIRS, compiled=compiled))


def test_the_bias_that_a_resumed_run_starts_from_is_the_one_the_library_would_have_learnt():
    rate, pull = stream(400)
    loop = Loop(rate, pull, 0.004, THEIRS, upright_attitude(pull[0]), compiled=False)
    loop.run_to(201)
    bias = loop.bias
    loop.run_to(400)
    assert np.linalg.norm(bias) > 1e-3
    rest = library_mahony(rate[200:], pull[200:], 0.004, THEIRS, loop.attitude[200], bias=bias)
    np.testing.assert_allclose(loop.attitude[200:], rest, rtol=0, atol=1e-12)


def test_a_short_recording_loads_neither_the_compiler_nor_scipy():
    script = """
import sys
import numpy as np
from benchrig.attitude.reference import reference_attitude, self_test
from benchrig.signals.body import BodyRecording
rate, force = np.full((3000, 3), 0.01), np.tile([0.0, 0.0, -9.81], (3000, 1))
body = BodyRecording(np.arange(3000) * 0.01, 0.01, np.zeros(3000, dtype=np.int64), rate, force, force)
self_test()
assert reference_attitude(body, [(0, 100)]).quaternion.shape == (3000, 4)
print([name for name in ("numba", "llvmlite", "scipy", "pandas") if name in sys.modules])
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
