"""The questions about actuators: their own words, each on a key of its own."""

import pytest
import records

from benchrig.declaration.actuators import Actuator
from benchrig.live.evidence import Entry, Evidence, Look
from benchrig.live.view import Question
from benchrig.live.words import NONE_SEEN, NOT_SEEN, questions_for, to_watch


def test_a_servo_of_the_plate_is_asked_about_by_up_and_down():
    (question,) = questions_for(records.airframe("one", "helicopter", (records.servo("front", 0.0),)), ())
    assert question.actuator == "front"
    assert question.answers == {"u": "plate up", "d": "plate down", "s": "still", NOT_SEEN: "not seen"}


@pytest.mark.parametrize(
    ("actuator", "keys"),
    [
        (records.tail(), {"l": "nose left", "r": "nose right"}),
        (records.surface("rudder", "rudder", "trailing edge right"), {"r": "trailing edge right"}),
        (records.surface("el", "elevator", "trailing edge up"), {"u": "trailing edge up", "d": "trailing edge down"}),
        (records.rotor("fr", 45.0, 0.2, "clockwise"), {"m": "more thrust", "l": "less thrust"}),
    ],
)
def test_every_kind_of_actuator_has_its_own_two_words(actuator, keys):
    (question,) = questions_for(records.airframe("one", "other", (actuator,)), ())
    assert keys.items() <= question.answers.items()
    assert len(question.answers) == 4


def test_a_tail_declared_by_thrust_is_asked_about_by_thrust():
    declared = records.tail()
    by_thrust = Actuator(
        "tail", "tail rotor", "more thrust", declared.effect, None, None, None, None, moves=declared.moves
    )
    (question,) = questions_for(records.airframe("one", "helicopter", (by_thrust,)), ())
    assert {"m": "more thrust", "l": "less thrust"}.items() <= question.answers.items()
    assert "nose left" not in question.answers.values()


def test_few_are_watched_at_once_and_none_twice():
    questions = [Question("", name, {}) for name in "abcd"]
    entry = Entry("nose up", 0.0, 1.0, looks=(Look("a", "still"),))
    assert to_watch(questions, Evidence(), "nose up", ()) == ("a", "b")
    assert to_watch(questions, Evidence((entry,)), "nose up", ()) == ("b", "c")
    assert to_watch(questions, Evidence((entry,)), "nose up", ("b", "c")) == ("d",)
    assert to_watch(questions, Evidence((entry,)), "roll right", ()) == ("a", "b")
    assert to_watch(questions, Evidence(), "level", ()) == to_watch((), Evidence(), "nose up", ()) == ()
    many = [Question("", str(number), {}) for number in range(8)]
    assert len(to_watch(many, Evidence(), "nose up", ())) == 3  # no motion is asked for more often than three times


def test_only_actuators_without_recorded_pulses_are_asked_about_and_several_can_be_passed_over_at_once():
    helicopter = records.helicopter()
    names = [a.name for a in helicopter.actuators]
    questions = questions_for(helicopter, names[:1])
    assert [q.actuator for q in questions] == names[1:]
    assert all(q.answers[NONE_SEEN] == "none of them seen" for q in questions)
    assert questions_for(helicopter, names) == ()


def test_what_has_no_words_of_its_own_is_not_asked_about():
    other = Actuator("flap", "other", "", records.tail().effect, None, None, None, None, {})
    assert questions_for(records.airframe("one", "other", (other,)), ()) == ()


def test_every_answer_is_a_word_that_a_manifest_takes():
    for question, actuator in zip(questions_for(records.helicopter(), ()), records.helicopter().actuators, strict=True):
        words = set(question.answers.values()) - {"not seen", "none of them seen", "still"}
        assert words <= set(actuator.moves)
