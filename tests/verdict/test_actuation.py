"""Which fault of the servos is named, and that the others are left in peace."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.job import judge
from benchrig.outcome import Outcome

FINDINGS = {
    ("dunlin", "servo-reversed=front"): {"front": "reversed"},
    ("dunlin", "servo-still=front"): {"front": "still"},
    ("dunlin", "servo-still=tail"): {"tail": "still"},
    ("dunlin", "servos-swapped=front,tail"): {"front": "swapped", "tail": "swapped"},
    ("dunlin", "servos-swapped=front,left rear"): {"front": "swapped", "left rear": "swapped"},
    ("dunlin", "plate-turned=-90"): {"front": "wrong axis", "left rear": "wrong axis", "right rear": "wrong axis"},
    ("dunlin", "axis-reversed=yaw"): {"tail": "reversed"},
    ("teal", "servo-reversed=rudder"): {"rudder": "reversed"},
    ("teal", "servo-still=left aileron"): {"left aileron": "still"},
    ("teal", "axis-reversed=roll"): {"left aileron": "reversed", "right aileron": "reversed"},
    ("knot", "servo-reversed=rear left"): {"rear left": "reversed"},
    ("knot", "servos-swapped=front left,front right"): {"front left": "swapped", "front right": "swapped"},
}


@pytest.mark.parametrize(("airframe", "fault"), FINDINGS)
def test_the_faulty_actuators_are_named_and_the_others_pass(judged, airframe, fault):
    record = judged(airframe, fault)
    named = {a.name: a.finding for a in record.actuators if a.outcome is Outcome.FAIL}
    assert named == FINDINGS[airframe, fault]
    assert {a.finding for a in record.actuators if a.outcome is not Outcome.FAIL} <= {"ok"}
    assert (record.verdict, record.sensing, record.correction) == (Outcome.FAIL, Outcome.PASS, Outcome.FAIL)


@pytest.mark.parametrize("airframe", ["dunlin", "teal", "knot"])
@pytest.mark.parametrize("seed", [1, 2])
def test_a_right_rig_answers_as_it_should_with_every_actuator(judged, airframe, seed):
    record = judged(airframe, seed=seed)
    assert {a.finding for a in record.actuators} == {"ok"}
    assert record.correction is Outcome.PASS
    for actuator, declared in zip(record.actuators, record.airframe.actuators, strict=True):
        response = np.array(list(actuator.response.values()))
        matters = np.abs(declared.effect) > 0.3
        assert (np.sign(response) == -np.sign(declared.effect))[matters].all()  # a longer pulse would help the motion


def test_two_that_are_swapped_name_each_other(judged):
    partners = {a.name: a.swapped_with for a in judged("dunlin", "servos-swapped=front,tail").actuators}
    assert partners == {"front": "tail", "tail": "front", "left rear": None, "right rear": None}


@pytest.mark.parametrize(("turned", "said"), [(30, "clockwise by about 30°"), (-90, "counter-clockwise by about 90°")])
def test_a_plate_mixed_for_another_layout_is_told_by_how_much_and_which_way(judged, turned, said):
    texts = [f.text for f in judged("dunlin", f"plate-turned={turned}").findings if f.code == "plate-layout-differs"]
    assert texts == [f"the plate is mixed for a layout turned {said}, seen from above."]


def test_a_plate_turned_by_half_a_turn_says_that_reversed_servos_look_the_same(judged):
    (finding,) = [f for f in judged("dunlin", "plate-turned=180").findings if f.code == "plate-layout-differs"]
    assert "All plate servos reversed would look the same: raise the collective" in finding.fix
    assert "corrections about roll and pitch both reversed are the same" in finding.fix
    assert "Do one of these, not both" in finding.fix


@pytest.mark.parametrize("faults", [("plate-turned=180",), ("axis-reversed=roll", "axis-reversed=pitch")])
def test_a_plate_turned_by_half_a_turn_is_named_once_and_not_again_as_reversed_axes(judged, faults):
    record = judged("dunlin", *faults)
    assert [f.code for f in record.findings if f.severity != "advice"] == ["plate-layout-differs"]


def test_one_axis_reversed_on_a_plate_is_still_the_axis(judged):
    (finding,) = [f for f in judged("dunlin", "axis-reversed=pitch").findings if f.code == "axis-reversed"]
    assert finding.text == "every actuator that acts about pitch answers it the wrong way."


def test_a_rotor_that_answers_the_wrong_way_is_not_to_be_turned_round(judged):
    (finding,) = [f for f in judged("knot", "servo-reversed=rear left").findings if f.severity == "fail"]
    assert finding.code == "actuator-reversed"
    assert finding.fix.startswith("Correct the sign of rear left's output in the unit's mixing.")
    assert "Do not reverse the motor's rotation" in finding.fix
    assert "linkage" not in finding.fix


def test_pulses_of_twice_the_length_are_a_fail_of_their_own(simulated_recording, demo_airframe):
    recording = simulated_recording("dunlin")
    front = recording.pulses["front"]
    double = dict(recording.pulses) | {"front": replace(front, width=2 * front.width)}
    record = judge(demo_airframe("dunlin"), replace(recording, pulses=double))
    (finding,) = [f for f in record.findings if f.severity == "fail"]
    assert finding.code == "pulse-length-wrong"
    assert "its pulses stand at about 3034 µs: pulses that no servo" in finding.text
    assert finding.fix.startswith("Leave the servo unplugged")


def test_exchanged_plugs_of_unlike_pulses_are_named_as_such(judged):
    record = judged("dunlin", "servos-swapped=front,tail", seed=6)
    assert [f.code for f in record.findings if f.severity == "fail"] == ["actuators-swapped"]


def test_a_column_that_is_named_and_blank_is_said_to_be_blank(simulated_recording, demo_airframe):
    recording = simulated_recording("dunlin")
    pulses = {name: one for name, one in recording.pulses.items() if name != "tail"}
    record = judge(demo_airframe("dunlin"), replace(recording, pulses=pulses, blank_pulses=frozenset({"tail"})))
    (tail,) = [a for a in record.actuators if a.name == "tail"]
    assert tail.reason == "its column is blank or zero in every row and nothing was noted as seen"
    assert record.verdict is Outcome.NOT_SHOWN


def test_an_axis_that_all_answer_wrongly_is_the_units_fault_and_not_the_servos(judged):
    codes = {f.code: f for f in judged("teal", "axis-reversed=roll").findings}
    assert codes["axis-reversed"].text == "every actuator that acts about roll answers it the wrong way."
    assert "the single servos are not at fault" in codes["axis-reversed"].fix
    assert "actuator-reversed" not in codes


def test_an_angle_part_that_goes_the_wrong_way_fails_although_the_rate_part_is_right(judged):
    record = judged("dunlin", "hold-reversed=roll")
    cells = [c for c in record.matrix if c.motion == "roll right" and c.check == "actuator:right rear"]
    assert [c.outcome for c in cells] == [Outcome.FAIL]
    assert cells[0].reason == "the part that answers the angle goes the wrong way"


def test_a_late_answer_fails_and_says_how_late(judged):
    record = judged("knot", "servos-late=150")
    assert record.correction is Outcome.FAIL
    assert {f.code for f in record.findings} == {"actuator-late"}
    assert all(a.latency_ms == pytest.approx(150, abs=12) for a in record.actuators)


def test_short_travel_fails_and_says_how_short(judged):
    record = judged("knot", "servo-stops=15")
    assert record.correction is Outcome.FAIL
    texts = [f.text for f in record.findings if f.code == "actuator-travel"]
    assert len(texts) == 4
    assert all("its pulses meet end stops 30 µs apart" in text for text in texts)


def test_without_pulses_and_without_a_look_nothing_is_shown(judged):
    record = judged("teal", pulses=False)
    assert (record.sensing, record.correction, record.verdict) == (
        Outcome.PASS,
        Outcome.NOT_SHOWN,
        Outcome.NOT_SHOWN,
    )
    assert {a.reason for a in record.actuators} == {"no pulses were recorded and nothing was noted as seen"}


def test_a_motion_that_is_missing_is_named_and_not_the_actuator(judged):
    record = judged("teal", "motion-missing=roll right")
    reasons = {a.name: a.reason for a in record.actuators}
    assert reasons["left aileron"] == "roll right is not among the motions of this capture"


def test_a_wrong_mounting_is_told_once_and_no_servo_is_blamed_for_it(judged):
    findings = judged("dunlin", "mounting=forward,right").findings
    assert [f.code for f in findings if f.code.startswith("actuator")] == ["actuators-after-sensor"]
    assert "so their own sense is not shown" in findings[-1].text
