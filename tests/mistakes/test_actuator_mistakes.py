"""What people do wrong with servos and sweeps: each gets a clear word, and no wrong number."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pulse_trains import Output, codes, helicopter, plane, read, recording, sweep, swept, value, with_collective

from benchrig.measure.actuators.measure import measure_actuators
from benchrig.outcome import Outcome

AT_90 = (0, 90, 180, 270)
AT_120 = (0, 120, 240)


def servos(count, centre=1520):
    return {f"s{k}": centre for k in range(count)}


@pytest.fixture
def plate(tmp_path):
    return lambda azimuths, **options: read(tmp_path, helicopter(azimuths, **options))


@pytest.mark.parametrize("wrong", ["s0", "s1", "s2"])
def test_one_servo_reversed_in_a_sweep_of_the_whole_plate_is_named(plate, wrong):
    up = sweep(2.0, 1520, 1320, 1720)
    down = sweep(2.0, 1520, 1720, 1320)
    outputs = {name: Output([(0.0, 1520), *(down if name == wrong else up)]) for name in servos(3)}
    found = measure_actuators(plate(AT_120), recording(outputs, [("sweep", "collective", 1.8, 5.0)], duration=7.0))
    (finding,) = [f for f in found.findings if f.severity == "fail"]
    assert finding.code == "actuator-reversed"
    assert finding.text.startswith(f"Actuator {wrong} goes against the other servos of the plate")
    assert found.outcome is Outcome.FAIL


def test_a_servo_reversed_in_a_sweep_of_its_own_gets_its_ends_right_and_no_sense(tmp_path):
    output = Output([(0.0, 1500), *sweep(2.0, 1500, 1900, 1100)])
    found = measure_actuators(
        read(tmp_path, plane()), recording({"elevator": output}, [("sweep", "elevator", 1.8, 4.5)], duration=7.0)
    )
    assert value(found, "elevator, shortest pulse").value == pytest.approx(1100, abs=1)
    assert any("What a longer pulse does with elevator" in text for text in found.unknown)


@pytest.mark.parametrize("fourth", [0.5, -1.0, 1.6])
def test_a_fourth_servo_that_disagrees_never_passes(plate, fourth):
    outputs, prompts, end = swept(servos(4))
    changes = {"s0": 200, "s1": 200, "s2": 200, "s3": 200 * fourth}
    outputs, prompts, end = with_collective(outputs, prompts, end, changes)
    found = measure_actuators(plate(AT_90), recording(outputs, prompts, duration=end, rate=100.0))
    assert found.outcome is Outcome.FAIL
    assert any("s3" in f.text for f in found.findings if f.code in {"plate-binds", "actuator-reversed"})


def test_two_that_disagree_are_not_laid_on_one(plate):
    outputs, prompts, end = swept(servos(4))
    outputs, prompts, end = with_collective(outputs, prompts, end, {"s0": 200, "s1": 140, "s2": 200, "s3": 140})
    found = measure_actuators(plate(AT_90), recording(outputs, prompts, duration=end, rate=100.0))
    (binding,) = [f for f in found.findings if f.code == "plate-binds"]
    assert "its servos do not agree" in binding.text


@pytest.mark.parametrize(("declared", "sent"), [(1520, 760), (760, 1520)])
def test_the_wrong_kind_of_pulse_fails_and_is_not_scaled(tmp_path, declared, sent):
    outputs, prompts, end = swept({"elevator": sent}, reach=300)
    found = measure_actuators(read(tmp_path, plane(centre_us=declared)), recording(outputs, prompts, duration=end))
    assert found.outcome is Outcome.FAIL
    assert "Nothing was scaled" in found.findings[0].text
    assert value(found, "elevator, centre").value == pytest.approx(sent, abs=1)


def test_a_narrow_servo_among_wide_ones_is_not_laid_into_their_plane(plate):
    outputs, prompts, end = swept({"s0": 1520, "s1": 1520, "s2": 760})
    outputs, prompts, end = with_collective(outputs, prompts, end, {"s0": 200, "s1": 200, "s2": 100})
    found = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end, rate=100.0))
    assert not [q.name for q in found.quantities if q.name.startswith("plate")]
    assert any("some of its servos get narrow pulses and some wide ones" in text for text in found.unknown)


@pytest.mark.parametrize("rate", [25.0, 40.0])
def test_rows_slower_than_the_pulse_frame_are_named(tmp_path, rate):
    outputs, prompts, end = swept({"elevator": 1500}, limit=1500.0)
    made = recording(
        outputs, prompts, duration=end, rate=rate, commands={"elevator": Output(outputs["elevator"].program)}
    )
    found = measure_actuators(read(tmp_path, plane()), made)
    assert "recording-too-slow" in codes(found)
    assert value(found, "elevator, pulses a second").value is None
    assert value(found, "elevator, answer to its command").value is None
    # what needs no speed is still right
    assert value(found, "elevator, longest pulse").value == pytest.approx(1900, abs=2)


def test_the_sweep_of_one_that_moves_another_is_named(plate):
    outputs, prompts, end = swept({"s0": 1520, "s1": 1520, "s2": 1520})
    crossed = {"s0": outputs["s1"], "s1": outputs["s0"], "s2": outputs["s2"]}
    found = measure_actuators(plate(AT_120), recording(crossed, prompts, duration=end, rate=100.0))
    texts = [f.text for f in found.findings if f.code == "sweep-of-another"]
    assert texts == [
        "The sweep labelled s0 did not move it, and moved s1.",
        "The sweep labelled s1 did not move it, and moved s0.",
    ]
    assert value(found, "s0, longest pulse").value is None
    assert value(found, "s2, longest pulse").value == pytest.approx(1920, abs=1)


def test_a_sweep_that_does_not_stay_at_its_ends_says_how_to_do_it(tmp_path):
    output = Output([(0.0, 1500), (2.0, 1900), (2.1, 1100), (2.2, 1500)])
    found = measure_actuators(
        read(tmp_path, plane()), recording({"elevator": output}, [("sweep", "elevator", 1.8, 3.0)], duration=6.0)
    )
    (finding,) = found.findings
    assert finding.code == "sweep-incomplete"
    assert "half a second's stay at each" in finding.fix
    assert {e.key for e in found.entries} == {"centre_us"}
    assert found.outcome is Outcome.NOT_SHOWN


def test_a_slow_servo_among_the_plates_is_named(plate):
    outputs, prompts, end = swept(servos(3))
    outputs["s1"].limit = 1400.0
    found = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end))
    (finding,) = [f for f in found.findings if f.code == "actuator-slow"]
    assert finding.text.startswith(
        "Actuator s1 takes 0.57 s for its travel, the other servos of the plate about 0.27 s"
    )


def test_a_stick_moved_the_wrong_way_once_is_a_doubt_and_twice_a_fail(plate):
    outputs, prompts, end = swept(servos(3))
    down = dict.fromkeys(servos(3), -200)
    outputs, prompts, end = with_collective(outputs, prompts, end, down)
    once = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end, rate=100.0))
    outputs, prompts, end = with_collective(outputs, prompts, end, down)
    twice = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end, rate=100.0))
    assert (once.outcome, twice.outcome) == (Outcome.NOT_SHOWN, Outcome.FAIL)
    assert codes(once) == codes(twice) == ["collective-reversed"]
    assert once.findings[0].fix.startswith("Do it again, the stick the way that lifts")


def test_more_going_down_than_up_blames_no_single_servo(plate):
    outputs, prompts, end = swept(servos(3))
    outputs, prompts, end = with_collective(outputs, prompts, end, {"s0": 200, "s1": -200, "s2": -200})
    found = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end, rate=100.0))
    assert [f.code for f in found.findings if f.severity == "fail"] == ["actuators-disagree"]
    assert found.outcome is Outcome.FAIL


def test_a_stick_that_was_hardly_moved_shows_nothing(plate):
    outputs, prompts, end = swept(servos(3))
    outputs, prompts, end = with_collective(outputs, prompts, end, dict.fromkeys(servos(3), 8))
    found = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end, rate=100.0))
    assert codes(found) == ["collective-not-shown"]
    assert found.outcome is Outcome.NOT_SHOWN


def test_one_servo_that_does_not_answer_the_stick_is_named(plate):
    outputs, prompts, end = swept(servos(3))
    outputs, prompts, end = with_collective(outputs, prompts, end, {"s0": 200, "s1": 200})
    found = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end, rate=100.0))
    assert "Actuator s2 hardly moved at collective up, as others did." in [f.text for f in found.findings]


@pytest.mark.parametrize(("highest", "lowest"), [(1760, 1320), (1720, 1280)], ids=["further up", "further down"])
def test_a_servo_that_goes_too_far_makes_its_side_higher_at_the_top_and_lower_at_the_bottom(plate, highest, lowest):
    outputs = {name: Output([(0.0, 1520), *sweep(2.0, 1520, 1320, 1720)]) for name in servos(3)}
    outputs["s0"] = Output([(0.0, 1520), *sweep(2.0, 1520, lowest, highest)])
    found = measure_actuators(plate(AT_120), recording(outputs, [("sweep", "collective", 1.8, 5.0)], duration=7.0))
    # of three servos one that goes 40 µs too far lifts the middle by a third of it, and its side by two thirds more
    top, bottom = (value(found, f"plate, nose side against its middle at the {end}") for end in ("top", "bottom"))
    share = 100 * 26.7 / 213.3
    assert top.value == pytest.approx(share if highest > 1720 else 0.0, abs=0.2)
    assert bottom.value == pytest.approx(-share if lowest < 1320 else 0.0, abs=0.2)
    assert (top if highest > 1720 else bottom).reason.startswith("higher" if highest > 1720 else "lower")


def test_looks_that_contradict_each_other_are_said_to_and_no_servo_is_called_still(plate):
    outputs, prompts, end = swept(servos(3))
    outputs, prompts, end = with_collective(outputs, prompts, end, dict.fromkeys(servos(3), 200))
    outputs, prompts, end = with_collective(outputs, prompts, end, {"s0": 200, "s1": -200, "s2": 200})
    found = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end, rate=100.0))
    assert codes(found) == ["collective-not-shown"]
    assert "Actuator s1 went one way in one look at collective up, and the other way" in found.findings[0].text
    assert found.outcome is Outcome.NOT_SHOWN


@pytest.mark.parametrize(("looks", "said"), [(1, "by one look"), (2, "by two looks")])
def test_a_sense_says_by_how_many_looks_it_is_shown(plate, looks, said):
    outputs, prompts, end = swept(servos(3))
    for _ in range(looks):
        outputs, prompts, end = with_collective(outputs, prompts, end, dict.fromkeys(servos(3), 200))
    found = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end, rate=100.0))
    lift = value(found, "s0, change at collective up")
    assert lift.outcome is Outcome.PASS
    assert lift.limit.endswith(said)
    assert lift.reason.endswith(said)
    assert any("one look is one person's word" in line for line in found.unknown) == (looks == 1)


def test_a_reversed_servo_leaves_no_lift_to_hold_a_tilt_against(plate):
    outputs, prompts, end = swept(servos(3))
    outputs, prompts, end = with_collective(outputs, prompts, end, {"s0": 200, "s1": 200, "s2": -220})
    found = measure_actuators(plate(AT_120), recording(outputs, prompts, duration=end, rate=100.0))
    tilt = value(found, "plate, nose side against its middle at collective up")
    assert (tilt.value, tilt.outcome) == (None, Outcome.NOT_SHOWN)
    assert "its servos do not all go one way" in tilt.reason
    assert [f.code for f in found.findings if f.severity == "fail"] == ["actuator-reversed"]


def test_pulses_of_twice_the_length_are_a_fail_of_their_own(tmp_path):
    outputs, prompts, end = swept({"elevator": 1517})
    double = Output([(when, 2 * width) for when, width in outputs["elevator"].program])
    found = measure_actuators(
        read(tmp_path, plane(centre_us=1517)), recording({"elevator": double}, prompts, duration=end)
    )
    assert codes(found)[0] == "pulse-length-wrong"
    assert "Actuator elevator gets pulses of 3034 µs" in found.findings[0].text
    assert found.findings[0].fix.startswith("Leave the servo unplugged")
    assert found.outcome is Outcome.FAIL
    assert found.entries == ()


def test_columns_that_are_named_and_blank_are_said_to_be_blank(tmp_path):
    whole = recording({}, [("sweep", "elevator", 1.8, 3.0)], duration=6.0)
    found = measure_actuators(read(tmp_path, plane()), replace(whole, blank_pulses=frozenset({"elevator"})))
    assert found.findings[0].text == "The columns of elevator are named, and blank or zero in every row."
    assert "Name the column" not in found.findings[0].fix
    assert value(found, "elevator, centre").reason == "its column is blank or zero in every row"


PAIR = """
[[actuator]]
name = "{side}"
drives = "{side} aileron"
longer_pulse = "trailing edge up"
"""


def test_a_slow_surface_is_held_against_its_like_and_else_against_time(tmp_path):
    rig = read(tmp_path, plane() + PAIR.format(side="left") + PAIR.format(side="right"))
    outputs, prompts, end = swept({"elevator": 1500, "left": 1500, "right": 1500}, reach=300)
    right = measure_actuators(rig, recording(outputs, prompts, duration=end))
    assert "actuator-slow" not in codes(right)
    outputs["left"].limit = outputs["elevator"].limit = 1000.0
    found = measure_actuators(rig, recording(outputs, prompts, duration=end))
    said = {f.severity: f.text for f in found.findings if f.code == "actuator-slow"}
    assert said["fail"] == "Actuator left takes 0.60 s for its travel, the other ailerons about 0.20 s."
    assert said["advice"] == "Actuator elevator takes 0.60 s for its travel; 0.5 s is much already."
    assert sum(f.code == "actuator-slow" for f in found.findings) == 2
