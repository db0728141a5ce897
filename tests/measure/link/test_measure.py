"""What a lost link does, judged only where it is sure that the link was lost."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pulse_trains import TAIL, Output, codes, helicopter, plane, read, recording, value

from benchrig.errors import AirframeFileError, CaptureError
from benchrig.measure.amendment import amended
from benchrig.measure.link.measure import measure_link
from benchrig.outcome import Outcome

OFF, ON = ("transmitter off", "", 4.1, 7.6), ("transmitter on", "", 8.1, 10.0)
LOSS = '\n[link_loss]\nafter_s = 1.5\ngoes_to_us = { s0 = 1400, s1 = "stays", s2 = 1520, tail = 760 }\n'


def cut(levels, *, held=None, delay=0.6, lost=4.0, restored=8.2):
    """Program a channel: held over, lost after `delay` to `levels[1]`, back to `levels[2]`."""
    rest, gone, back = levels
    over = rest + 180 if held is None else held
    return [(0.0, rest), (1.5, over), (lost + delay, gone if gone is not None else over), (restored + 0.1, back)]


@pytest.fixture
def heron(tmp_path):
    return read(tmp_path, helicopter((0, 120, 240), extra=TAIL + "centre_us = 760\n" + LOSS, each="centre_us = 1520\n"))


def right_programs():
    return {
        "s0": cut((1520, 1400, 1520)),
        "s1": cut((1520, None, 1520)),
        "s2": cut((1520, 1520, 1520)),
        "tail": cut((760, 760, 760), held=820),
    }


def measured(rig, programs, prompts=(OFF, ON), *, commands=None, silent=None, duration=12.0):
    outputs = {
        name: Output(p, phase=0.003 * k, silent=(silent or {}).get(name, []))
        for k, (name, p) in enumerate(programs.items())
    }
    return measure_link(rig, recording(outputs, prompts, duration=duration, commands=commands))


def test_a_right_receiver_passes(heron):
    found = measured(heron, right_programs())
    assert found.outcome is Outcome.PASS
    assert codes(found) == []
    assert value(found, "s0, when the link is lost").value == pytest.approx(1400, abs=1)
    assert value(found, "s1, when the link is lost (declared: stays)").value == pytest.approx(1700, abs=1)
    time = value(found, "s0, time until it is there")
    assert abs(time.value - 0.5) < 3 * time.uncertainty
    assert time.uncertainty == pytest.approx(0.29, abs=0.01)


@pytest.mark.parametrize(
    ("name", "program", "said"),
    [
        (
            "s0",
            cut((1520, 1700, 1520), held=1560),
            "Actuator s0, when the link is lost: it goes to 1700 µs; declared to go to 1400 µs.",
        ),
        ("s1", cut((1520, 1520, 1520)), "Actuator s1, when the link is lost: it goes to 1520 µs; declared to stay."),
        (
            "s2",
            cut((1520, None, 1520)),
            "Actuator s2, when the link is lost: it stays where it was; declared to go to 1520 µs.",
        ),
    ],
)
def test_a_channel_that_goes_to_the_wrong_place_fails_alone(heron, name, program, said):
    found = measured(heron, right_programs() | {name: program})
    assert [f.text for f in found.findings if f.severity == "fail"] == [said]
    assert found.findings[0].code == "link-loss-differs"
    assert found.outcome is Outcome.FAIL


def test_only_the_time_of_what_was_declared_to_move_counts_as_declared(tmp_path):
    named = '\n[link_loss]\nafter_s = 1.5\ngoes_to_us = { s0 = 1400, s1 = "stays" }\n'
    rig = read(tmp_path, helicopter((0, 120, 240), extra=TAIL + named, each="centre_us = 1520\n"))
    found = measured(rig, right_programs() | {"s0": cut((1520, None, 1520)), "s2": cut((1520, None, 1520))})
    times = {name: value(found, f"{name}, time until it is there") for name in ("s0", "s1", "s2", "tail")}
    assert times["s1"].value is times["s2"].value is None
    assert {name: time.declared for name, time in times.items() if time.value is None} == {
        "s0": 1.5,
        "s1": None,
        "s2": None,
    }


def test_a_late_receiver_fails(heron):
    found = measured(heron, right_programs() | {"s0": cut((1520, 1400, 1520), delay=3.0)})
    assert codes(found) == ["link-loss-late"]
    assert "declared 1.5 s at the latest" in found.findings[0].text


def test_a_time_that_the_prompt_is_too_rough_for_is_not_shown(heron):
    found = measured(heron, right_programs() | {"s0": cut((1520, 1400, 1520), delay=1.4)})
    time = value(found, "s0, time until it is there")
    assert time.outcome is Outcome.NOT_SHOWN
    assert time.reason == "by the prompt, which is a person's: too rough to tell whether that is in time"
    (finding,) = found.findings
    assert finding.fix.startswith("Record the receiver's channels too, as [columns.commands]")


def test_commands_that_stop_tell_the_instant_of_the_loss(heron):
    commands = {"stick": Output([(0.0, 1500)], silent=[(4.0, 8.2)])}
    found = measured(heron, right_programs() | {"s0": cut((1520, 1400, 1520), delay=1.2)}, commands=commands)
    time = value(found, "s0, time until it is there")
    assert time.value == pytest.approx(1.2, abs=0.06)
    assert time.uncertainty < 0.01
    assert time.outcome is Outcome.PASS


def test_a_channel_that_stood_where_it_should_go_shows_nothing(heron):
    found = measured(heron, right_programs() | {"s2": cut((1520, 1520, 1520), held=1540)})
    assert value(found, "s2, when the link is lost").outcome is Outcome.NOT_SHOWN
    assert codes(found) == ["link-loss-not-shown"]
    assert "hold it elsewhere first" in found.findings[0].text


def test_a_channel_that_stays_at_its_centre_shows_nothing_of_staying(heron):
    found = measured(heron, right_programs() | {"s1": [(0.0, 1520)]})
    quantity = value(found, "s1, when the link is lost (declared: stays)")
    assert quantity.outcome is Outcome.NOT_SHOWN
    assert "staying and going there look alike" in quantity.reason


def test_a_receiver_that_holds_is_shown_by_the_jump_when_the_link_is_back(tmp_path):
    rig = read(tmp_path, plane(centre_us=1500) + '\n[link_loss]\ngoes_to_us = { elevator = "stays" }\n')
    found = measured(rig, {"elevator": cut((1500, None, 1500))})
    assert found.outcome is Outcome.PASS


def test_pulses_that_stop_fail_wherever_the_servo_was_to_go(heron):
    found = measured(heron, right_programs(), silent={"s1": [(4.2, 8.3)]})
    assert [f.code for f in found.findings] == ["link-loss-differs"]
    assert "its pulses stop, so nothing holds the servo" in found.findings[0].text


def test_lines_are_given_for_what_was_not_declared(tmp_path):
    rig = read(tmp_path, helicopter((0, 120, 240), each="centre_us = 1520\n"))
    programs = {name: p for name, p in right_programs().items() if name != "tail"}
    found = measured(rig, programs)
    assert found.outcome is Outcome.NOT_APPLICABLE
    assert {e.key: e.value for e in found.entries} == {"s0": 1400, "s1": "stays", "s2": 1520}
    again = read(tmp_path, amended(rig.source.file.read_text(encoding="utf-8"), found.entries))
    assert measured(again, programs).outcome is Outcome.PASS


GNAT = """[airframe]
name = "Gnat"
kind = "other"
[sensor]
axes = { x = "forward", y = "right" }
[[actuator]]
name = "motor"
drives = "rotor"
longer_pulse = "more thrust"
turns = "clockwise"
position_mm = { forward = 10 }
"""


@pytest.mark.parametrize("declared", ["", '"stays"', "1500", "1100", "1300"])
@pytest.mark.parametrize("centre", ["", "centre_us = 1050\n", "lowest_us = 1050\n"])
@pytest.mark.parametrize(
    ("after", "said"),
    [
        (1500, "it goes to more thrust, from 1200 to 1500 µs"),
        (1100, "it goes to 1100 µs, more thrust than at its rest, 1050 µs"),
        (None, "it runs on at 1200 µs, more thrust than at its rest, 1050 µs"),
    ],
)
def test_a_motor_with_more_thrust_at_loss_fails_whatever_is_declared(tmp_path, declared, centre, after, said):
    loss = f"\n[link_loss]\ngoes_to_us = {{ motor = {declared} }}\n" if declared else ""
    found = measured(read(tmp_path, GNAT + centre + loss), {"motor": cut((1050, after, 1050), held=1200)})
    assert found.outcome is Outcome.FAIL
    assert [f.code for f in found.findings if f.severity == "fail"] == ["link-loss-more-thrust"]
    assert found.findings[0].text == f"Actuator motor: when the link is lost {said}."
    assert found.entries == ()


def test_a_motor_that_stops_when_the_link_is_lost_passes_as_declared(tmp_path):
    loss = "\n[link_loss]\ngoes_to_us = { motor = 1050 }\n"
    found = measured(read(tmp_path, GNAT + loss), {"motor": cut((1050, 1050, 1150), held=1200)})
    assert (found.outcome, codes(found)) == (Outcome.PASS, [])


@pytest.mark.parametrize(("word", "after"), [("more thrust", 900), ("less thrust", 620)])
def test_a_tail_rotor_that_is_declared_by_thrust_fails_when_it_goes_to_more(tmp_path, word, after):
    tail = TAIL.replace("nose left", word) + "centre_us = 760\n"
    rig = read(
        tmp_path, helicopter((0, 120, 240), extra=tail + LOSS.replace("760", str(after)), each="centre_us = 1520\n")
    )
    found = measured(rig, right_programs() | {"tail": cut((760, after, 760), held=760)})
    assert codes(found) == ["link-loss-more-thrust"]


def test_nothing_that_fails_is_offered_as_a_line_and_nothing_says_that_nothing_was_judged(tmp_path):
    more = '[[actuator]]\nname = "rudder"\ndrives = "rudder"\nlonger_pulse = "trailing edge left"\n'
    rig = read(tmp_path, GNAT + more)
    found = measured(rig, {"motor": cut((1050, 1500, 1050), held=1200), "rudder": cut((1500, 1400, 1500))})
    assert found.outcome is Outcome.FAIL
    assert found.entries == ()
    assert "Lines for the airframe file: none is given while something fails." in found.unknown
    assert not any("judged" in f.text or "lines below" in f.fix for f in found.findings)


def test_a_motor_whose_pulses_stop_is_not_called_a_servo(tmp_path):
    loss = "\n[link_loss]\ngoes_to_us = { motor = 1050 }\n"
    found = measured(
        read(tmp_path, GNAT + loss), {"motor": cut((1050, None, 1050), held=1200)}, silent={"motor": [(4.2, 8.3)]}
    )
    assert "its pulses stop, so nothing tells the motor what to do" in found.findings[0].text
    assert {value(found, f"motor, time until it is {where}").reason for where in ("there", "back")} == {
        "its pulses stopped"
    }


def test_only_what_has_a_goal_is_held_against_the_time(tmp_path):
    loss = "\n[link_loss]\nafter_s = 1.5\ngoes_to_us = { s0 = 1400 }\n"
    rig = read(tmp_path, helicopter((0, 120, 240), extra=loss, each="centre_us = 1520\n"))
    programs = {name: p for name, p in right_programs().items() if name != "tail"}
    found = measured(rig, programs | {"s2": cut((1520, 1520, 1520), delay=3.0)})
    assert "link-loss-late" not in codes(found)
    times = {name: value(found, f"{name}, time until it is there") for name in ("s0", "s2")}
    assert (times["s0"].declared, times["s2"].declared) == (1.5, None)
    assert times["s2"].outcome is Outcome.NOT_APPLICABLE


def test_recorded_commands_that_do_not_stop_are_said_to_be_no_receivers_channels(heron):
    commands = {"stick": Output([(0.0, 1500)])}
    found = measured(heron, right_programs() | {"s0": cut((1520, 1400, 1520), delay=1.4)}, commands=commands)
    (finding,) = found.findings
    assert "since the recorded commands did not stop: too rough" in finding.text
    assert "record the receiver's own channels" in finding.fix


def test_without_any_pulses_the_first_finding_is_what_is_missing(heron):
    found = measured(heron, {})
    assert codes(found)[0] == "pulses-missing"
    assert "link-not-lost" not in codes(found)


def test_columns_that_are_named_and_blank_are_said_to_be_blank(heron):
    whole = recording({}, (OFF, ON), duration=12.0)
    found = measure_link(heron, replace(whole, blank_pulses=frozenset({"s0", "s1", "s2", "tail"})))
    assert found.findings[0].text == "The columns of s0, s1, s2, tail are named, and blank or zero in every row."


def test_a_pulse_beyond_the_declared_travel_is_named(tmp_path):
    rig = read(tmp_path, plane(centre_us=1500, lowest_us=1100, highest_us=1900))
    found = measured(rig, {"elevator": cut((1500, 2050, 1500))})
    assert "Actuator elevator was sent to 2050 µs, beyond 1100 to 1900 µs." in [f.text for f in found.findings]


def test_a_link_that_does_not_come_back_is_named(heron):
    programs = right_programs()
    programs["s0"] = programs["s0"][:3]
    programs["s1"], programs["s2"], programs["tail"] = (
        [(0.0, 1520), (1.5, 1700)],
        programs["s2"][:3],
        programs["tail"][:3],
    )
    assert "link-not-back" in codes(measured(heron, programs))


def test_nothing_tried_is_not_shown(heron):
    found = measured(heron, right_programs(), prompts=())
    assert codes(found) == ["link-not-tried"]
    assert found.outcome is Outcome.NOT_SHOWN
    assert value(found, "s0, when the link is lost").outcome is Outcome.NOT_SHOWN


def test_channels_without_pulses_are_named(heron):
    programs = {name: p for name, p in right_programs().items() if name != "tail"}
    found = measured(heron, programs)
    assert "No pulses of tail were recorded." in [f.text for f in found.findings]
    assert found.outcome is Outcome.NOT_SHOWN


def test_the_cautions_begin_with_a_motor_that_may_start(heron):
    assert measured(heron, right_programs()).cautions[0].startswith("A motor may start when the link is lost")


def test_the_figure_says_in_words_what_it_shows(heron):
    (figure,) = measured(heron, right_programs()).figures
    assert figure.title == "With the transmitter off, 3 of 4 channels go elsewhere."
    assert "s0 from 1700 to 1400 µs" in figure.description
    assert "s1 stayed" in figure.description


def test_bad_input_is_refused(tmp_path, heron):
    bare = read(tmp_path, plane().partition("[[actuator]]")[0])
    with pytest.raises(AirframeFileError, match="no actuator is declared"):
        measure_link(bare, recording({}, [], duration=3.0))
    with pytest.raises(CaptureError, match="write each step as \\[\\[motion\\]\\] with start_s, end_s and label"):
        measure_link(heron, recording({}, [("switch", "", None, None)], duration=3.0))


def test_of_several_losses_the_latest_time_is_held_against_the_limit(heron):
    quick, late = cut((1520, 1400, 1520), delay=0.2), cut((1520, 1400, 1520), delay=3.0)
    again = [(time + 10.0 * k, pulse) for k in (1, 2, 3) for time, pulse in (late if k == 2 else quick)]
    prompts = [
        (name, label, start + 10.0 * k, end + 10.0 * k) for k in range(4) for name, label, start, end in (OFF, ON)
    ]
    found = measured(heron, right_programs() | {"s0": [*quick, *again]}, prompts, duration=42.0)
    time = value(found, "s0, time until it is there")
    assert time.value == pytest.approx(3.0, abs=0.5)
    assert time.outcome is Outcome.FAIL


def test_a_channel_that_is_still_on_its_way_at_the_end_is_not_shown(heron):
    outputs = {name: Output(p, phase=0.003 * k) for k, (name, p) in enumerate(right_programs().items())}
    outputs["s0"] = Output(cut((1520, 1400, 1520), held=1700), limit=60.0)
    found = measure_link(heron, recording(outputs, (OFF, ON), duration=12.0))
    quantity = value(found, "s0, when the link is lost")
    assert quantity.outcome is Outcome.NOT_SHOWN
    assert quantity.reason == "it was still moving at the end of the prompt"


def test_a_channel_that_is_written_only_now_and_then_has_not_stopped(heron):
    # as silent with the link as without it
    found = measured(heron, right_programs(), silent={"s0": [(2.2, 3.4), (5.2, 6.6)]})
    assert value(found, "s0, when the link is lost").outcome is Outcome.PASS
    assert "link-loss-differs" not in codes(found)
