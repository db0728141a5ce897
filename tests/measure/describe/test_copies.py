"""A smoothed copy is told from its original; what merely goes along is no copy."""

import numpy as np
import pytest
from unknown_streams import smoothed

from benchrig.measure.describe.bins import bin_columns
from benchrig.measure.describe.copies import copies_of, without_copies

TIME = np.arange(3000) * 0.02
RNG = np.random.default_rng(5)
BUMPS = sum(
    np.exp(-(((TIME - at) / 0.25) ** 2)) * size
    for at, size in zip(np.arange(2, 58, 3), RNG.normal(0, 60, 19), strict=True)
)
RATE = BUMPS + RNG.normal(0.0, 0.3, len(TIME))
ANGLE = np.cumsum(BUMPS) * 0.02


def bins(*columns):
    return bin_columns(TIME, np.column_stack(columns))


@pytest.mark.parametrize("count", [3, 8])
def test_a_smoothed_copy_names_its_original_and_not_the_other_way(count):
    made = bins(RATE, smoothed(RATE[:, None], count)[:, 0])
    (original,) = copies_of(made, 1, [0, 1])
    (copy,) = copies_of(made, 0, [0, 1])
    assert (original.is_original, copy.is_original) == (True, False)
    assert copy.later == pytest.approx((count - 1) / 2 * 0.02, abs=0.01)
    assert without_copies(made, [0, 1]) == [0]


def test_a_copy_in_another_unit_and_sign_is_a_copy_but_stays_in_the_search():
    made = bins(RATE, -np.radians(RATE))
    (copy,) = copies_of(made, 0, [0, 1])
    assert copy.correlation == pytest.approx(-1.0)
    assert not copy.is_original
    assert without_copies(made, [0, 1]) == [0, 1]


def test_pulses_that_answer_rate_and_angle_are_no_copy():
    pulses = np.round(1500 + 0.8 * RATE + 4.0 * ANGLE)
    made = bins(RATE, pulses)
    assert copies_of(made, 0, [0, 1]) == []
    assert without_copies(made, [0, 1]) == [0, 1]


def test_two_axes_of_one_sensor_are_no_copies():
    other = np.roll(BUMPS, 75) + RNG.normal(0.0, 0.3, len(TIME))
    assert copies_of(bins(RATE, other), 0, [0, 1]) == []
