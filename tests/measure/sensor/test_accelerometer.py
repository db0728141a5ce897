"""The accelerometer's errors from still poses, against a unit whose errors are known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import sqrtm
from still_benches import MG, Unit, bench, consumer_unit, poses_and_edges, sensitivities, six_poses

from benchrig.measure.sensor.accelerometer import PAIRS, TOLD_CROSS, fit_accelerometer
from benchrig.measure.sensor.poses import find_poses
from benchrig.signals.rests import find_rests


def fit(poses, unit, seed=0):
    even = bench(poses, unit, seed)
    return fit_accelerometer(find_poses(even, find_rests(even)))


def cross_talk(gain):
    """Give what of a gain no rotation can mend: the symmetric factor of its polar decomposition."""
    symmetric = np.real(sqrtm(gain @ gain.T))
    return np.array([symmetric[pair] for pair in PAIRS])


def pulls(draw, count):
    found = []
    for seed in range(count):
        rng = np.random.default_rng(seed)
        unit = consumer_unit(rng)
        got = fit(draw(rng), unit, seed)
        found.append(
            np.concatenate(
                [
                    (got.bias - unit.accelerometer_bias) / got.bias_uncertainty,
                    (got.scale - sensitivities(unit.accelerometer_gain)) / got.scale_uncertainty,
                    (np.array([got.gain[p] for p in PAIRS]) - cross_talk(unit.accelerometer_gain))
                    / got.cross_uncertainty,
                ]
            )
        )
    return np.array(found)


def test_poses_and_edges_tell_everything_and_the_pulls_have_a_spread_near_one():
    found = pulls(poses_and_edges, 20)
    assert 0.5 < found.std() < 1.2
    assert np.abs(found).max() < 4


def test_six_poses_tell_bias_and_scale_with_uncertainties_that_hold():
    found = pulls(six_poses, 20)
    assert found.std() < 1.1
    assert np.abs(found).max() < 4


def test_six_poses_by_hand_tell_the_bias_to_3_mg_and_no_cross_talk():
    got = fit(six_poses(np.random.default_rng(1)), consumer_unit(np.random.default_rng(2)))
    assert got.bias_uncertainty.max() < 3 * MG
    assert got.cross_uncertainty.min() > TOLD_CROSS


def test_fourteen_poses_tell_bias_scale_and_cross_talk_to_a_fraction_of_a_milli_g():
    rng = np.random.default_rng(5)
    got = fit(poses_and_edges(rng), consumer_unit(rng))
    assert got.bias_uncertainty.max() < 0.3 * MG
    assert got.scale_uncertainty.max() < 5e-4
    assert got.cross_uncertainty.max() < 1e-3
    assert got.fits
    assert got.misfit < 0.3 * MG


def test_a_level_pose_alone_leaves_everything_as_unsure_as_before():
    got = fit(six_poses(np.random.default_rng(0))[:1], Unit())
    assert got.bias_uncertainty[2] > 100 * MG
    assert got.scale_uncertainty.max() > 0.1


def test_readings_in_another_unit_are_recognised_before_anything_fine():
    rng = np.random.default_rng(3)
    poses = poses_and_edges(rng)
    even = bench(poses, Unit())
    right, wrong = (
        fit_accelerometer(find_poses(one, find_rests(one)))
        for one in (even, replace(even, acceleration=even.acceleration / 9.80665))
    )
    assert right.size == 1.0
    assert wrong.size == pytest.approx(1 / 9.80665, rel=0.01)
    assert wrong.scale == pytest.approx(np.full(3, 1 / 9.80665), rel=2e-3)


def test_poses_of_a_unit_that_is_not_linear_do_not_fit():
    even = bench(poses_and_edges(np.random.default_rng(7)), Unit())
    bent = even.acceleration + 0.008 * even.acceleration**2
    even = replace(even, acceleration=bent)
    assert not fit_accelerometer(find_poses(even, find_rests(even))).fits


def test_no_pose_gives_no_fit():
    assert fit_accelerometer([]) is None
