"""What an attempt is said to have looked like, and who is told of it."""

import numpy as np
import pytest

from benchrig.live.sighting import look_at, wanting
from benchrig.live.watch import Sensed

DECLARED = np.eye(3)


def sensed(turn_deg, gravity_deg=None, mirrored_deg=None):
    turn = np.radians(np.asarray(turn_deg, dtype=float))
    mirrored = -turn if mirrored_deg is None else np.radians(np.asarray(mirrored_deg, dtype=float))
    gravity = np.linalg.norm(turn) if gravity_deg is None else np.radians(gravity_deg)
    return Sensed(10.0, "hand", 0.6, 0.0, 9.4, turn, mirrored, float(gravity), 0.0, gap=False)


def test_a_turn_as_asked_is_good_and_told_with_its_size():
    seen = look_at("roll right", sensed([31, 4, -3]), DECLARED, is_clear=True)
    assert (seen.result, seen.sentence, seen.again) == ("good", "roll right by 31°", False)


def test_a_turn_with_much_about_another_axis_is_kept_and_the_other_axis_named():
    seen = look_at("roll right", sensed([30, 25, 0]), DECLARED, is_clear=True)
    assert seen.result == "good"
    assert seen.sentence == "roll right by 39°, with some nose up: kept; about one axis alone is better"


def test_another_turn_than_asked_is_named_and_asked_for_once_more_where_the_wiring_is_clear():
    seen = look_at("roll right", sensed([2, 24, 1]), DECLARED, is_clear=True)
    assert (seen.result, seen.again, seen.shown) == ("other", True, "nose up")
    assert seen.sentence == "asked roll right, saw nose up by 24°: once more, please: right side down"


def test_what_was_seen_twice_is_not_asked_for_a_third_time():
    seen = look_at("roll right", sensed([-30, 0, 0]), DECLARED, is_clear=True, repeats=1, before="roll left")
    assert not seen.again
    assert seen.sentence == "asked roll right, saw roll left by 30°, once more: kept, the verdict weighs it"


def test_a_motion_is_asked_for_again_twice_at_most():
    again = [look_at("yaw left", sensed([0, 30, 0]), DECLARED, is_clear=True, repeats=n).again for n in range(4)]
    assert again == [True, True, False, False]
    assert [wanting("small", "turned by 9°", "yaw left", n).again for n in range(4)] == [True, True, False, False]


@pytest.mark.parametrize("turn", [[30, 0, 0], [-30, 0, 0], [0, 30, 0], [0, 0, -30]])
def test_nobody_is_told_which_way_the_unit_read_a_turn_while_the_wiring_is_open(turn):
    seen = look_at("roll right", sensed(turn), DECLARED, is_clear=False)
    assert seen.sentence == "turned by 30°: kept"
    assert not seen.again
    assert (seen.result == "good") == (turn == [30, 0, 0])


def test_a_turn_too_small_is_asked_for_again_with_what_is_wanted():
    seen = look_at("nose down", sensed([0, -14, 0]), DECLARED, is_clear=False)
    assert (seen.result, seen.again) == ("small", True)
    assert seen.sentence == "turned by 14°, 25° or more are wanted: once more, please: nose down"


def test_a_gyro_that_sees_nothing_of_a_tilt_is_not_blamed_on_the_person():
    seen = look_at("nose up", sensed([0, 0.4, 0], gravity_deg=33), DECLARED, is_clear=False)
    assert (seen.result, seen.again) == ("blind", False)
    assert seen.sentence == "gravity turned by 33°, the gyro shows 0°: kept as it is"


def test_a_mounting_that_was_found_mirrored_reads_the_reversed_rates():
    mirrored = np.diag([-1.0, 1.0, 1.0])
    seen = look_at("roll right", sensed([-30, 0, 0], mirrored_deg=[30, 0, 0]), mirrored, is_clear=True)
    assert seen.result == "good"
