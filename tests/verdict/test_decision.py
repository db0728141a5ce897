"""Probabilities of a normal error, and what a conformance refuses to be computed from."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.verdict.decision import conformance_probability, tail_probability

VALUES = st.floats(-50, 50)
SPREADS = st.floats(0.1, 10)


@given(VALUES, SPREADS, VALUES, st.floats(0, 20))
def test_below_within_and_above_make_one(value, spread, lower, width):
    upper = lower + width
    below = conformance_probability(value, spread, None, lower)
    above = conformance_probability(value, spread, upper, None)
    within = conformance_probability(value, spread, lower, upper)
    assert 0 <= within <= 1
    assert below + within + above == pytest.approx(1.0, abs=1e-12)


@given(VALUES, SPREADS, VALUES, st.floats(0, 20))
def test_the_mirror_image_conforms_as_well(value, spread, lower, width):
    straight = conformance_probability(value, spread, lower, lower + width)
    mirrored = conformance_probability(-value, spread, -lower - width, -lower)
    assert straight == pytest.approx(mirrored, rel=1e-9, abs=1e-300)


@pytest.mark.parametrize("value", [-10.0, 12.0])
def test_a_value_far_outside_keeps_the_digits_of_its_small_probability(value):
    # ten standard deviations out: the other limit adds nothing
    assert conformance_probability(value, 1.0, 0.0, 2.0) == pytest.approx(tail_probability(10.0), rel=1e-6)
    assert tail_probability(10.0) == pytest.approx(7.6198530241605e-24, rel=1e-9)


@given(st.floats(-8, 8))
def test_the_two_tails_make_one(z):
    assert tail_probability(z) + tail_probability(-z) == pytest.approx(1.0, abs=1e-15)


@pytest.mark.parametrize("uncertainty", [0.0, -1.0, math.nan, math.inf])
def test_an_uncertainty_that_is_none_is_refused(uncertainty):
    with pytest.raises(ValueError, match="needs an uncertainty above zero"):
        conformance_probability(1.0, uncertainty, 0.0, 2.0)


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_value_that_is_none_is_refused(value):
    with pytest.raises(ValueError, match="needs a measured value"):
        conformance_probability(value, 1.0, 0.0, 2.0)


@pytest.mark.parametrize(("lower", "upper"), [(None, None), (2.0, 1.0), (math.nan, 1.0), (0.0, math.nan)])
def test_limits_that_bound_nothing_are_refused(lower, upper):
    with pytest.raises(ValueError, match="needs a limit on one side at least, in order"):
        conformance_probability(1.0, 1.0, lower, upper)
