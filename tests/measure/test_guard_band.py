"""A doubt is never a pass, and never a fail."""

import pytest

from benchrig.measure.guard_band import below, held_against
from benchrig.measure.pulses.estimate import Estimate, joined, unknown


@pytest.mark.parametrize(
    ("value", "outcome"), [(1520, "pass"), (1527, "pass"), (1529, "not shown"), (1531, "not shown"), (1533, "fail")]
)
def test_a_value_passes_or_fails_only_beyond_two_deviations(value, outcome):
    assert held_against(value, 1.0, 1520, 10) == outcome
    assert held_against(3040 - value, 1.0, 1520, 10) == outcome


def test_an_unsure_value_neither_passes_nor_fails():
    assert held_against(1520, 6.0, 1520, 10) == "not shown"
    assert below(0.2, 0.1, 0.1) == "not shown"


def test_repeats_that_differ_are_no_surer_than_their_scatter():
    both = joined([Estimate(10.0, 0.1), Estimate(12.0, 0.1)], "")
    assert (both.value, both.uncertainty) == pytest.approx((11.0, 1.0))


def test_nothing_known_gives_the_reason():
    assert joined([unknown("too fast")], "none").reason == "too fast"
    assert joined([], "none").reason == "none"
