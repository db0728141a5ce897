"""The approximation of the chi-square distribution against scipy's exact one."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2

from benchrig.measure.chi_square import excess, interval, quantile


@pytest.mark.parametrize("freedom", [5.0, 12.3, 80.0, 4000.0])
@pytest.mark.parametrize("probability", [0.025, 0.5, 0.975, 1 - 1e-7])
def test_quantiles_are_good_to_six_per_cent(probability, freedom):
    assert quantile(probability, freedom) == pytest.approx(chi2.ppf(probability, freedom), rel=0.06)


@pytest.mark.parametrize("freedom", [2.0, 3.0, 5.0, 20.0])
@pytest.mark.parametrize("chance", [1e-3, 1e-5, 1e-8])
def test_a_threshold_is_never_exceeded_more_often_than_it_says(chance, freedom):
    assert chi2.sf(quantile(1 - chance, freedom), freedom) <= 1.02 * chance


@pytest.mark.parametrize("freedom", [6.0, 40.0])
def test_the_interval_of_a_deviation_is_the_handbooks(freedom):
    # NIST SP 1065, 5.3.1: s² · edf / χ²
    low, high = interval(2.0, freedom)
    assert low == pytest.approx(2.0 * np.sqrt(freedom / chi2.ppf(0.975, freedom)), rel=0.02)
    assert high == pytest.approx(2.0 * np.sqrt(freedom / chi2.ppf(0.025, freedom)), rel=0.02)


def test_an_interval_without_freedom_has_no_end():
    assert interval(1.0, 0.3)[1] == float("inf")


def test_the_excess_is_that_of_the_normal_distribution():
    assert excess(chi2.ppf(0.95, 9.0), 9.0) == pytest.approx(1.645, abs=0.02)
