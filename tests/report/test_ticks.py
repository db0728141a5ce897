"""Round numbers along an axis."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.report.ticks import linear_ticks, logarithmic_ticks, tick_label


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6), st.integers(4, 9))
def test_linear_ticks_lie_inside_in_even_round_steps(low, span, count):
    ticks = linear_ticks(low, low + span, count)
    slack = 1e-6 * span + 1e-9 * abs(low)
    assert all(low - slack <= tick <= low + span + slack for tick in ticks)
    assert 1 <= len(ticks) <= count + 2
    steps = [b - a for a, b in pairwise(ticks)]
    assert all(step == pytest.approx(steps[0], rel=1e-3) for step in steps)


@given(st.floats(1e-9, 1e9), st.floats(0.31, 9.0))
def test_logarithmic_ticks_are_powers_of_ten_or_their_twos_and_fives(low, decades):
    ticks = logarithmic_ticks(low, low * 10**decades)
    assert ticks == sorted(ticks)
    for tick in ticks:
        assert float(f"{tick:e}"[0]) in {1.0, 2.0, 5.0}
        assert low * 0.999 <= tick <= low * 10**decades * 1.001
    assert len(ticks) >= math.floor(decades)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-2.5, "−2.5"),
        (0.001, "0.001"),
        (20000.0, "20000"),
        (1e5, "10⁵"),
        (2e-4, "2×10⁻⁴"),
        (-1e-7, "−1×10⁻⁷"),
    ],
)
def test_a_tick_is_written_as_people_read_it(value, text):
    assert tick_label(value) == text
