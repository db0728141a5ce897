"""Numbers in words."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.report.quantity import measured, number, odds


@pytest.mark.parametrize(
    ("value", "uncertainty", "unit", "text"),
    [
        (24.137, 0.42, "deg", "24.1 ± 0.4°"),
        (1.1, 1.5, "deg", "1.1 ± 1.5°"),
        (-178.2, 12.3, "mm", "−178 ± 12 mm"),
        (12345.6, 321.0, "us", "12300 ± 300 µs"),
        (0.012345, 0.00096, "g", "0.0123 ± 0.0010 g"),
        (-0.001, 0.4, "deg", "0.0 ± 0.4°"),
        (2.0, 1.96, "ms", "2 ± 2 ms"),
        (2.5, None, "ms", "2.5 ms"),
        (2.5, 0.0, "ms", "2.5 ms"),
        (None, 0.4, "deg", "not told"),
        (float("nan"), 0.4, "deg", "not told"),
    ],
)
def test_a_value_keeps_the_digits_its_uncertainty_leaves_standing(value, uncertainty, unit, text):
    assert measured(value, uncertainty, unit) == text


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e5))
def test_value_and_uncertainty_end_at_the_same_decimal(value, uncertainty):
    left, right = measured(value, uncertainty).split(" ± ")
    assert len(left.partition(".")[2]) == len(right.partition(".")[2])
    # what is printed is within the rounding of the uncertainty, 5 % of two digits or 25 % of one
    assert float(right) == pytest.approx(uncertainty, rel=0.26)
    assert float(left.replace("−", "-")) == pytest.approx(value, abs=0.26 * uncertainty)


@pytest.mark.parametrize(
    ("value", "text"),
    [(200.0, "200"), (0.0, "0"), (-0.0123456, "−0.0123"), (1234.5, "1230"), (float("inf"), "not told")],
)
def test_a_number_without_uncertainty_keeps_three_digits(value, text):
    assert number(value) == text


@pytest.mark.parametrize(
    ("bound", "text"),
    [
        (3.1e-8, "1 in 30 million"),
        (2e-8, "1 in 50 million"),
        (1e-9, "1 in 1 billion"),
        (1e-2, "1 in 100"),
        (1e-4, "1 in 10\N{NO-BREAK SPACE}000"),
        (1.0, "1 in 1"),
        (0.0, "1 in 1000 billion"),
        (1e-40, "1 in 1000 billion"),
    ],
)
def test_odds_are_put_in_words(bound, text):
    assert odds(bound) == text


@given(st.floats(1e-12, 1.0))
def test_odds_never_claim_more_than_the_bound(bound):
    count, word = re.fullmatch(r"1 in ([\d\xa0]+)(?: (million|billion))?", odds(bound)).groups()
    claimed = int(count.replace("\N{NO-BREAK SPACE}", "")) * {None: 1, "million": 10**6, "billion": 10**9}[word]
    assert 1 / claimed >= bound * (1 - 1e-6)
    assert 1 / claimed <= 2.01 * bound
