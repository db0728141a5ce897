"""Moves between rests: their turn, what gravity says of it, and what spoils them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.signals.moves import SAME_POSE, find_moves
from benchrig.signals.rests import find_rests

REST = ((0, 0, 0), 1.5)


def moves_of(even):
    stillness = find_rests(even)
    return find_moves(even, stillness.rests, stillness.bias)


@given(st.tuples(*[st.floats(-75, 75)] * 3).filter(lambda t: 15 < np.linalg.norm(t) < 130))
def test_a_turn_is_found_as_it_was_made(exact_stream, turn):
    (move,) = moves_of(exact_stream([REST, (turn, 1.0), REST]))
    assert np.degrees(move.turn) == pytest.approx(turn, abs=0.2)
    assert np.degrees(move.mirrored_turn) == pytest.approx([-angle for angle in turn], abs=0.2)
    assert np.degrees(move.angle) == pytest.approx(np.linalg.norm(turn), abs=0.2)


@pytest.mark.parametrize(("turn", "seen"), [((0, 40, 0), 40), ((40, 0, 0), 40), ((0, 0, 40), 0)])
def test_gravity_sees_a_tilt_and_is_blind_to_a_turn_about_itself(exact_stream, turn, seen):
    (move,) = moves_of(exact_stream([REST, (turn, 1.0), REST]))
    assert np.degrees(move.gravity_angle) == pytest.approx(seen, abs=0.1)


def test_gravity_is_read_in_the_still_edges(exact_stream):
    (move,) = moves_of(exact_stream([REST, ((0, 30, 0), 1.0), REST]))
    assert move.force_before == pytest.approx([0, 0, -9.80665], abs=0.01)
    assert move.force_after == pytest.approx([4.9033, 0, -8.4928], abs=0.01)


def test_a_bias_does_not_turn_the_airframe(exact_stream):
    (move,) = moves_of(exact_stream([REST, ((0, 30, 0), 1.0), REST], bias=np.radians([3.0, -4.0, 5.0])))
    assert np.degrees(move.turn) == pytest.approx([0, 30, 0], abs=0.3)


def test_the_uncertainty_grows_with_the_bias_uncertainty_and_the_time(exact_stream):
    even = exact_stream([REST, ((0, 30, 0), 1.0), REST])
    stillness = find_rests(even)
    certain, doubtful = (
        find_moves(even, stillness.rests, replace(stillness.bias, uncertainty=np.full(3, sd)))[0].turn_uncertainty
        for sd in (0.0, 0.01)
    )
    assert doubtful > certain + 0.01
    slow = exact_stream([REST, ((0, 30, 0), 6.0), REST])
    resting = find_rests(slow)
    longer = find_moves(slow, resting.rests, replace(resting.bias, uncertainty=np.full(3, 0.01)))[0]
    assert longer.turn_uncertainty > 1.5 * doubtful


def test_a_wobble_of_one_pose_is_no_move(exact_stream):
    small, large = np.degrees(SAME_POSE) - 2, np.degrees(SAME_POSE) + 2
    even = exact_stream([REST, ((small, 0, 0), 0.6), REST, ((0, large, 0), 0.6), REST])
    (move,) = moves_of(even)
    assert np.degrees(move.turn[1]) == pytest.approx(large, abs=0.2)


def test_a_gap_inside_a_move_is_marked_and_its_turn_not_guessed(exact_stream):
    even = exact_stream([REST, ((0, 40, 0), 1.0), REST])
    (move,) = moves_of(replace(even, segment=(even.time > 2.0).astype(np.int64)))
    assert move.gap
    assert move.turn.tolist() == [0, 0, 0]
    assert not moves_of(even)[0].gap


def lost(even, first, last):
    """Lose the samples of a stretch of time, as a link does, and number the segments."""
    kept = (even.time < first) | (even.time > last)
    names = ("time", "angular_rate", "acceleration", "gyro_clipped", "accelerometer_clipped")
    fewer = {name: getattr(even, name)[kept] for name in names}
    return replace(even, segment=(even.time[kept] > first).astype(np.int64), **fewer)


@pytest.mark.parametrize(("seconds", "moves"), [(0.2, 1), (0.6, 2)])
def test_a_short_loss_within_a_rest_spoils_no_move_and_a_long_one_is_told(exact_stream, seconds, moves):
    even = exact_stream([REST, REST, ((0, 40, 0), 1.0), REST])
    found = moves_of(lost(even, 1.0, 1.0 + seconds))
    assert [m.gap for m in found] == [True] * (moves - 1) + [False]
    assert np.degrees(found[-1].turn[1]) == pytest.approx(40.0, abs=0.2)


@pytest.mark.parametrize("sensor", ["gyro_clipped", "accelerometer_clipped"])
def test_a_clipped_sample_inside_a_move_is_marked_and_one_in_a_rest_is_not(exact_stream, sensor):
    even = exact_stream([REST, ((0, 40, 0), 1.0), REST])
    for moment, spoilt in ((2.0, True), (0.5, False)):
        marks = np.abs(even.time - moment) < 0.015
        (move,) = moves_of(replace(even, **{sensor: marks}))
        assert move.clipped is spoilt


def test_a_turn_of_270_degrees_keeps_its_way_round(exact_stream):
    (move,) = moves_of(exact_stream([REST, ((0, 0, 270), 3.0), REST]))
    assert np.degrees(move.turn) == pytest.approx([0, 0, 270], abs=0.5)
