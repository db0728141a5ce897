"""The gyro's scale from turns between still poses, against a unit whose errors are known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from still_benches import Unit, bench, consumer_unit, laid, poses_and_edges, sensitivities, six_poses

from benchrig.measure.sensor.accelerometer import fit_accelerometer
from benchrig.measure.sensor.gyro_fit import TOLD, fit_gyro
from benchrig.measure.sensor.gyro_turns import find_carries
from benchrig.measure.sensor.poses import find_poses
from benchrig.measure.sensor.table_turns import Spin
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import find_rests


def carries_of(even):
    stillness = find_rests(even)
    return find_carries(even, stillness, find_moves(even, stillness.rests, stillness.bias))


def fit(even):
    return fit_gyro(carries_of(even), (), fit_accelerometer(find_poses(even, find_rests(even))))


def test_the_pulls_of_the_scale_have_a_spread_near_one():
    pulls = []
    for seed in range(20):
        rng = np.random.default_rng(seed)
        unit = consumer_unit(rng)
        got = fit(bench(poses_and_edges(rng), unit, seed))
        pulls.append((got.scale - 1 / sensitivities(unit.gyro_gain)) / got.uncertainty)
    assert 0.5 < np.std(pulls) < 1.2
    assert np.abs(pulls).max() < 4


def test_turns_between_six_poses_tell_two_axes_to_a_tenth_of_a_percent_and_never_one_wrongly():
    pulls = []
    for seed in range(12):
        rng = np.random.default_rng(100 + seed)
        unit = consumer_unit(rng)
        got = fit(bench(six_poses(rng), unit, seed))
        pulls.append((got.scale - 1 / sensitivities(unit.gyro_gain)) / got.uncertainty)
    assert np.std(pulls) < 1.2
    assert np.abs(pulls).max() < 4


def test_a_range_that_is_twice_as_sensitive_is_found_to_a_percent():
    rng = np.random.default_rng(2)
    got = fit(bench(poses_and_edges(rng), Unit(gyro_gain=2 * np.eye(3))))
    assert got.fits
    assert got.scale == pytest.approx([0.5, 0.5, 0.5], rel=0.01)


def test_one_axis_of_another_size_is_found_on_that_axis_alone():
    rng = np.random.default_rng(3)
    got = fit(bench(poses_and_edges(rng), Unit(gyro_gain=np.diag([1.0, 1.2, 1.0]))))
    assert got.fits
    assert 1 / got.scale == pytest.approx([1.0, 1.2, 1.0], abs=0.01)


@pytest.mark.parametrize("gain", [np.diag([-1.0, 1, 1]), np.eye(3)[[1, 0, 2]], np.diag([1.0, 1, 0])])
def test_an_axis_of_the_wrong_sign_a_swap_or_a_dead_axis_is_no_story_and_gives_no_scale(gain):
    rng = np.random.default_rng(4)
    assert not fit(bench(poses_and_edges(rng), Unit(gyro_gain=gain))).fits


def test_turns_about_one_axis_tell_no_other():
    level = Rotation.from_euler("ZYX", [20, 0, 0], degrees=True)
    poses = [level * Rotation.from_euler("X", angle, degrees=True) for angle in (0, 90, 180, 270, 0, 270, 180)]
    got = fit(bench(poses, Unit()))
    assert got.uncertainty[0] < TOLD
    assert min(got.uncertainty[1:]) > TOLD


def test_a_turn_about_the_vertical_tells_nothing():
    poses = [Rotation.from_euler("Z", heading, degrees=True) for heading in (0, 90, 180)]
    assert carries_of(bench(poses, Unit())) == ()
    assert fit_gyro((), (), None) is None


def test_gaps_and_clipped_moves_are_left_out():
    even = bench(six_poses(np.random.default_rng(5)), Unit())
    assert len(carries_of(even)) == 5
    clipped = np.zeros(len(even.time), dtype=np.bool_)
    clipped[320] = True
    assert len(carries_of(replace(even, gyro_clipped=clipped))) == 4


def test_a_spin_of_known_speed_tells_the_axis_it_is_about():
    spin = Spin(np.array([0.01, -0.02, 3.6]), 3.5, 0.002, 0.001, "counted")
    got = fit_gyro((), (spin,), None)
    assert got.scale[2] == pytest.approx(3.5 / 3.6, abs=0.001)
    assert got.uncertainty[2] == pytest.approx(np.hypot(0.002, 0.001), rel=0.1)
    assert min(got.uncertainty[:2]) > TOLD


def test_the_hands_first_moments_do_not_shorten_the_turns():
    # slow beginnings and ends of a turn lie within what counts as rest
    rng = np.random.default_rng(6)
    poses = [laid(name, rng) for name in ("level", "on nose", "level", "on right side", "level", "on tail") * 2]
    got = fit(bench(poses, Unit(gyro_noise=1e-6, accelerometer_noise=1e-5), rest=3.0, move=4.0))
    assert got.scale[:2] == pytest.approx([1, 1], abs=3e-4)
