"""The reference attitude against the quaternion that a real unit computed for itself, on a recording that pip installs.

The wheel of scikit-kinematics (BSD) brings a recording of gyro, accelerometer and compass with the unit's own
quaternion. Its registers give 256 Hz for the sensors and 128 Hz for the quaternion (``00033_Registers.csv``); packets
are numbered, which puts the two streams on one time base. Seen in the file, not documented: the quaternion takes earth
axes to sensor axes, z up.
"""

from __future__ import annotations

from importlib.metadata import distribution

import numpy as np
import pytest

from benchrig.attitude.kernel import Loop
from benchrig.attitude.library import library_mahony, pull_of_gravity, upright_attitude
from benchrig.attitude.reference import reference_attitude
from benchrig.geometry.rotations import FRD_FROM_FLU, matrix_from_quaternion

STEP = 1 / 256


def installed(name: str) -> np.ndarray:
    files = distribution("scikit-kinematics").files or []
    path = next(file for file in files if file.name == name and file.parent.name == "data_xio")
    return np.loadtxt(str(path.locate()), delimiter=",", skiprows=1)


@pytest.fixture(scope="module")
def unit(body_recording):
    """Give the recording in body axes, and the direction down by the unit's own quaternion, at each sample."""
    sensors, own = installed("00033_CalInertialAndMag.csv"), installed("00033_Quaternion.csv")
    rate, force = np.radians(sensors[:, 1:4]) @ FRD_FROM_FLU, 9.80665 * sensors[:, 4:7] @ FRD_FROM_FLU
    up_in_sensor = matrix_from_quaternion(own[:, 1:5])[:, :, 2]
    nearest = np.clip(np.searchsorted(own[:, 0], sensors[:, 0]), 0, len(own) - 1)
    return body_recording(rate, force, STEP), -up_in_sensor[nearest] @ FRD_FROM_FLU


def test_the_inclination_is_that_of_the_unit_itself(unit):
    body, down = unit
    found = matrix_from_quaternion(reference_attitude(body, [(0, 600)]).quaternion)[:, 2]
    apart = np.degrees(np.arctan2(np.linalg.norm(np.cross(found, down), axis=1), (found * down).sum(axis=1)))
    assert np.degrees(np.arccos(np.clip(down[:, 2].min(), -1, 1))) > 90, "it must have been turned over"
    assert np.sqrt(np.mean(apart**2)) < 3.0  # measured: 2.4°, median 2.0°; the unit also weighs its compass


def test_the_loop_gives_the_librarys_quaternions_on_it(unit):
    body, _ = unit
    part = slice(11_500, 12_626)
    rate, pull = body.angular_rate[part], pull_of_gravity(body.specific_force[part])
    loop = Loop(rate, pull, STEP, (1.0, 0.3), upright_attitude(pull[0]), compiled=False)
    loop.run_to(len(rate))
    expected = library_mahony(rate, pull, STEP, (1.0, 0.3), upright_attitude(pull[0]))
    np.testing.assert_allclose(loop.attitude, expected, rtol=0, atol=1e-12)
