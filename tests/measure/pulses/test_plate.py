"""A plane laid through the servos' lifts, and four servos that do not agree."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.measure.pulses.plate import agreements, odd_one_out, plate_pose

LAYOUTS = [(180, 60, 300), (0, 120, 240), (180, 40, 320), (180, 45, 315), (180, 90, 270), (0, 90, 180, 270)]


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("pose", [(100, 0, 0), (100, 30, 0), (50, -20, 40)])
def test_the_pose_of_a_rigid_plate_is_found_from_its_heights(layout, pose):
    # a rigid disc about its middle: heights by turning it, not by the program's matrix
    psi = np.radians(layout)
    lift, nose, right = pose
    heights = [lift + nose * np.cos(p) + right * np.sin(p) for p in psi]
    found = plate_pose(np.array(heights), np.ones(len(psi)), psi)
    assert (found.lift, found.nose_up, found.right_up) == pytest.approx(pose, abs=1e-9)
    assert found.misfit == pytest.approx(0, abs=1e-9)


def test_the_uncertainty_of_a_pose_is_what_its_errors_are():
    psi, rng = np.radians([180.0, 40.0, 320.0]), np.random.default_rng(1)
    found = [plate_pose(100 + rng.normal(0, 3, 3), np.full(3, 3.0), psi) for _ in range(400)]
    spread = np.std([[f.lift, f.nose_up, f.right_up] for f in found], axis=0)
    assert spread / found[0].uncertainty == pytest.approx(np.ones(3), rel=0.15)


@pytest.mark.parametrize("layout", [(0, 120), (0, 180, 0), (90, 270, 90)])
def test_servos_that_fix_no_plane_give_no_pose(layout):
    assert plate_pose(np.ones(len(layout)), np.ones(len(layout)), np.radians(layout)) is None


@pytest.mark.parametrize("layout", [(0, 90, 180, 270), (45, 135, 225, 315), (10, 80, 170, 300), (0, 72, 144, 216, 288)])
def test_lifts_of_a_rigid_plate_keep_every_agreement(layout):
    psi = np.radians(layout)
    sums = agreements(psi)
    assert sums.shape == (len(layout) - 3, len(layout))
    for pose in ((1, 0, 0), (0, 1, 0), (0, 0, 1)):
        heights = pose[0] + pose[1] * np.cos(psi) + pose[2] * np.sin(psi)
        assert sums @ heights == pytest.approx(0, abs=1e-9)
    # moving one servo alone breaks at least one
    assert (np.abs(sums).max(axis=0) > 0.05).all()


def test_two_that_differ_are_no_single_odd_one():
    assert odd_one_out([100, 100, -100, -100]) is None
    assert odd_one_out([100, 100, 60]) == 2
