"""Causes and remedies in the builder's words: what is said, what is advised, and what is left unsaid."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.geometry.directions import axis_words
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.job import judge
from benchrig.outcome import Outcome

BUILDERS_WORDS = {
    ("dunlin", "mounting=forward,right"): (
        "mounting-differs",
        "its x arrow points forward, the file says aft; its y arrow points right, the file says left.",
        'write axes = { x = "forward", y = "right", z = "down" } in the airframe file.',
    ),
    ("knot", "mounting=right,aft"): (
        "mounting-differs",
        "its x arrow points right, the file says forward; its y arrow points aft, the file says right.",
        'write axes = { x = "right", y = "aft", z = "down" } in the airframe file.',
    ),
    ("knot", "gyro-sign=x"): (
        "gyro-axis-sign",
        "the gyro differs from the declaration: channel x measures minus x.",
        "Do not turn the unit.",
    ),
    ("knot", "gyro-swap=xy"): (
        "gyro-axes-swapped",
        "the gyro differs from the declaration: channel x measures y, channel y measures x.",
        "for the gyro alone: the accelerometer is not part of this fault.",
    ),
    ("knot", "accelerometer-sign=y"): (
        "accelerometer-axis-sign",
        "the accelerometer differs from the declaration: channel y measures minus y.",
        "for the accelerometer alone: the gyro is not part of this fault.",
    ),
    ("knot", "accelerometer-gravity"): (
        "accelerometer-reads-the-other",
        "the accelerometer reads gravity: an axis that points up reads -g at rest; the file says specific force.",
        'Write accelerometer_reads = "gravity" if the maker\'s manual agrees',
    ),
    ("knot", "both-sign=x"): (
        "left-handed-sensor",
        "gyro and accelerometer form a left-handed set: channel x measures minus x.",
        "No mounting can mend this.",
    ),
    ("knot", "gyro-scale=2"): (
        "gyro-size",
        "times what gravity shows: a range is set",
        "Correct the gyro's unit, range",
    ),
    ("knot", "gyro-radians"): ("gyro-size", "the numbers are rad/s, the manifest says deg/s", "in the manifest"),
    ("knot", "accelerometer-m-s2"): ("accelerometer-size", "the numbers are m/s², the manifest says g", "Correct its"),
    ("knot", "gyro-frozen=y"): ("channel-frozen", "gyro y does not change while the airframe turns.", "its driver"),
}


@pytest.mark.parametrize(("airframe", "fault"), BUILDERS_WORDS)
def test_a_fault_is_told_with_its_remedy_in_the_builders_words(judged, airframe, fault):
    code, text, fix = BUILDERS_WORDS[airframe, fault]
    record = judged(airframe, fault)
    found = [f for f in record.findings if f.code == code]
    assert len(found) == 1
    assert found[0].severity == "fail"
    assert text in found[0].text
    assert fix in found[0].fix
    assert record.verdict is Outcome.FAIL


@pytest.mark.parametrize("airframe", ["dunlin", "teal", "knot"])
def test_a_right_rig_is_told_of_nothing(judged, airframe):
    assert judged(airframe).findings == ()


def test_the_gravest_come_first(judged):
    order = [f.severity for f in judged("dunlin", "mounting=forward,right").findings]
    assert order == sorted(order, key=["fail", "not shown", "advice"].index)


def test_a_unit_turned_by_half_a_turn_may_be_an_operator_who_took_the_tail_for_the_nose(judged):
    turned, reversed_ = judged("knot", "mounting=aft,left"), judged("knot", "operator-reversed")
    for record in (turned, reversed_):
        (finding,) = [f for f in record.findings if f.code == "mounting-differs"]
        assert "an operator who took the tail for the nose in every tilt: mark the nose" in finding.fix
    # a quarter of a turn cannot come from that
    (finding,) = [f for f in judged("knot", "mounting=right,aft").findings if f.code == "mounting-differs"]
    assert "mark the nose" not in finding.fix


def test_one_motion_done_the_wrong_way_is_blamed_by_name_and_the_wiring_stands(judged):
    record = judged("knot", "operator-wrong=roll left")
    assert record.verdict is Outcome.NOT_SHOWN
    assert np.array_equal(record.gyro.found, np.eye(3))
    assert record.gyro.probability > 1 - 1e-4
    blamed = [f.text for f in record.findings if f.code == "operator-other-motion"]
    assert len(blamed) == 1
    assert blamed[0].startswith("asked roll left; saw roll right by ")


def test_both_motions_of_an_axis_done_the_wrong_way_are_never_a_fail(judged):
    for seed in (1, 2):
        record = judged("knot", "operator-wrong-pair=roll", seed=seed)
        assert record.verdict is Outcome.NOT_SHOWN
        assert not any(f.severity == "fail" for f in record.findings)


def test_a_motion_that_was_missed_is_asked_for_again(judged):
    record = judged("knot", "motion-missing=yaw left")
    (finding,) = [f for f in record.findings if f.code == "motion-missing"]
    assert finding.text == "yaw left: it is not among the motions of this capture."
    assert finding.fix == "Record yaw left again: 30° to 45°, held still for half a second before and after."


def test_motions_that_fail_for_one_reason_are_told_together(judged):
    record = judged("knot", "short-tilts=12")
    reasons = [f for f in record.findings if f.code == "motion-missing"]
    assert reasons
    assert record.verdict is Outcome.NOT_SHOWN


def test_gaps_and_clipping_inside_the_moves_are_doubts_with_a_remedy(judged):
    gaps = judged("knot", "gaps=3")
    assert [f.fix for f in gaps.findings if f.code == "gaps"] == [
        "Mend the link or the logger, and record these motions again."
    ]
    clipped = judged("knot", "gyro-clip=40")
    assert [f.fix for f in clipped.findings if f.code == "clipping"] == ["Choose a larger range, or move more gently."]
    assert gaps.verdict is clipped.verdict is Outcome.NOT_SHOWN


def test_a_recording_that_never_lies_still_is_told_to_begin_at_rest(judged):
    record = judged("knot", "gyro-bias=60")
    assert record.verdict is Outcome.NOT_SHOWN
    assert any(f.code == "gyro-bias-large" for f in record.findings)


def test_what_is_found_is_the_wiring_that_was_made(judged):
    for fault, gyro, accelerometer in (
        ("gyro-sign=z", np.diag([1.0, 1.0, -1.0]), np.eye(3)),
        ("accelerometer-swap=yz", np.eye(3), np.eye(3)[[0, 2, 1]]),
        (
            "mounting=up,right",
            np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]]),
            np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]]),
        ),
    ):
        record = judged("knot", fault)
        assert np.array_equal(record.gyro.found, gyro)
        assert np.array_equal(record.accelerometer.found, accelerometer)
        assert record.gyro.probability > 1 - 1e-5


def test_every_mounting_that_differs_is_told_with_a_declaration_that_would_hold(judged):

    for index in (3, 8, 14, 21):
        words = axis_words(SIGNED_PERMUTATIONS[index])
        record = judged("knot", f"mounting={words['x']},{words['y']}")
        (finding,) = [f for f in record.findings if f.code == "mounting-differs"]
        assert ", ".join(f'{axis} = "{words[axis]}"' for axis in "xyz") in finding.fix


def test_where_either_axis_could_have_been_turned_the_wrong_way_all_are_named_and_none_is_blamed(judged):
    record = judged("knot", "operator-wrong-pair=yaw")
    assert record.verdict is Outcome.NOT_SHOWN
    (found,) = [f for f in record.findings if f.code == "operator-other-motion"]
    for pair in ("nose up and nose down", "roll right and roll left", "yaw right and yaw left"):
        assert pair in found.text
    assert found.text.startswith("some motions were others than asked, and which is open: ")
    assert found.fix == "Do all six motions again, with the nose marked."
    assert not any("saw" in f"{f.text} {f.fix}" for f in record.findings)
    # nor does any cell claim to have seen what only one of the explanations says
    seen = [c for c in record.matrix if c.check in {"gyro", "attitude"} and c.observed is not None]
    assert seen == []


def test_a_gyro_that_is_surely_wrong_is_not_said_to_be_wired_in_one_of_several_ways(judged):
    record = judged("knot", "gyro-sign=z", "operator-wrong-pair=yaw")
    assert record.verdict is Outcome.FAIL
    assert record.gyro.probability < 0.5
    (first, *others) = record.findings
    assert (first.code, first.severity) == ("wiring-open", "fail")
    assert first.text == (
        "the gyro is surely not wired as declared, however the motions were made; how it is wired these motions do "
        "not tell."
    )
    assert first.fix == "Do all six motions again, with the nose marked: then it can be named."
    assert not any("saw" in f.text for f in others)
    assert record.next_motion is not None


def test_motions_alone_do_not_say_that_the_unit_is_surely_wrong(judged):
    motions = ("level", "nose up", "nose down", "roll left", "yaw right")
    record = judged("knot", *(f"operator-wrong={m}" for m in motions[1:4]), motions=motions)
    assert record.verdict is Outcome.FAIL
    assert not any("surely" in f.text for f in record.findings)


def test_a_motion_that_was_repeated_as_asked_leaves_nothing_to_do(simulated_recording, demo_airframe):
    motions = ("level", "nose up", *REQUIRED_TURNS)
    recording = simulated_recording("knot", motions=motions)
    prompts = [p for p in recording.prompts if p.name != "level"]
    wrong = replace(prompts[0], name="nose down")
    asked = tuple(wrong if p is prompts[0] else p for p in recording.prompts)
    record = judge(demo_airframe("knot"), replace(recording, prompts=asked))
    assert record.verdict is Outcome.PASS
    (note,) = [f for f in record.findings if f.code == "operator-other-motion"]
    assert (note.severity, note.text) == ("advice", "nose down was another motion once, and was repeated as asked.")
    assert note.fix == "Nothing: what it shows stands."


def test_a_motion_that_was_taken_back_is_told_so(simulated_recording, demo_airframe):
    recording = simulated_recording("knot", "motion-missing=yaw left")
    record = judge(demo_airframe("knot"), replace(recording, taken_back=("yaw left",)))
    (finding,) = [f for f in record.findings if f.code == "motion-missing"]
    assert finding.text == "yaw left: it was taken back, and not made again."
    assert all("yaw left was taken back" in a.reason for a in record.actuators if a.outcome is not Outcome.PASS)


def test_several_missing_motions_are_spoken_of_as_several(judged):
    record = judged("knot", motions=("level", "nose up"))
    (finding,) = [f for f in record.findings if f.code == "motion-missing"]
    assert finding.text.endswith("yaw left: they are not among the motions of this capture.")


def test_the_units_own_attitude_is_not_blamed_where_the_tail_may_have_been_taken_for_the_nose(judged):
    (doubtful,) = [f for f in judged("knot", "operator-reversed").findings if f.code == "unit-attitude-differs"]
    assert doubtful.fix.startswith("If the tail was taken for the nose, nothing is wrong with it: mark the nose")
    (plain,) = [f for f in judged("knot", "mounting=right,aft").findings if f.code == "unit-attitude-differs"]
    assert plain.text.startswith("the unit's own attitude goes the wrong way in: ")


@pytest.mark.parametrize(("turn", "severity"), [("15", "advice"), ("25", "not shown")])
def test_a_unit_that_reads_as_turned_is_told_so_before_it_is_sure(judged, turn, severity):
    record = judged("dunlin", f"misaligned={turn}")
    assert record.verdict is (Outcome.PASS if severity == "advice" else Outcome.NOT_SHOWN)
    (found,) = [f for f in record.findings if f.code == "perhaps-not-square"]
    assert found.severity == severity
    assert "the unit reads as turned from its declared mounting by yaw" in found.text
    assert ("it may be why its axes are not shown" in found.text) is (severity != "advice")
    assert "along a straight edge" in found.fix
