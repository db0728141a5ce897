"""How the library is fed, and whether its self-test would notice a change of its signs."""

from __future__ import annotations

import ahrs
import numpy as np
import pytest

from benchrig.attitude import library
from benchrig.attitude.library import ReferenceFilterError, fed_rate, pull_of_gravity, self_test, upright_attitude
from benchrig.geometry.rotations import angles_from_matrix, gravity_reading, matrix_from_quaternion


def test_the_library_answers_as_it_was_proved():
    self_test()


def test_the_self_test_notices_a_turned_acceleration(monkeypatch):
    monkeypatch.setattr(library, "acc2q", lambda a: ahrs.common.orientation.acc2q(-a))
    with pytest.raises(
        ReferenceFilterError, match=r"failed its self-test: the start attitude for level has roll .*180"
    ):
        self_test()


def test_the_self_test_notices_a_turned_correction(monkeypatch):
    class Turned(ahrs.filters.Mahony):
        def updateIMU(self, q, gyr, acc, dt=None):  # noqa: N802 - the library's own name
            return super().updateIMU(q, gyr, -acc, dt)

    monkeypatch.setattr(library, "Mahony", Turned)
    with pytest.raises(ReferenceFilterError, match=r"the filter's attitude for level has roll"):
        self_test()


def test_the_self_test_notices_a_filter_that_ignores_the_accelerometer(monkeypatch):
    class Deaf(ahrs.filters.Mahony):
        def updateIMU(self, q, gyr, acc, dt=None):  # noqa: N802 - the library's own name
            return super().updateIMU(q, gyr, 0.0 * acc, dt)

    monkeypatch.setattr(library, "Mahony", Deaf)
    with pytest.raises(ReferenceFilterError, match=r"the filter's attitude for level has roll \+2\d\."):
        self_test()


def test_the_self_test_notices_a_conjugate_quaternion(monkeypatch):
    class Conjugate(ahrs.filters.AngularRate):
        def update(self, q, gyr, **settings):
            return super().update(q, -gyr, **settings)

    monkeypatch.setattr(library, "AngularRate", Conjugate)
    with pytest.raises(
        ReferenceFilterError, match=r"the gyro's turn to the right has yaw -28\.6\d\d° where \+28\.648°"
    ):
        self_test()


def test_the_self_test_notices_a_keyword_that_is_no_longer_known(monkeypatch):
    class Renamed(ahrs.filters.Mahony):
        def __init__(self, Dt=None, **rest):  # noqa: N803, ARG002 - the library's name, ignored as it ignores words
            super().__init__(**rest)

    monkeypatch.setattr(library, "Mahony", Renamed)
    with pytest.raises(ReferenceFilterError, match="install the version this program names"):
        self_test()


def test_gravity_pulls_down_where_specific_force_points_up():
    assert pull_of_gravity(np.array([[0.0, 0.0, -9.81]])).tolist() == [[0.0, 0.0, 9.81]]


@pytest.mark.parametrize(("roll", "pitch"), [(0, 0), (30, 0), (-120, 0), (0, 20), (40, -60), (179, 5)])
def test_the_start_attitude_has_the_roll_and_pitch_of_gravity_and_no_heading(roll, pitch):
    pull = pull_of_gravity(gravity_reading(np.radians(roll), np.radians(pitch), 9.81)[None])[0]
    angles = np.degrees(angles_from_matrix(matrix_from_quaternion(upright_attitude(pull))))
    np.testing.assert_allclose(angles, [roll, pitch, 0.0], atol=1e-9)


def test_no_row_of_the_rates_stays_exactly_zero_and_no_other_row_changes():
    rate = np.array([[0.0, 0.0, 0.0], [0.0, 0.1, 0.0]])
    fed = fed_rate(rate)
    assert fed.any(axis=1).all()
    assert np.abs(fed[0]).max() < 1e-20
    assert fed[1].tolist() == rate[1].tolist()
    assert not rate[0].any(), "the recording itself is left as it was"


def test_a_still_gyro_does_not_keep_the_accelerometer_from_correcting():
    pull = np.tile([0.0, 0.0, 9.81], (200, 1))
    start = upright_attitude(np.array([0.0, 5.0, 9.81]))
    settled = library.library_mahony(fed_rate(np.zeros((200, 3))), pull, 0.1, (0.5, 0.001), start)[-1]
    assert abs(np.degrees(angles_from_matrix(matrix_from_quaternion(settled)))[0]) < 0.5


def test_single_precision_is_widened():
    assert fed_rate(np.ones((2, 3), dtype=np.float32)).dtype == np.float64
    assert pull_of_gravity(np.ones((2, 3), dtype=np.float32)).dtype == np.float64


@pytest.mark.parametrize(("prepare", "what"), [(fed_rate, "rate"), (pull_of_gravity, "specific force")])
@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_a_value_that_is_not_a_number_is_refused_with_its_sample(prepare, what, value):
    values = np.ones((5, 3))
    values[3, 1] = value
    with pytest.raises(ValueError, match=rf"the {what} of sample 3 is \[1\.0, (nan|inf), 1\.0\]"):
        prepare(values)
