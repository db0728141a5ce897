"""Axis maps and the heading's sense, by the gyro alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from turned_compass import EARTH, LEVEL_TURN

from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.compass.axes import axis_maps, coverage_of, heading_sense
from benchrig.measure.compass.iron import gyro_attitudes

DECLARED = np.eye(3)


def wired(stretch, wiring):
    """Give the stretch as it reads when the compass really is wired so: body from compass, declared as body axes."""
    return replace(stretch, reading=stretch.reading @ wiring)


@pytest.mark.parametrize("k", range(48))
def test_two_turns_leave_one_map_and_its_opposite_whatever_the_wiring(two_turns, k):
    stretch = wired(two_turns.stretch, SIGNED_PERMUTATIONS[k])
    maps = axis_maps(DECLARED, gyro_attitudes([stretch]), [stretch])
    assert maps.found is not None
    expected = SIGNED_PERMUTATIONS[k]
    assert np.array_equal(maps.found, expected) or np.array_equal(maps.found, -expected)
    # turned by its sign, the map found makes the field of the northern place point down
    assert np.array_equal(np.sign(maps.down) * maps.found, expected)


def test_a_level_turn_leaves_four_maps_with_the_declared_one_among_them(turned):
    stretch = turned(LEVEL_TURN).stretch
    maps = axis_maps(DECLARED, gyro_attitudes([stretch]), [stretch])
    assert len(maps.left) == 4
    assert maps.leaves(DECLARED)
    assert maps.found is None


@pytest.mark.parametrize("heading", [370, -370])
def test_a_right_compass_turns_with_the_gyro_either_way_round(turned, heading):
    stretch = turned(((0, 0, 0, 3.0), (heading, 0, 0, 8.0), (0, 0, 0, 3.0)), noise=0.4e-6).stretch
    sense = heading_sense(gyro_attitudes([stretch]), [stretch])
    assert sense.slope == pytest.approx(1.0, abs=0.01)
    assert 0.01 < sense.uncertainty < 0.03


@pytest.mark.parametrize("wiring", [np.diag([-1.0, 1.0, 1.0]), np.eye(3)[[1, 0, 2]]])
def test_one_level_sign_or_two_swapped_level_axes_turn_the_heading_backwards(turned, wiring):
    stretch = wired(turned(LEVEL_TURN).stretch, wiring)
    assert heading_sense(gyro_attitudes([stretch]), [stretch]).slope == pytest.approx(-1.0, abs=0.01)


def test_less_than_half_a_turn_tells_no_sense(turned):
    stretch = turned(((0, 0, 0, 3.0), (150, 0, 0, 5.0), (0, 0, 0, 3.0))).stretch
    assert heading_sense(gyro_attitudes([stretch]), [stretch]) is None


def test_coverage_tells_a_level_turn_from_two_turns(turned, two_turns):
    one = turned(LEVEL_TURN).stretch
    flat = coverage_of(gyro_attitudes([one]), EARTH)
    both = coverage_of(gyro_attitudes([two_turns.stretch]), EARTH)
    assert (flat.level, flat.raised) == (pytest.approx(2 * np.pi), 0.0)
    assert both.raised == pytest.approx(2 * np.pi)
    assert flat.spread < 1e-3
    assert both.spread > 0.05
    assert abs(flat.weakest[2]) == pytest.approx(1.0, abs=1e-3)
