"""What each witness can tell of the 2304 wirings, counted; and what the three tell together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.geometry.rotations import SIGNED_PERMUTATIONS, matrix_from_vector
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import find_rests
from benchrig.verdict.wirings import (
    CLASSES,
    OPERATOR_ERROR,
    PROPER,
    UPSIDE_DOWN,
    turned_under,
    weigh_agreement,
    weigh_level,
    weigh_prompts,
    weigh_wirings,
)

UP, ROLL, YAW, WAVE = (0, 35, 0), (35, 0, 0), (0, 0, 35), (40, -50, 60)
LEFT = np.array([0.0, 0.0, -9.80665])


def left_over(posterior):
    """Count the wirings that hold more than a 150th of the likeliest one's share."""
    shares = posterior.log_probability
    return int((shares > shares.max() - 5.0).sum())


def index_of(matrix):
    return next(k for k, known in enumerate(SIGNED_PERMUTATIONS) if np.array_equal(known, matrix))


def test_the_first_24_maps_are_the_proper_ones_and_the_first_of_all_changes_nothing():
    determinants = np.linalg.det(SIGNED_PERMUTATIONS).round()
    assert determinants.tolist() == [1] * PROPER + [-1] * PROPER
    assert SIGNED_PERMUTATIONS[0].tolist() == np.eye(3).tolist()
    assert len({m.tobytes() for m in SIGNED_PERMUTATIONS + 0.0}) == 48


def test_each_of_the_48_classes_holds_48_wirings():
    assert CLASSES.shape == (48, 48)
    assert np.bincount(CLASSES.ravel()).tolist() == [48] * 48


def test_the_class_of_agreement_holds_a_proper_gyro_map_with_plus_or_minus_the_same_for_the_accelerometer():
    # (Aw) × (Ag) = det(A) A (w × g): a mirrored map of both cannot agree, an accelerometer reversed as a whole can
    gyro, accelerometer = np.nonzero(CLASSES == 0)
    wanted = {(k, index_of(sign * SIGNED_PERMUTATIONS[k] + 0.0)) for k in range(PROPER) for sign in (1, -1)}
    assert set(zip(gyro.tolist(), accelerometer.tolist(), strict=True)) == wanted


@pytest.mark.parametrize("mirror", [np.diag([-1.0, 1.0, 1.0]), np.eye(3)[[1, 0, 2]], -np.eye(3)])
def test_a_left_handed_set_of_both_sensors_is_not_in_the_class_of_agreement(mirror):
    both = index_of(mirror)
    assert CLASSES[both, both] != 0


def test_the_table_follows_the_kinematics_whatever_the_wiring(exact_moves):
    # the moves of three different wirings: the class that fits best is the tabulated one
    for gyro, accelerometer in ((5, 11), (30, 2), (41, 44)):
        _, moves, _ = exact_moves(
            [(None, WAVE), (None, (-40, 20, 70)), (None, (60, 60, -30))],
            gyro=SIGNED_PERMUTATIONS[gyro],
            accelerometer=SIGNED_PERMUTATIONS[accelerometer],
        )
        likelihood, residual = weigh_agreement(moves)
        assert int(np.argmax(likelihood)) == CLASSES[gyro, accelerometer]
        assert residual[CLASSES[gyro, accelerometer]] < 1e-3


# verdict by enumeration: what the motions can tell, each made out and back from a level rest
@pytest.mark.parametrize(
    ("turns", "left"),
    [
        ([("nose up", UP)], 16),
        ([("nose up", UP), ("roll right", ROLL)], 2),
        ([("nose up", UP), ("yaw right", YAW)], 4),
        ([("roll right", ROLL), ("yaw right", YAW)], 4),
        ([("nose up", UP), ("roll right", ROLL), (None, WAVE)], 1),
        ([("nose up", UP), ("yaw right", YAW), (None, WAVE)], 1),
        ([("roll right", ROLL), ("yaw right", YAW), (None, WAVE)], 1),
        ([(None, WAVE), (None, (-40, 20, 70)), (None, (60, 60, -30))], 8),
    ],
)
def test_motions_leave_as_many_wirings_as_their_symmetry_does(weigh, turns, left):
    posterior = weigh(turns)
    assert left_over(posterior) == left
    assert posterior.log_probability[0, 0] == pytest.approx(posterior.log_probability.max(), abs=1e-3)


def test_a_level_rest_alone_leaves_384_wirings():
    posterior = weigh_wirings((), (), LEFT, np.eye(3))
    assert left_over(posterior) == 384
    # the accelerometer's z is settled, and no gyro map is likelier than another
    assert posterior.gyro == pytest.approx(np.full(48, 1 / 48))
    kept = SIGNED_PERMUTATIONS[posterior.accelerometer > 1e-3]
    assert len(kept) == 8
    assert all(m[2].tolist() == [0, 0, 1] for m in kept)


def test_without_the_level_rest_the_accelerometer_may_be_reversed_as_a_whole(weigh):
    posterior = weigh([("nose up", UP), ("roll right", ROLL), (None, WAVE)], level=False)
    assert left_over(posterior) == 2
    assert posterior.accelerometer[index_of(-np.eye(3) + 0.0)] == pytest.approx(0.5, abs=0.01)


def test_no_evidence_leaves_every_wiring_its_equal_share():
    posterior = weigh_wirings((), (), None, np.eye(3))
    assert np.exp(posterior.log_probability) == pytest.approx(np.full((48, 48), 1 / 2304))
    assert np.isnan(posterior.residual_rms)
    assert posterior.pairs == 0


def test_the_shares_add_up_to_one(weigh):
    posterior = weigh([("nose up", (7, 35, -6)), ("yaw left", (2, 1, -30))])
    assert posterior.gyro.sum() == pytest.approx(1)
    assert posterior.accelerometer.sum() == pytest.approx(1)


def test_a_move_with_a_gap_or_at_the_end_of_a_range_says_nothing_between_the_sensors(exact_moves):
    motions, moves, level = exact_moves([("nose up", UP), ("roll right", ROLL)])
    spoilt = [replace(m, **{flag: True}) for m, flag in zip(moves, ("gap", "clipped", "gap", "clipped"), strict=True)]
    assert weigh_wirings(motions, moves, level, np.eye(3)).pairs == 4
    assert weigh_wirings(motions, spoilt, level, np.eye(3)).pairs == 0


def test_a_turn_read_by_a_mirrored_gyro_is_told_apart_by_its_integral(exact_stream):
    # two turns do not commute: the reversed rates integrate to another turn than the reverse of the turn
    wired = PROPER + 3
    rest = ((0, 0, 0), 1.5)
    even = exact_stream([rest, ((60, 0, 0), 1.0), ((0, 70, 0), 1.0), rest], gyro=SIGNED_PERMUTATIONS[wired])
    stillness = find_rests(even)
    (move,) = find_moves(even, stillness.rests, stillness.bias)
    real = matrix_from_vector(np.radians([60.0, 0, 0])) @ matrix_from_vector(np.radians([0, 70.0, 0]))
    assert matrix_from_vector(turned_under(move, np.eye(3))[wired]) == pytest.approx(real, abs=2e-3)
    assert np.linalg.norm(move.turn + move.mirrored_turn) > 0.5


def test_one_prompt_done_the_wrong_way_is_outweighed_and_costs_one_error_of_the_operator(weigh):
    turns = [("nose up", UP), ("nose down", (0, 33, 0)), ("roll right", (35, 6, -5)), ("roll left", (-40, 5, 6))]
    turns += [("yaw right", (4, -5, 40)), ("yaw left", (3, 3, -35)), (None, WAVE)]
    posterior = weigh(turns)
    assert posterior.gyro[0] > 0.999
    assert posterior.gyro[0] < 1 - 1e-9


def test_one_spoilt_prompt_cannot_cost_a_wiring_more_than_the_operators_error(exact_moves):
    asked, _, _ = exact_moves([("nose up", UP)])
    weights = weigh_prompts(asked, np.eye(3))
    # the floor is the chance of an error, spread over the sphere
    assert np.log(OPERATOR_ERROR / (4 * np.pi)) <= weights.min() < np.log(OPERATOR_ERROR / (4 * np.pi)) + 1


@pytest.mark.parametrize("size", [9.80665, 1.0, 96.2])
def test_the_level_rest_weighs_a_direction_whatever_the_unit(size):
    weights = weigh_level(np.array([0.0, 0.0, -size]), np.eye(3))
    assert (weights > weights.max() - 1e-9).sum() == 8
    assert weights[index_of(-np.eye(3) + 0.0)] < np.log(UPSIDE_DOWN)


@pytest.mark.parametrize("level", [None, np.zeros(3), np.full(3, np.nan)])
def test_a_level_rest_without_a_reading_weighs_nothing(level):
    assert weigh_level(level, np.eye(3)).tolist() == [0.0] * 48


def test_found_mountings_are_told_in_body_axes(weigh):
    declared = SIGNED_PERMUTATIONS[7]
    posterior = weigh(
        [("nose up", UP), ("roll right", ROLL), (None, WAVE)], declared=declared, gyro=declared, accelerometer=declared
    )
    assert int(np.argmax(posterior.gyro)) == 0
    assert np.array_equal(posterior.mounting(0), declared)
    assert np.array_equal(posterior.mounting(9), declared @ SIGNED_PERMUTATIONS[9])
