"""Deviations of series that are too short, shifted, rescaled or not numbers."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.measure.noise.allan import deviation

KINDS = ["ADEV", "OADEV", "MDEV", "TDEV", "HDEV", "OHDEV", "TOTDEV"]


@pytest.fixture(scope="module")
def series():
    return np.random.default_rng(2).normal(size=400)


@pytest.mark.parametrize("kind", KINDS)
def test_a_factor_that_the_series_is_too_short_for_gives_no_number(kind):
    assert np.isnan(deviation(np.array([1.0, 2.0]), 0.1, [40], kind)).all()
    assert np.isnan(deviation(np.zeros(0), 0.1, [1], kind)).all()


@pytest.mark.parametrize("kind", KINDS)
def test_a_large_bias_costs_no_digits(kind, series):
    factors = [1, 4, 32]
    assert deviation(series + 1e6, 0.01, factors, kind) == pytest.approx(
        deviation(series, 0.01, factors, kind), rel=1e-6
    )


@pytest.mark.parametrize("kind", KINDS)
def test_deviations_grow_with_the_unit(kind, series):
    assert deviation(series * 57.0, 0.01, [1, 8], kind) == pytest.approx(57.0 * deviation(series, 0.01, [1, 8], kind))


def test_a_hadamard_deviation_is_blind_to_a_steady_drift(series):
    drifting = series + 0.3 * np.arange(400)
    assert deviation(drifting, 1.0, [10], "OHDEV") == pytest.approx(deviation(series, 1.0, [10], "OHDEV"))
    assert deviation(drifting, 1.0, [10], "OADEV") > 5 * deviation(series, 1.0, [10], "OADEV")


@pytest.mark.parametrize("values", [np.ones((4, 3)), np.array([1.0, np.nan, 2.0]), np.array([1.0, np.inf, 2.0])])
def test_what_is_not_one_row_of_finite_numbers_is_refused(values):
    with pytest.raises(ValueError, match="expected one row of finite numbers"):
        deviation(values, 1.0, [1])


def test_a_factor_of_zero_is_refused(series):
    with pytest.raises(ValueError, match="averaging factors are 1 or more, got 0"):
        deviation(series, 1.0, [1, 0])
