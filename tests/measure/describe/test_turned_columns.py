"""What else the gyro turns: the unit's own attitude and the compass, in streams with known truth."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.describe.attitude import find_attitude
from benchrig.measure.describe.bins import bin_columns
from benchrig.measure.describe.compass import find_compass
from benchrig.signals.body import EvenRecording

LEGS = [
    (turn, seconds)
    for out in ((40, 8, -5), (-6, 45, 7), (-35, 4, 20), (5, -40, -12), (12, 9, 50), (-9, 14, -55))
    for turn, seconds in (((0, 0, 0), 0.8), (out, 0.8), ((0, 0, 0), 0.8), (tuple(-v for v in out), 0.8))
]
FIELD = np.array([20.0, 0.0, 45.0])


@pytest.fixture(scope="module")
def pose(exact_stream):
    """Give an exact stream in body axes, and world from body at each sample."""
    even: EvenRecording = exact_stream(LEGS, step=0.02)
    poses = [np.eye(3)]
    for rate in 0.5 * (even.angular_rate[1:] + even.angular_rate[:-1]) * even.step:
        angle = np.linalg.norm(rate)
        cross = np.array([[0, -rate[2], rate[1]], [rate[2], 0, -rate[0]], [-rate[1], rate[0], 0]])
        turn = np.eye(3)
        if angle > 0:
            turn += np.sin(angle) / angle * cross + (1 - np.cos(angle)) / angle**2 * cross @ cross
        poses.append(poses[-1] @ turn)
    return even, np.array(poses)


def angles(poses):
    roll = np.arctan2(poses[:, 2, 1], poses[:, 2, 2])
    return np.column_stack([roll, -np.arcsin(poses[:, 2, 0]), np.unwrap(np.arctan2(poses[:, 1, 0], poses[:, 0, 0]))])


def attitude_of(pose, said, mounting, gravity=1.0):
    """Describe what a unit that sits by `mounting` (body from sensor) shows beside angles it says."""
    even, _ = pose
    noise = np.random.default_rng(1).normal(0.0, 0.3, (len(even.time), 1))
    bins = bin_columns(even.time, np.column_stack([noise, said, even.acceleration]))
    force, rate = gravity * even.acceleration @ mounting / 9.80665, even.angular_rate @ mounting
    return find_attitude(bins, force, rate, [0, 1, 2, 3])


@pytest.mark.parametrize("at", [0, 5, 13, 22])
@pytest.mark.parametrize("unit", ["deg", "rad"])
def test_the_units_own_attitude_is_found_in_any_mounting(pose, at, unit):
    said = angles(pose[1])
    found = attitude_of(pose, np.degrees(said) if unit == "deg" else said, SIGNED_PERMUTATIONS[at])
    assert (found.columns, found.unit, found.is_reversed) == ((1, 2, 3), unit, False)
    assert found.tilt_miss < np.radians(0.5)


@pytest.mark.parametrize("order", [*itertools.permutations(range(3))][1:])
def test_the_order_of_its_columns_does_not_matter(pose, order):
    found = attitude_of(pose, np.degrees(angles(pose[1]))[:, list(order)], np.eye(3))
    assert found.columns == tuple(1 + order.index(axis) for axis in range(3))


def test_an_accelerometer_that_reads_gravity_changes_nothing(pose):
    found = attitude_of(pose, np.degrees(angles(pose[1])), SIGNED_PERMUTATIONS[9], gravity=-1.0)
    assert (found.columns, found.is_reversed) == ((1, 2, 3), False)


def test_a_heading_with_the_wrong_sign_is_told(pose):
    found = attitude_of(pose, np.degrees(angles(pose[1])) * [1, 1, -1], np.eye(3))
    assert found.is_reversed


def test_angles_of_another_machine_are_none(pose):
    assert attitude_of(pose, np.degrees(angles(pose[1]))[::-1], np.eye(3)) is None


def field_of(pose, channels, *, iron=(0.0, 0.0, 0.0), noise=0.2, late=0):
    even, poses = pose
    rng = np.random.default_rng(2)
    field = np.einsum("nji,j->ni", poses, FIELD) @ channels + iron + rng.normal(0.0, noise, (len(poses), 3))
    others = rng.normal(0.0, 1.0, (len(poses), 2))
    bins = bin_columns(even.time, np.column_stack([others, np.roll(field, late, axis=0)]))
    return find_compass(bins, even.angular_rate, [0, 1, 2, 3, 4])


@pytest.mark.parametrize("at", [0, 4, 17, 30])
def test_a_compass_is_found_however_it_is_led(pose, at):
    channels = SIGNED_PERMUTATIONS[at]
    found = field_of(pose, channels)
    assert found.columns == (2, 3, 4)
    assert found.size == pytest.approx(np.linalg.norm(FIELD), rel=0.03)
    # columns read field @ channels, so what turns about them is the map undone, up to the hand
    assert np.array_equal(np.round(np.linalg.det(channels)) * np.array(found.relation), channels.T)


def test_hard_iron_twice_as_large_as_the_field_hides_nothing(pose):
    found = field_of(pose, np.eye(3), iron=(90.0, -40.0, 30.0))
    assert found.columns == (2, 3, 4)
    assert found.size == pytest.approx(np.linalg.norm(FIELD), rel=0.1)


def test_a_field_that_does_not_follow_the_gyro_is_no_compass(pose):
    assert field_of(pose, np.eye(3), late=300) is None
    assert field_of((pose[0], np.broadcast_to(np.eye(3), pose[1].shape)), np.eye(3)) is None


def test_the_accelerometer_of_a_mirrored_unit_cannot_pass_for_a_compass_of_another_scale(pose):
    even, _ = pose
    bins = bin_columns(even.time, even.acceleration + np.random.default_rng(3).normal(0, 0.02, even.acceleration.shape))
    assert find_compass(bins, 2.0 * even.angular_rate, [0, 1, 2]) is None
    assert find_compass(replace(bins, broken=np.ones_like(bins.broken)), even.angular_rate, [0, 1, 2]) is None
