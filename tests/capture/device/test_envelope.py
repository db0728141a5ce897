"""The line under all arrivals: under every one of them, and along those that waited least."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.capture.device.envelope import AHEAD, WINDOW, Envelope, slope_under

SLOPE = 0.00102


def arrivals(count: int, seed: int = 5) -> tuple[np.ndarray, np.ndarray]:
    """Give when each of `count` reads came that held ten rows, and the number of its last row."""
    x = 10.0 * np.arange(1, count + 1)
    late = np.random.default_rng(seed).exponential(0.004, count)
    return x, np.maximum.accumulate(0.7 + SLOPE * x + late)


def laid(x: np.ndarray, arrival: np.ndarray, slope: float = 0.001, least_span: float = 0.5) -> Envelope:
    line = Envelope(slope, least_span)
    for at, moment in zip(x.tolist(), arrival.tolist(), strict=True):
        line.add(at, moment, at - 9.0)
    return line


def test_the_line_is_found_though_every_row_waits():
    x, arrival = arrivals(1500)
    line = laid(x, arrival)
    assert line.slope == pytest.approx(SLOPE, rel=2e-4)
    assert line.at(x[-1]) == pytest.approx(0.7 + SLOPE * x[-1], abs=0.001)
    assert line.x_at(line.at(123.0)) == pytest.approx(123.0)


def test_no_row_lies_below_the_line():
    x, arrival = arrivals(1500)
    line = laid(x, arrival)
    assert min(moment - line.at(at) for at, moment in zip(x, arrival, strict=True)) > -1e-4


def test_of_rows_that_come_one_after_the_other_the_one_that_waited_least_bears_the_line():
    x = 10.0 * np.arange(1, 1001)
    late = np.resize([0.006, 0.002, 0.008, 0.0, 0.004], 1000)
    line = laid(x, 0.7 + SLOPE * x + late, slope=SLOPE)
    assert line.at(x[-1]) == pytest.approx(0.7 + SLOPE * x[-1], abs=1e-6)
    assert line.jitter == pytest.approx(0.008, abs=1e-6)
    assert line.wait == pytest.approx(0.008 + 9 * SLOPE, abs=1e-6)


def test_only_the_last_seconds_are_kept():
    x, arrival = arrivals(6000)
    line = laid(x, arrival)
    assert line.span == pytest.approx(WINDOW, abs=0.3)
    assert line.pace == pytest.approx(1 / SLOPE, rel=0.002)


def test_a_slope_that_is_known_is_kept_until_there_is_enough_to_replace_it():
    x, arrival = arrivals(120)
    assert laid(x, arrival, slope=0.001, least_span=2.0).slope == 0.001
    assert laid(x, arrival, slope=0.001, least_span=0.5).slope == pytest.approx(SLOPE, rel=0.01)


def test_rows_that_come_before_the_line_says_begin_it_anew():
    x, arrival = arrivals(600)
    line = laid(x, arrival)
    ahead = x[-1] + 3 * AHEAD / SLOPE
    line.add(ahead, float(arrival[-1]) + 0.01, ahead - 9.0)
    assert line.at(ahead) == pytest.approx(float(arrival[-1]) + 0.01)
    assert line.span == 0.0


@pytest.mark.parametrize(
    ("points", "slope"),
    [
        ([[0, 0], [1, 1], [2, 2]], 1.0),
        ([[0, 0], [1, 5], [2, 2]], 1.0),
        ([[0, 0], [1, -1], [4, 2]], 1.0),
        ([[0, 0], [9, -1], [10, 0]], -1 / 9),
        ([[0, 3]], 0.0),
        ([[0, 3], [0, 1]], 0.0),
    ],
)
def test_the_slope_is_that_of_the_hulls_edge_at_the_mean(points, slope):
    assert slope_under(np.array(points, dtype=float)) == pytest.approx(slope)
