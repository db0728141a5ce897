"""Two clocks are joined by the rows that waited least, as truly as the uncertainty says, and the right way round."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.capture.joining import BLOCK, UNSEEN_WAIT, EarliestRows, Offset, offset_between, offset_of


@dataclass
class Device:
    """A simulated source: rows taken at a rate by a clock that runs fast, read in bursts, each row with its wait."""

    rate: float
    ppm: float
    start: float
    wait: float = 0.001
    jitter: float = 0.002
    burst: float = 0.0

    def heard(self, seconds, seed):
        """Give its own times from its first row, the arrivals by the computer, and when rows were really taken."""
        random = np.random.default_rng(seed)
        taken = self.start + np.arange(0.0, seconds, 1.0 / self.rate)
        left = taken + self.wait
        if self.burst:
            left = np.ceil((left - 0.0037) / self.burst) * self.burst + 0.0037
        arrival = np.maximum.accumulate(left + random.exponential(self.jitter, len(left)))
        return (taken - taken[0]) * (1 + self.ppm * 1e-6), arrival, taken


UNIT = Device(1000.0, -40.0, 10.0, burst=0.016)


def error_of(offset, other):
    """Give how far the joined times are from the truth at the first and the last row of the second source, s."""
    when = offset.in_first(other[0])
    truth = (other[2] - UNIT.start) * (1 + UNIT.ppm * 1e-6)
    return (when - truth)[[0, -1]]


@pytest.mark.parametrize("ppm", [-500.0, 0.0, 500.0])
@pytest.mark.parametrize("start", [6.5, 10.0, 14.25])
@pytest.mark.parametrize("seconds", [8.0, 120.0])
def test_an_offset_and_a_drift_are_found_within_two_standard_deviations(ppm, start, seconds):
    unit = UNIT.heard(seconds, 1)
    other = Device(50.0, ppm, start, burst=0.008).heard(seconds, 2)
    offset = offset_between(unit[0], unit[1], other[0], other[1])
    assert np.abs(error_of(offset, other)).max() < 2 * offset.uncertainty
    assert offset.uncertainty < 0.010
    # a turned sign would miss by twice the offset, and a drift left out by 60 ms over two minutes
    assert offset.value == pytest.approx(start - UNIT.start, abs=0.015)
    if seconds > 100:
        assert offset.drift * 1e6 == pytest.approx(ppm + 40, abs=25)


def test_a_gap_and_a_stall_of_the_link_do_not_move_the_line():
    unit = UNIT.heard(60.0, 3)
    times, arrivals, taken = Device(100.0, 500.0, 10.7).heard(60.0, 4)
    arrivals = np.where((times > 20) & (times < 24), np.maximum(arrivals, arrivals[times >= 24][0]), arrivals)
    kept = (times < 40) | (times > 47)
    times, arrivals, taken = times[kept], arrivals[kept], taken[kept]
    offset = offset_between(unit[0], unit[1], times, arrivals)
    assert np.abs(error_of(offset, (times, arrivals, taken))).max() < 2 * offset.uncertainty


def test_a_clock_that_jumps_is_less_sure_than_one_that_does_not():
    unit = UNIT.heard(60.0, 5)
    times, arrivals, _ = Device(100.0, 0.0, 10.7).heard(60.0, 6)
    steady = offset_between(unit[0], unit[1], times, arrivals)
    jumped = offset_between(unit[0], unit[1], np.where(times > 30, times + 0.2, times), arrivals)
    assert steady.uncertainty < 0.008
    assert jumped.uncertainty > 0.04


def test_what_arrivals_cannot_show_is_part_of_the_uncertainty():
    taken = np.arange(0.0, 30.0, 0.01)
    offset = offset_between(taken, taken, taken, taken + 0.5)
    assert offset.value == pytest.approx(0.5)
    assert offset.uncertainty == pytest.approx(np.sqrt(2) * UNSEEN_WAIT, rel=1e-6)
    assert 0.0045 < UNSEEN_WAIT < 0.0047


@settings(max_examples=25, deadline=None)
@given(
    cuts=st.lists(st.integers(1, 5999), max_size=12),
    offset=st.floats(-5, 5),
    seed=st.integers(0, 2**16),
)
def test_rows_handed_over_in_any_pieces_give_the_same_line(cuts, offset, seed):
    times, arrivals, _ = Device(100.0, 200.0, 20 + offset).heard(60.0, seed)
    whole, pieces = EarliestRows(), EarliestRows()
    whole.add(times, arrivals)
    bounds = [0, *sorted(cuts), len(times)]
    for start, stop in pairwise(bounds):
        pieces.add(times[start:stop], arrivals[start:stop])
    assert whole.line() == pieces.line()
    assert len(whole) <= times[-1] / BLOCK + 1


def test_the_line_lies_under_every_row_that_was_kept_and_touches_one():
    times, arrivals, _ = Device(200.0, -300.0, 3.0, jitter=0.01).heard(40.0, 9)
    rows = EarliestRows()
    rows.add(times, arrivals)
    line = rows.line()
    over = arrivals - (line.start + (1 + line.slope) * times)
    # a row between two kept ones can lie lower by what the clocks drift apart in one block
    assert over.min() > -abs(line.slope) * BLOCK - 1e-9
    assert over.min() < 1e-9
    assert line.slope == pytest.approx(300e-6, abs=60e-6)


def test_no_row_gives_no_offset():
    rows = EarliestRows()
    rows.add(np.zeros(0), np.zeros(0))
    with pytest.raises(ValueError, match="no row has come"):
        rows.line()
    with pytest.raises(ValueError, match="no row has come"):
        offset_of(rows, rows)


def test_one_row_of_each_gives_an_offset_without_a_drift():
    offset = offset_between(np.zeros(1), np.full(1, 4.0), np.zeros(1), np.full(1, 6.5))
    assert (offset.value, offset.drift) == (2.5, 0.0)


def test_a_fast_second_clock_is_slowed_down():
    when = Offset(-1.0, 0.0, drift=0.01).in_first(np.array([0.0, 101.0]))
    np.testing.assert_allclose(when, [-1.0, 99.0])
