"""Least squares with shared errors agree with estimating those errors too, and chi-square with scipy."""

import numpy as np
import pytest
from scipy import stats

from benchrig.measure.cg.adjustment import Condition, chance_of, solve


@pytest.mark.parametrize("freedom", range(1, 13))
def test_the_chance_of_a_chi_square_is_that_of_scipy(freedom):
    for value in (0.0, 0.01, 1.0, 7.5, 30.0, 200.0):
        assert chance_of(value, freedom) == pytest.approx(stats.chi2.sf(value, freedom), rel=1e-9, abs=1e-300)


def test_nothing_that_checks_gives_a_chance_of_one():
    assert chance_of(12.0, 0) == 1.0


def test_shared_errors_give_the_same_as_estimating_them_beside_the_point():
    rng = np.random.default_rng(4)
    conditions, designs, shared, targets = [], [], [], []
    for name in "abc":
        design, effect, target = rng.normal(size=(2, 3)), 0.01 * rng.normal(size=(2, 2)), rng.normal(size=2)
        own = 0.002 * np.eye(2)
        conditions.append(Condition(name, design, target, {"shared": effect, name: own}))
        designs.append(design), shared.append(effect), targets.append(target)
    solution = solve(conditions, np.zeros(3))
    # the same with two unknown shared errors of unit variance: rows weighted by their own errors only
    full = np.hstack([np.vstack(designs), np.vstack(shared)]) / 0.002
    full = np.vstack([full, np.hstack([np.zeros((2, 3)), np.eye(2)]), np.hstack([np.eye(3) / 10, np.zeros((3, 2))])])
    right = np.concatenate([np.concatenate(targets) / 0.002, np.zeros(5)])
    expected, *_ = np.linalg.lstsq(full, right)
    assert solution.point == pytest.approx(expected[:3], abs=1e-6)
    assert solution.covariance == pytest.approx(np.linalg.inv(full.T @ full)[:3, :3], rel=1e-6)
    assert solution.freedom == 3


def test_conditions_that_say_nothing_of_the_point_do_not_count_as_checks_of_it():
    # as the size of gravity of a hang: it holds a shared error, and no place
    rng = np.random.default_rng(8)
    chances = []
    for _ in range(400):
        shared = rng.normal(size=2)
        conditions = []
        for name in "ab":
            design = np.vstack([np.linalg.qr(rng.normal(size=(3, 3)))[0][:2], np.zeros(3)])
            effect, own = 0.01 * rng.normal(size=(3, 2)), rng.normal(size=3)
            target = effect @ shared + 0.002 * own
            conditions.append(Condition(name, design, target, {"shared": effect, name: 0.002 * np.eye(3)}))
        solution = solve(conditions, np.zeros(3))
        assert solution.freedom == 1
        chances.append(solution.chance)
    # the chance of a right bench is spread evenly
    assert stats.kstest(chances, "uniform").pvalue > 0.01


def test_a_direction_that_nothing_tells_stays_at_the_centre_and_untold():
    only_x = Condition("x", np.array([[1.0, 0.0, 0.0]]), np.array([0.3]), {"own": np.array([[0.001]])})
    solution = solve([only_x], np.array([0.0, 0.1, 0.2]))
    assert solution.point == pytest.approx([0.3, 0.1, 0.2], abs=1e-6)
    assert np.sqrt(solution.covariance.diagonal()) == pytest.approx([0.001, 10.0, 10.0], rel=1e-6)
    assert solution.freedom == 0
