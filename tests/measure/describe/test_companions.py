"""What is neither clock nor sensor."""

import numpy as np
import pytest

from benchrig.measure.describe.companions import is_pulse, is_temperature, kind_of_rest


@pytest.mark.parametrize(
    ("values", "is_one"),
    [
        ([1500.0, 1520.0, 1488.0], True),
        ([760.0, np.nan, 0.0, 780.5], True),
        ([1500.0, 1500.0, 1500.0], False),  # never moves: nothing is told of it
        ([1500.0, 3000.0, 1500.0], False),
        ([1500.2, 1520.3, 1488.1], False),
        ([-1500.0, 1500.0, 1400.0], False),
    ],
)
def test_pulses_are_whole_numbers_of_their_size(values, is_one):
    assert is_pulse(np.array(values)) is is_one


@pytest.mark.parametrize(
    ("name", "values", "is_one"),
    [
        ("temp", [24.0, 24.1, 24.3], True),
        ("c7", [24.0, 24.1, 24.3], False),
        ("battery", [12.4, 12.3, 12.2], False),
        ("temp", [24.0, 124.0, 24.0], False),
    ],
)
def test_a_temperature_needs_its_name_and_its_size(name, values, is_one):
    assert is_temperature(name, np.array(values)) is is_one


def test_what_is_left_is_said_plainly():
    assert kind_of_rest(np.array([1.0, np.nan, 2.0, 4.0])) == "1 to 4, blank in 25 % of the rows"
    assert kind_of_rest(np.full(3, np.nan)) == "blank throughout"
