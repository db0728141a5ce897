"""Still poses: which count, how sure their means are, and what they are called."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from still_benches import GRAVITY, SIX, Unit, bench, laid, six_poses

from benchrig.declaration.airframe import Sensor
from benchrig.measure.sensor.poses import distinct, find_poses, is_a_face, lies, missing_faces
from benchrig.signals.rests import Rest, find_rests

SQUARE = Sensor(np.eye(3), np.zeros(3), None, "specific force", None, None)
SLOPPY = np.random.default_rng(4)


def poses_of(even):
    return find_poses(even, find_rests(even))


def test_each_pose_is_found_once_and_named_by_the_side_that_is_down():
    found = poses_of(bench(six_poses(SLOPPY), Unit()))
    assert [lies(pose.reading, SQUARE) for pose in found] == list(SIX)
    assert all(is_a_face(pose.reading, SQUARE) for pose in found)
    assert missing_faces(found, SQUARE) == ()


def test_the_names_follow_the_mounting_and_what_the_unit_reads():
    turned = Rotation.from_euler("Z", 90, degrees=True).as_matrix()
    askew = Sensor(turned, np.zeros(3), None, "gravity", None, None)
    for name in SIX:
        force = turned.T @ laid(name, SLOPPY).inv().apply([0.0, 0.0, -GRAVITY])
        assert lies(-force, askew) == name


@pytest.mark.parametrize("left_out", SIX)
def test_the_pose_that_is_missing_is_named(left_out):
    rest = [laid(name, SLOPPY) for name in SIX if name != left_out]
    assert missing_faces(poses_of(bench(rest, Unit())), SQUARE) == (left_out,)


def test_a_pose_on_an_edge_is_no_face():
    pose = Rotation.from_euler("ZYX", [10, 45, 0], degrees=True)
    (found,) = poses_of(bench([pose], Unit()))
    assert not is_a_face(found.reading, SQUARE)
    assert len(missing_faces([found], SQUARE)) == 6


def test_poses_that_are_alike_count_once():
    level = laid("level", SLOPPY, 0.0)
    found = poses_of(bench([level, laid("on nose", SLOPPY), level * Rotation.from_rotvec([0, 0.1, 0])], Unit()))
    assert len(found) == 3
    assert distinct(found) == 2


def test_the_uncertainty_of_a_mean_is_that_of_its_scatter():
    pulls = []
    for seed in range(12):
        poses = six_poses(np.random.default_rng(seed), 0.0)
        even = bench(poses, Unit(), seed)
        true = [pose.inv().apply([0.0, 0.0, -GRAVITY]) for pose in poses]
        pulls += [(p.reading - t) / p.uncertainty for p, t in zip(poses_of(even), true, strict=True)]
    assert np.std(pulls) == pytest.approx(0.8, abs=0.25)  # the larger of two estimates: a little too careful


def test_a_pose_at_the_end_of_the_range_is_left_out():
    even = bench(six_poses(SLOPPY), Unit())
    clipped = np.zeros(len(even.time), dtype=np.bool_)
    clipped[100] = True
    assert len(poses_of(replace(even, accelerometer_clipped=clipped))) == 5


def test_a_short_stop_is_no_pose():
    assert poses_of(bench(six_poses(SLOPPY), Unit(), rest=1.2)) == ()


def test_a_hold_in_the_hand_counts_with_an_uncertainty_of_its_own():
    even = bench(six_poses(SLOPPY), Unit())
    rng = np.random.default_rng(0)
    shaken = even.angular_rate.copy()
    shaken[:250] += np.radians(1.5) * rng.normal(size=(250, 3))
    found = poses_of(replace(even, angular_rate=shaken))
    assert [pose.by_hand for pose in found] == [True] + 5 * [False]
    assert found[0].uncertainty > 3 * found[1].uncertainty


def test_an_accelerometer_that_reads_zeros_has_no_pose():
    even = bench(six_poses(SLOPPY), Unit())
    dead = replace(even, acceleration=np.zeros_like(even.acceleration))
    assert find_rests(dead).rests
    assert poses_of(dead) == ()


def test_a_rest_of_a_few_samples_is_no_pose():
    even, every = bench(six_poses(SLOPPY), Unit()), slice(None, None, 40)
    arrays = ("time", "segment", "angular_rate", "acceleration", "gyro_clipped", "accelerometer_clipped")
    slow = replace(even, step=40 * even.step, **{name: getattr(even, name)[every] for name in arrays})
    short, long = Rest(0, 7, "bench", np.zeros(3)), Rest(8, 30, "bench", np.zeros(3))
    (pose,) = find_poses(slow, replace(find_rests(even), rests=(short, long)))
    assert np.isfinite(pose.uncertainty)
