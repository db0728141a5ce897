"""The gyro's own attitude against the library's closed form, and across gaps."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.attitude.gyro import gyro_attitude, running_product, segments
from benchrig.attitude.library import library_gyro
from benchrig.geometry.integration import chain
from benchrig.geometry.rotations import angles_from_matrix, matrix_from_quaternion, quaternion_from_vector

LEVEL = [0.0, 0.0, -9.81]


@pytest.mark.parametrize("samples", [1, 2, 3, 5, 1000, 2500])
def test_it_gives_the_librarys_quaternions(body_recording, samples):
    rate = np.random.default_rng(3).normal(0.0, 4.0, (samples, 3))
    rate[samples // 2 : samples // 2 + 3] = 0.0
    found = gyro_attitude(body_recording(rate, np.tile(LEVEL, (samples, 1)), 0.005))
    np.testing.assert_allclose(found, library_gyro(rate, 0.005), rtol=0, atol=1e-12)


@pytest.mark.parametrize("count", [1, 2, 7, 9, 100])
def test_the_last_of_the_running_products_is_the_whole_chain(count):
    steps = quaternion_from_vector(np.random.default_rng(count).normal(size=(count, 3)))
    np.testing.assert_allclose(running_product(steps)[-1], chain(steps), rtol=0, atol=1e-14)


@pytest.mark.parametrize(("axis", "name"), [(0, "roll"), (1, "pitch"), (2, "yaw")])
def test_a_positive_rate_makes_its_own_angle_grow(body_recording, axis, name):
    rate = np.zeros((101, 3))
    rate[:, axis] = np.radians(40.0)
    angles = np.degrees(
        angles_from_matrix(matrix_from_quaternion(gyro_attitude(body_recording(rate, np.tile(LEVEL, (101, 1))))))
    )
    np.testing.assert_allclose(angles[-1], 40.0 * np.eye(3)[axis], atol=1e-9, err_msg=name)


def test_every_segment_starts_from_the_identity(body_recording):
    rate = np.full((30, 3), 0.5)
    found = gyro_attitude(body_recording(rate, np.tile(LEVEL, (30, 1)), 0.1, [0] * 12 + [1] * 18))
    assert found[[0, 12]].tolist() == [[1.0, 0.0, 0.0, 0.0]] * 2
    np.testing.assert_allclose(found[12:24], found[:12], atol=1e-15)
    assert not np.allclose(found[11], found[12])


def test_segments_are_the_runs_of_equal_numbers():
    assert list(segments(np.array([4, 4, 7, 8, 8, 8]))) == [(0, 2), (2, 3), (3, 6)]
