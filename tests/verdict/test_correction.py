"""What was seen by eye: right, wrong, still, contradicting, and set against recorded pulses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.recording import Seen
from benchrig.geometry.turns import TURNS
from benchrig.job import judge
from benchrig.outcome import Outcome
from benchrig.verdict.bench import measure_bench
from benchrig.verdict.correction import word_for
from benchrig.verdict.done import real_turn, what_was_done
from benchrig.verdict.wirings import OPERATOR_ERROR


@pytest.fixture(scope="module")
def looked(demo_airframe, simulated_recording):
    """Judge a right aeroplane with looks of the test's own; pulses only where asked for."""

    def make(*looks, pulses=False, **options):
        recording = simulated_recording("teal", pulses=pulses, slop_deg=3.0, **options)
        seen = tuple(Seen(motion, actuator, moved, "") for motion, actuator, moved in looks)
        return judge(demo_airframe("teal"), replace(recording, seen=seen))

    return make


def cell(record, motion, actuator):
    (found,) = [c for c in record.matrix if c.motion == motion and c.check == f"actuator:{actuator}"]
    return found


def test_a_right_look_passes_by_eye_and_only_as_surely_as_a_person_looks(looked):
    found = cell(looked(("nose up", "elevator", "trailing edge down")), "nose up", "elevator")
    assert (found.outcome, found.evidence, found.observed) == (Outcome.PASS, "seen", "trailing edge down")
    assert found.wrong_pass_bound == pytest.approx(OPERATOR_ERROR)
    assert "seen to go trailing edge down, once by eye" in found.reason


def test_two_motions_looked_at_are_surer_but_one_written_down_twice_is_not(looked):
    look = ("nose up", "elevator", "trailing edge down")
    twice = ("level", "nose up", "nose down", "nose up", "roll right", "roll left", "yaw right", "yaw left", "free")
    once = cell(looked(look, look), "nose up", "elevator")
    again = cell(looked(look, look, motions=twice), "nose up", "elevator")
    assert once.wrong_pass_bound == pytest.approx(OPERATOR_ERROR)
    assert again.wrong_pass_bound == pytest.approx(OPERATOR_ERROR**2)


def test_a_wrong_look_fails_and_says_what_would_be_right(looked):
    found = cell(looked(("nose up", "elevator", "trailing edge up")), "nose up", "elevator")
    assert (found.outcome, found.wrong_pass_bound) == (Outcome.FAIL, None)
    assert found.reason == "seen to go trailing edge up; trailing edge down would be right"


def test_looks_that_contradict_each_other_show_nothing(looked):
    looks = [("nose up", "elevator", word) for word in ("trailing edge down", "trailing edge up")]
    found = cell(looked(*looks), "nose up", "elevator")
    assert found.outcome is Outcome.NOT_SHOWN
    assert found.reason == "what was seen differs from look to look: trailing edge down, trailing edge up"


def test_a_surface_seen_still_where_it_should_answer_fails(looked):
    assert cell(looked(("nose up", "elevator", "still")), "nose up", "elevator").outcome is Outcome.FAIL


def test_a_servo_seen_still_in_a_turn_whose_other_axes_undo_its_answer_speaks_against_nothing(
    demo_airframe, simulated_recording
):
    airframe = demo_airframe("dunlin")
    recording = simulated_recording("dunlin", pulses=False, slop_deg=12.0, seed=2)
    servos = [a for a in airframe.actuators if a.name != "tail"]
    motions = ("nose up", "nose down", "roll right", "roll left")
    seen = tuple(Seen(motion, servo.name, "still", "") for motion in motions for servo in servos)
    record = judge(airframe, replace(recording, seen=seen))
    bench = measure_bench(airframe, recording)
    found = {Outcome.FAIL: 0, Outcome.NOT_SHOWN: 0}
    for motion in motions:
        (made,) = what_was_done(bench, motion).good
        for servo in servos:
            axis = TURNS[motion][0]
            wanted = servo.effect * real_turn(bench, made)
            if abs(servo.effect[axis]) < 0.1:
                continue
            undone = -sum(min(part * np.sign(wanted[axis]), 0.0) for part in wanted) > 0.3 * abs(wanted[axis])
            outcome = cell(record, motion, servo.name).outcome
            assert outcome is (Outcome.NOT_SHOWN if undone else Outcome.FAIL)
            found[outcome] += 1
    assert all(found.values())


def test_a_surface_seen_still_where_it_should_rest_passes_and_one_that_moves_there_does_not(looked):
    assert cell(looked(("nose up", "rudder", "still")), "nose up", "rudder").outcome is Outcome.PASS
    moved = cell(looked(("nose up", "rudder", "trailing edge left")), "nose up", "rudder")
    assert (moved.outcome, moved.expected) == (Outcome.NOT_SHOWN, "still")
    assert moved.reason.startswith("seen to go trailing edge left where it should stay still")


def test_a_look_at_one_motion_says_nothing_of_another(looked):
    record = looked(("nose up", "elevator", "trailing edge down"))
    assert cell(record, "nose down", "elevator").outcome is Outcome.NOT_SHOWN
    assert record.correction is Outcome.NOT_SHOWN


def test_pulses_that_are_right_do_not_outweigh_a_linkage_that_was_seen_to_go_wrong(looked):
    found = cell(looked(("nose up", "elevator", "trailing edge up"), pulses=True), "nose up", "elevator")
    assert (found.outcome, found.evidence) == (Outcome.FAIL, "seen")


def test_pulses_that_are_right_do_not_settle_looks_that_contradict_each_other(looked):
    looks = [("nose up", "elevator", word) for word in ("trailing edge down", "trailing edge up")]
    record = looked(*looks, pulses=True)
    assert cell(record, "nose up", "elevator").outcome is Outcome.NOT_SHOWN
    assert record.verdict is Outcome.NOT_SHOWN


def test_a_right_look_does_not_mend_pulses_that_are_wrong(demo_airframe, simulated_recording):
    recording = simulated_recording("teal", "servo-reversed=elevator", slop_deg=3.0)
    seen = (Seen("nose up", "elevator", "trailing edge down", ""),)
    found = cell(judge(demo_airframe("teal"), replace(recording, seen=seen)), "nose up", "elevator")
    assert (found.outcome, found.evidence) == (Outcome.FAIL, "recorded")


def test_pulses_and_a_look_that_agree_pass_by_the_pulses(looked):
    found = cell(looked(("nose up", "elevator", "trailing edge down"), pulses=True), "nose up", "elevator")
    assert (found.outcome, found.evidence) == (Outcome.PASS, "recorded")


def test_seen_in_every_motion_the_airframe_passes_by_eye_with_the_bound_of_a_look(simulated_recording, demo_airframe):
    record = judge(demo_airframe("teal"), simulated_recording("teal", pulses=False, seen=True, slop_deg=3.0))
    assert record.verdict is Outcome.PASS
    assert record.wrong_pass_bound >= OPERATOR_ERROR


def test_a_linkage_that_turns_the_motion_round_is_found_by_eye_alone(judged):
    by_pulses = judged("teal", "linkage-reversed=elevator", slop_deg=3.0)
    by_eye = judged("teal", "linkage-reversed=elevator", slop_deg=3.0, seen=True)
    assert (by_pulses.correction, by_eye.correction) == (Outcome.PASS, Outcome.FAIL)
    assert [a.finding for a in by_eye.actuators if a.outcome is Outcome.FAIL] == ["reversed"]


@pytest.mark.parametrize(
    ("name", "change", "word"),
    [
        ("front", 1e-5, "plate up"),
        ("front", -1e-5, "plate down"),
        ("right rear", 1e-5, "plate down"),
        ("right rear", -1e-5, "plate up"),
        ("tail", 1e-5, "nose left"),
        ("tail", -1e-5, "nose right"),
        ("tail", 0.0, "still"),
    ],
)
def test_a_change_of_pulse_is_told_in_the_actuators_own_words(demo_airframe, name, change, word):
    assert word_for(demo_airframe("dunlin").actuator(name), change) == word
