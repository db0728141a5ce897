"""The clock is found among what only grows, and its unit is the one that gives a usual rate."""

from pathlib import Path

import numpy as np
import pytest

from benchrig.errors import CaptureError
from benchrig.measure.describe.clock import find_clock
from benchrig.measure.describe.unknown import Unknown

N = 400
NOISE = np.random.default_rng(3).normal(0.0, 1.0, (N, 2))


def stream(**columns) -> Unknown:
    names = (*columns, "x", "y")
    return Unknown(Path("run.csv"), "text", names, np.column_stack([*columns.values(), NOISE]), has_names=True)


@pytest.mark.parametrize(
    ("step", "unit", "rate"),
    [
        (0.01, "s", 100),
        (10.0, "ms", 100),
        (10_000.0, "us", 100),
        (1e7, "ns", 100),
        (500.0, "us", 2000),
        (0.02, "s", 50),
    ],
)
def test_the_unit_is_the_one_that_gives_a_usual_rate(step, unit, rate):
    found = find_clock(stream(k=1e3 + np.arange(N) * step))
    assert (found.column, found.unit, found.is_sure) == ("k", unit, True)
    assert found.rate == pytest.approx(rate)


def test_a_counter_does_not_take_the_place_of_a_clock():
    found = find_clock(stream(k=np.arange(N) % 65536.0, stamp=np.arange(N) * 0.01))
    assert found.column == "stamp"
    assert found.others == ("k",)


def test_a_counter_alone_is_a_doubtful_clock():
    found = find_clock(stream(k=np.arange(N) * 1.0))
    assert (found.unit, found.is_sure) == ("ms", False)
    assert "may as well count rows" in found.why


def test_a_counter_that_says_so_is_no_clock_and_the_rate_is_asked_for():
    with pytest.raises(CaptureError, match=r"no column is a clock that can be read; what grows is packet.*--rate-hz"):
        find_clock(stream(packet=np.arange(N) * 1.0))


def test_a_column_in_milliseconds_that_says_so_is_believed():
    assert find_clock(stream(t_ms=np.arange(N) * 1.0)).is_sure


def test_nothing_that_grows_is_no_clock():
    with pytest.raises(CaptureError, match="no column is a clock: none grows steadily"):
        find_clock(stream())


def test_a_given_rate_takes_the_place_of_a_clock():
    found = find_clock(stream(packet=np.arange(N) * 1.0), 256.0)
    assert (found.column, found.is_sure) == ("", False)
    assert found.time[-1] == pytest.approx((N - 1) / 256)
    assert found.others == ("packet",)


def test_a_clock_that_runs_over_is_unwrapped_as_check_does():
    found = find_clock(stream(k=(60_000 + np.arange(N) * 2_500.0) % 65_536))
    assert (found.unit, found.rate) == ("us", pytest.approx(400))
    assert "ran over" in found.notes[0]


def test_of_two_clocks_the_steadier_is_taken():
    even = np.arange(N) * 0.01
    found = find_clock(stream(host=even + np.abs(NOISE[:, 0]) * 0.002, unit=even))
    assert (found.column, found.others) == ("unit", ("host",))


def test_a_clock_that_check_would_refuse_is_told_with_its_reason():
    stamps = np.arange(N) * 0.01
    stamps[200:] -= 0.5
    with pytest.raises(CaptureError, match="time goes back by"):
        find_clock(stream(k=stamps))


def test_too_few_rows_are_refused_at_a_given_rate_too():
    few = Unknown(Path("run.csv"), "text", ("x", "y"), NOISE[:20], has_names=True)
    with pytest.raises(CaptureError, match=r"run\.csv: 20 rows; expected at least 50"):
        find_clock(few, 100.0)
