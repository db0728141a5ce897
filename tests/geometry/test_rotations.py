"""Net turns: followed past half and full turns, and true to the end of the way at every angle in between."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchrig.geometry.integration import net_turn
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS, matrix_from_vector

STEP = 0.01


def spin(axis, degrees, seconds=2.0):
    axis = np.asarray(axis, dtype=np.float64)
    rate = np.radians(degrees) / seconds * axis / np.linalg.norm(axis)
    return np.tile(rate, (round(seconds / STEP) + 1, 1))


@pytest.mark.parametrize("degrees", [1.0, 90.0, 179.0, 181.0, 270.0, 290.0, 359.0, 361.0, 400.0, 720.0, 2000.0])
@pytest.mark.parametrize("sign", [1, -1])
def test_a_turn_about_one_axis_is_followed_however_far_it_goes(degrees, sign):
    turn = net_turn(spin([0, 0, sign], degrees), STEP)
    assert np.degrees(turn) == pytest.approx([0, 0, sign * degrees], abs=1e-6)


@given(
    st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda a: np.linalg.norm(a) > 0.1),
    st.floats(1.0, 270.0),
)
def test_up_to_270_degrees_the_turn_is_exact_about_any_axis(axis, degrees):
    unit = np.array(axis) / np.linalg.norm(axis)
    assert np.degrees(net_turn(spin(axis, degrees), STEP)) == pytest.approx(degrees * unit, abs=1e-6)


@given(st.tuples(*[st.floats(-100, 100)] * 6))
def test_two_turns_end_where_the_product_of_their_rotations_ends(degrees):
    first, second = np.radians(degrees[:3]), np.radians(degrees[3:])
    phase = np.arange(0, 1, STEP)[:, None]
    hump = 1 - np.cos(2 * np.pi * phase)
    rate = np.concatenate([hump * first, hump * second, np.zeros((1, 3))])
    assume(np.linalg.norm(first + second) < np.radians(270))  # beyond, the end no longer shows the axis
    ended = matrix_from_vector(net_turn(rate, STEP))
    assert ended == pytest.approx(matrix_from_vector(first) @ matrix_from_vector(second), abs=1e-4)


def test_a_slow_wobble_on_the_way_to_a_full_turn_leaves_the_axis_of_the_turn():
    time = np.arange(0, 4, STEP)
    rate = np.column_stack(
        [0.1 * np.sin(3 * time), 0.1 * np.cos(2 * time), np.full(len(time), np.radians(355.0) / time[-1])]
    )
    turn = net_turn(rate, STEP)
    assert np.degrees(np.linalg.norm(turn)) == pytest.approx(355, abs=3)
    assert turn[2] / np.linalg.norm(turn) > 0.995


@given(st.integers(0, 23), st.floats(5, 250))
def test_a_rotated_stream_gives_the_rotated_turn(index, degrees):
    rotation = SIGNED_PERMUTATIONS[index]
    rate = spin([0.2, 1.0, -0.4], degrees)
    assert net_turn(rate @ rotation.T, STEP) == pytest.approx(rotation @ net_turn(rate, STEP), abs=1e-9)


def test_no_samples_and_no_rate_are_no_turn():
    assert net_turn(np.zeros((1, 3)), STEP).tolist() == [0, 0, 0]
    assert net_turn(np.zeros((50, 3)), STEP).tolist() == [0, 0, 0]
