"""Means over windows: one filter for every column, whatever moves."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from benchrig.measure.lever.window import THINNED, cross_matrix, lever_matrix, thinned, turned_back, windows

STEP = 0.01
EVERYWHERE = np.ones(400, dtype=np.bool_)


def test_windows_lie_end_to_end_with_a_sample_to_spare_at_either_side():
    where = windows(EVERYWHERE, STEP, 0.1)
    assert where.intervals == 10
    assert where.start[0] == 1
    assert set(np.diff(where.start)) == {10}
    assert where.start[-1] + where.intervals + 1 <= len(EVERYWHERE) - 1


def test_no_window_reaches_over_a_sample_that_is_left_out():
    usable = EVERYWHERE.copy()
    usable[[57, 200]] = False
    where = windows(usable, STEP, 0.1)
    for start in where.start:
        assert usable[start - 1 : start + where.intervals + 2].all()


def test_nothing_usable_gives_no_window():
    assert len(windows(~EVERYWHERE, STEP).start) == 0


def test_a_mean_is_the_integral_of_what_is_smooth():
    time = np.arange(400) * STEP
    where = windows(EVERYWHERE, STEP, 0.1)
    # ∫ sin = -cos, by hand
    first = time[where.start]
    exact = (np.cos(5 * first) - np.cos(5 * (first + where.length))) / (5 * where.length)
    np.testing.assert_allclose(where.means(np.sin(5 * time)), exact, atol=1e-7)


def test_a_slope_is_the_mean_of_the_derivative_however_fast_it_changes():
    time = np.arange(400) * STEP
    where = windows(EVERYWHERE, STEP, 0.1)
    fast = np.sin(40 * time)
    np.testing.assert_allclose(
        where.slopes(fast) * where.length, fast[where.start + where.intervals] - fast[where.start]
    )


def test_the_lever_matrix_gives_the_acceleration_of_a_point_of_a_tumbling_body():
    """The same as the place of the point, differentiated twice."""
    h, arm = 1e-3, np.array([0.11, -0.07, 0.05])
    time = np.arange(400) * STEP

    def attitude(t):
        return Rotation.from_rotvec(np.column_stack([0.9 * np.sin(3 * t), 0.7 * np.cos(2.3 * t), 0.5 * np.sin(4 * t)]))

    def place(t):
        return attitude(t).apply(arm)

    acceleration = (place(time - h) - 2 * place(time) + place(time + h)) / h**2
    rate = (attitude(time - h).inv() * attitude(time + h)).as_rotvec() / (2 * h)
    where = windows(EVERYWHERE, STEP, 0.06)
    felt = where.means(attitude(time).inv().apply(acceleration))
    np.testing.assert_allclose(lever_matrix(rate, where) @ arm, felt, atol=3e-5)  # of 1 m/s² and more


def test_what_stands_still_is_turned_back_into_a_body_that_swings_and_cones():
    time = np.arange(1500) * STEP

    def attitude(t):
        swinging = np.column_stack([0.4 * np.sin(5 * t), 0.4 * np.cos(5 * t), 0.3 * np.sin(3 * t)])
        return Rotation.from_rotvec(swinging) * Rotation.from_rotvec(np.outer(t, [0.0, 0.0, 2.0]))

    h = 1e-4
    rate = (attitude(time - h).inv() * attitude(time + h)).as_rotvec() / (2 * h)
    exact = (attitude(time).inv() * attitude(time[:1])).as_matrix()
    np.testing.assert_allclose(turned_back(rate, STEP), exact, atol=3e-5)  # the trapezoid rule: 9e-3


def test_a_cross_matrix_multiplies_as_the_cross_product_does():
    rng = np.random.default_rng(5)
    a, b = rng.normal(size=(7, 3)), rng.normal(size=3)
    np.testing.assert_allclose(cross_matrix(a) @ b, np.cross(a, b), atol=1e-15)


@pytest.mark.parametrize(("rate_hz", "group"), [(50, 1), (100, 1), (199, 1), (200, 2), (1000, 10), (8000, 80)])
def test_fast_recordings_are_thinned_to_a_hundred_a_second_or_a_little_more(rate_hz, group):
    values = np.arange(8000, dtype=np.float64)
    thin = thinned(values, 1 / rate_hz)
    assert len(thin) == 8000 // group
    assert thin[0] == pytest.approx((group - 1) / 2)
    assert rate_hz / group < 2 * THINNED
