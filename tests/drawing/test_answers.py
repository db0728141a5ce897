"""The way each actuator must go against a disturbance."""

from __future__ import annotations

import numpy as np
import pytest
import records

from benchrig.drawing.answers import SHOWN, answer_picture, answers, corrective, disturbance_key
from benchrig.drawing.shapes import Arrow, Polyline
from benchrig.geometry.turns import REQUIRED_TURNS, turn_axis

# Each line follows from the part's geometry alone: the surfaces after the sign list of DAVE-ML, a plate servo lifts the
# side it stands on, more thrust lifts the side its rotor stands on, a clockwise rotor turns the airframe the other way.
BY_HAND = [
    (records.surface("a", "left aileron", "trailing edge up"), "roll right", "trailing edge up"),
    (records.surface("a", "right aileron", "trailing edge up"), "roll right", "trailing edge down"),
    (records.surface("a", "elevator", "trailing edge down"), "nose up", "trailing edge down"),
    (records.surface("a", "elevator", "trailing edge down"), "roll left", "still"),
    (records.surface("a", "rudder", "trailing edge right"), "yaw right", "trailing edge left"),
    (records.surface("a", "left elevon", "trailing edge up"), "nose down", "trailing edge up"),
    (records.servo("a", 0.0), "nose up", "plate down"),
    (records.servo("a", 0.0), "roll right", "still"),
    (records.servo("a", 90.0), "roll right", "plate up"),
    (records.servo("a", 240.0), "roll right", "plate down"),
    (records.tail(), "yaw right", "nose left"),
    (records.tail(), "yaw left", "nose right"),
    (records.rotor("a", 90.0, 0.2, "clockwise"), "roll right", "more thrust"),
    (records.rotor("a", 0.0, 0.2, "clockwise"), "nose up", "less thrust"),
    (records.rotor("a", 0.0, 0.2, "clockwise"), "yaw right", "more thrust"),
    (records.rotor("a", 0.0, 0.2, "counter-clockwise"), "yaw right", "less thrust"),
]


@pytest.mark.parametrize(("actuator", "motion", "word"), BY_HAND)
def test_an_actuator_works_against_the_turn(actuator, motion, word):
    assert corrective(actuator, motion) == word


@pytest.mark.parametrize("name", ["right", "aeroplane", "eight-rotors"])
@pytest.mark.parametrize("motion", REQUIRED_TURNS)
def test_all_answers_together_turn_the_airframe_back(name, motion):
    frame = records.ALL[name]().airframe
    pulses = []
    for actuator in frame.actuators:
        word = corrective(actuator, motion)
        pulses.append(0 if word == "still" else 1 if word == actuator.longer_pulse else -1)
    assert np.array(pulses) @ frame.effects @ turn_axis(motion) < 0


def test_an_actuator_without_words_of_its_own_is_told_by_its_pulse():
    other = records.servo("a", 0.0).__class__(
        "a", "other", "", np.array([1.0, 0.0, 0.0]), None, None, None, None, {}
    )  # fmt: skip
    assert corrective(other, "roll right") == "shorter pulse"
    assert corrective(other, "roll left") == "longer pulse"
    assert corrective(other, "nose up") == "still"


def test_the_picture_says_in_words_what_it_shows():
    picture = answer_picture(records.helicopter(), "nose up")
    assert picture.description == "front: plate down; right rear: plate up; left rear: plate up; tail: still."


def test_a_tail_that_must_turn_the_nose_left_is_pushed_right():
    picture = answer_picture(records.helicopter(), "yaw right")
    (push,) = [shape for shape in picture.shapes if isinstance(shape, Arrow) and shape.role == "answer"]
    assert push.points[-1][0] > push.points[0][0]


def test_more_thrust_is_a_plus_and_less_a_minus():
    frame = records.airframe("a", "multirotor", (records.rotor("only", 90.0, 0.2, "clockwise"),))
    strokes = {
        motion: sum(isinstance(s, Polyline) and s.role == "answer" for s in answer_picture(frame, motion).shapes)
        for motion in ("roll right", "roll left")
    }
    assert strokes == {"roll right": 2, "roll left": 1}


@pytest.mark.parametrize(
    ("motion", "words"),
    [
        ("nose up", "nose up (dot), tail down (cross)"),
        ("nose down", "tail up (dot), nose down (cross)"),
        ("roll right", "left side up (dot), right side down (cross)"),
        ("yaw left", "nose to the left"),
    ],
)
def test_the_caption_says_which_side_rises(motion, words):
    assert disturbance_key(motion) == words


def test_every_shown_disturbance_lists_every_actuator():
    frame = records.eight_rotors().airframe
    for motion in SHOWN:
        assert [name for name, _ in answers(frame, motion)] == [a.name for a in frame.actuators]
