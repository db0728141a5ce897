"""Why no ellipsoid is fitted: two circles leave a family of them; with the attitude known, two circles are enough."""

from __future__ import annotations

import numpy as np
import pytest

QUADRIC = 10  # coefficients of a quadric in space, one of which is its scale


@pytest.fixture(scope="module")
def readings(two_turns):
    """Give the readings of the two turns alone, µT, taken where the nose was level or fully raised."""
    pitch = two_turns.attitude.as_euler("ZYX", degrees=True)[:, 1]
    level, raised = np.abs(pitch) < 1e-6, np.abs(pitch - 30.0) < 1e-6
    assert min(level.sum(), raised.sum()) > 300
    return two_turns.reading[level] * 1e6, two_turns.reading[raised] * 1e6


def terms(points):
    """Give the ten terms of a quadric at each point, of like size."""
    x, y, z = (points / 50.0).T
    return np.column_stack([x * x, y * y, z * z, x * y, x * z, y * z, x, y, z, np.ones_like(x)])


def centre(coefficients):
    """Give where the gradient of a quadric is zero."""
    a, b, c, d, e, f, g, h, i, _ = coefficients
    return 50.0 * np.linalg.solve(-np.array([[2 * a, d, e], [d, 2 * b, f], [e, f, 2 * c]]), [g, h, i])


def is_ellipsoid(coefficients):
    a, b, c, d, e, f, *_ = coefficients
    values = np.linalg.eigvalsh(np.array([[2 * a, d, e], [d, 2 * b, f], [e, f, 2 * c]]))
    return bool((values > 0).all() or (values < 0).all())


def plane(points):
    """Give the plane (n, d), n · y = d, in which the points lie."""
    middle = points.mean(axis=0)
    normal = np.linalg.svd(points - middle)[2][-1]
    assert np.abs((points - middle) @ normal).max() < 1e-9
    return normal, float(normal @ middle)


def test_two_circles_leave_two_of_the_ten_coefficients_of_an_ellipsoid_free(readings):
    sizes = np.linalg.svd(terms(np.concatenate(readings)), compute_uv=False)
    assert QUADRIC - int((sizes > 1e-9 * sizes[0]).sum()) == 2  # a fixed ellipsoid leaves one: its scale


def test_the_true_sphere_plus_any_multiple_of_the_two_planes_passes_through_both_circles(readings):
    (first, d), (second, e) = (plane(one) for one in readings)
    every = np.concatenate(readings)
    planes = ((every / 50.0) @ first - d / 50.0) * ((every / 50.0) @ second - e / 50.0)
    assert np.abs(planes).max() < 1e-9


def test_ellipsoids_that_fit_without_error_have_centres_many_microtesla_apart(readings):
    every = np.concatenate(readings)
    family = np.linalg.svd(terms(every))[2][-2:]
    centres = []
    for angle in np.linspace(0.0, np.pi, 181):
        one = np.cos(angle) * family[0] + np.sin(angle) * family[1]
        if is_ellipsoid(one):
            assert np.abs(terms(every) @ one).max() < 1e-9
            centres.append(centre(one))
    spread = np.linalg.norm(np.array(centres)[:, None] - np.array(centres), axis=2)
    assert spread.max() > 20.0


def test_with_the_attitude_known_the_same_two_turns_fix_field_and_iron(two_turns):
    turned = np.swapaxes(two_turns.attitude.as_matrix(), 1, 2)
    design = np.concatenate([turned, np.broadcast_to(np.eye(3), turned.shape)], axis=2).reshape(-1, 6)
    sizes = np.linalg.svd(design, compute_uv=False)
    assert sizes[-1] > 0.02 * sizes[0]


def test_one_level_turn_leaves_one_unknown_even_with_the_attitude_known(two_turns):
    pitch = two_turns.attitude.as_euler("ZYX", degrees=True)[:, 1]
    level = two_turns.attitude[np.abs(pitch) < 1e-6]
    turned = np.swapaxes(level.as_matrix(), 1, 2)
    design = np.concatenate([turned, np.broadcast_to(np.eye(3), turned.shape)], axis=2).reshape(-1, 6)
    sizes = np.linalg.svd(design, compute_uv=False)
    assert int((sizes > 1e-9 * sizes[0]).sum()) == 5
