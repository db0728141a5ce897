"""Causes and remedies in the builder's words: what is said, what is advised, and what is left unsaid."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.geometry.directions import axis_words
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
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
    assert finding.text == "yaw left: it was not asked for in this capture."
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
