"""Small angles of the mounting, told only where the wiring is as declared, and never surer than the hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.geometry.rotations import matrix_from_vector
from benchrig.verdict.alignment import misalignment


def test_a_unit_turned_about_the_vertical_is_told_by_how_much(judged):
    straight, turned = judged("knot", seed=2), judged("knot", "misaligned=15", seed=2)
    assert turned.misalignment.yaw - straight.misalignment.yaw == pytest.approx(15, abs=2)
    assert 1 < turned.misalignment.yaw_uncertainty < 8


@pytest.mark.parametrize(("axis", "name"), [(0, "roll"), (1, "pitch")])
def test_a_tilt_against_gravity_is_told_with_its_sign(measured, axis, name):
    bench = measured("knot", seed=2)
    tilt = np.zeros(3)
    tilt[axis] = np.radians(5.0)
    # a sensor that is turned right side down (nose up) against the airframe reads up as turned the other way
    turned = replace(bench, level_force=matrix_from_vector(-tilt) @ bench.level_force)
    before, after = misalignment(bench), misalignment(turned)
    assert getattr(after, name) - getattr(before, name) == pytest.approx(5.0, abs=0.2)
    assert after.yaw == before.yaw


@pytest.mark.parametrize("fault", ["mounting=aft,left", "gyro-sign=x", "accelerometer-sign=y"])
def test_no_small_angle_is_told_of_a_wiring_that_is_wrong(judged, fault):
    assert judged("knot", fault).misalignment is None


def test_no_small_angle_is_told_where_the_wiring_is_not_certain(judged):
    assert judged("knot", motions=("level", "nose up")).misalignment is None


def test_two_degrees_an_axis_is_all_that_a_level_rest_can_promise(judged):
    found = judged("knot").misalignment
    assert (found.roll_uncertainty, found.pitch_uncertainty) == (2.0, 2.0)
