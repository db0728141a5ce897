"""How much faster the loop is than the library's own, interpreted and compiled.

A ratio on one machine at one time says something; a number of seconds does not, so those are only printed (``-s``).
"""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

import numpy as np

from benchrig.attitude.kernel import Loop
from benchrig.attitude.library import library_mahony
from benchrig.attitude.reference import reference_attitude

GAINS = (0.5, 0.001)
LEVEL = np.array([1.0, 0.0, 0.0, 0.0])


def stream(samples: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(8)
    return rng.normal(0.0, 1.0, (samples, 3)), rng.normal([0.0, 0.0, 9.81], 0.3, (samples, 3))


def best_of(times: int, work: Callable[[], object]) -> float:
    spans = []
    for _ in range(times):
        began = perf_counter()
        work()
        spans.append(perf_counter() - began)
    return min(spans)


def loop_cost(samples: int, *, compiled: bool) -> float:
    """Seconds a sample, with the copying in and out."""
    rate, pull = stream(samples)

    def work() -> None:
        loop = Loop(rate, pull, 0.005, GAINS, LEVEL, compiled=compiled)
        loop.run_to(samples)
        assert loop.attitude[-1].any()

    return best_of(3, work) / samples


def library_cost() -> float:
    """Seconds a sample of the library's own loop."""
    rate, pull = stream(1000)
    return best_of(3, lambda: library_mahony(rate, pull, 0.005, GAINS, LEVEL)) / 1000


def test_the_loop_is_many_times_faster_than_the_librarys_own(capsys):
    library, interpreted = library_cost(), loop_cost(24_000, compiled=False)
    loop_cost(100, compiled=True)  # compiles, or loads what was compiled before
    compiled = loop_cost(200_000, compiled=True)
    with capsys.disabled():
        print(  # noqa: T201 - a benchmark is read by people
            f"\na sample: library {library * 1e6:.1f} µs, interpreted {interpreted * 1e6:.2f} µs "
            f"(× {library / interpreted:.0f}), compiled {compiled * 1e6:.3f} µs (× {library / compiled:.0f})"
        )
    assert library / interpreted > 8
    assert library / compiled > 100


def test_two_minutes_at_200_hz_cost_little_more_than_the_replay_by_the_library(body_recording, capsys):
    rate, pull = stream(24_000)
    body = body_recording(rate, -pull, 0.005)
    whole = best_of(3, lambda: reference_attitude(body, [(0, 400)]))
    replay = 2000 * library_cost()
    with capsys.disabled():
        print(f"\n24 000 samples: {whole:.3f} s, of which the replay about {replay:.3f} s")  # noqa: T201 - as above
    assert whole < 3 * replay
