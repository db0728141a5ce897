"""What people do wrong with the transmitter: each gets a clear word, and never a pass."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pulse_trains import Output, codes, plane, read, recording, value

from benchrig.measure.link.measure import measure_link
from benchrig.outcome import Outcome

OFF, ON = ("transmitter off", "", 4.1, 7.6), ("transmitter on", "", 8.1, 10.0)
TO_1300 = "\n[link_loss]\nafter_s = 2\ngoes_to_us = { elevator = 1300 }\n"
STAYS = '\n[link_loss]\ngoes_to_us = { elevator = "stays" }\n'


@pytest.fixture
def tern(tmp_path):
    return lambda loss=TO_1300: read(tmp_path, plane(centre_us=1500) + loss)


def measured(rig, program, *, prompts=(OFF, ON), commands=None):
    return measure_link(rig, recording({"elevator": Output(program)}, prompts, duration=12.0, commands=commands))


@pytest.mark.parametrize("loss", [TO_1300, STAYS])
def test_a_transmitter_that_was_never_off_with_the_sticks_left_alone_is_a_doubt_with_both_causes(tern, loss):
    found = measured(tern(loss), [(0.0, 1500), (1.5, 1700)])
    assert codes(found) == ["link-not-lost"]
    assert "the transmitter was still on, or the receiver holds everything" in found.findings[0].text
    assert "jumps when the link is back" in found.findings[0].fix
    assert found.outcome is Outcome.NOT_SHOWN
    assert found.entries == ()


@pytest.mark.parametrize("loss", [TO_1300, STAYS, ""])
def test_a_transmitter_that_was_never_off_with_the_sticks_moving_is_found_out(tern, loss):
    program = [(0.0, 1500), (1.5, 1700), (4.6, 1400), (5.5, 1650), (6.5, 1500)]
    found = measured(tern(loss), program)
    assert "At 4 s the transmitter was not off: elevator moved 3 times meanwhile." in [f.text for f in found.findings]
    assert found.outcome is Outcome.NOT_SHOWN
    assert found.entries == ()


def test_one_move_that_follows_a_command_is_no_lost_link(tern):
    program = [(0.0, 1500), (1.5, 1700), (4.6, 1300), (8.3, 1500)]
    stick = {"elevator stick": Output([(when - 0.03 if when else 0.0, place) for when, place in program])}
    found = measured(tern(), program, commands=stick)
    assert "elevator followed a command" in found.findings[0].text
    assert value(found, "elevator, when the link is lost").outcome is Outcome.NOT_SHOWN
    assert measured(tern(), program).outcome is Outcome.PASS


def test_a_receiver_that_goes_to_the_wrong_place_fails(tern):
    found = measured(tern(), [(0.0, 1500), (1.5, 1700), (4.6, 1900), (8.3, 1500)])
    assert codes(found) == ["link-loss-differs"]
    assert found.outcome is Outcome.FAIL


def test_a_stick_held_where_the_servo_should_go_proves_nothing(tern):
    found = measured(tern(), [(0.0, 1500), (1.5, 1310), (4.6, 1300), (8.3, 1500)])
    assert found.outcome is Outcome.NOT_SHOWN
    assert "it stood where it should go already" in found.findings[0].text


def test_an_off_that_is_too_short_to_settle_is_a_doubt(tern):
    ramp = [(5.0 + 0.02 * k, 1700 - 2 * k) for k in range(200)]
    found = measured(tern(), [(0.0, 1500), (1.5, 1700), *ramp], prompts=(("transmitter off", "", 4.1, 6.0),))
    assert found.outcome is Outcome.NOT_SHOWN
    assert value(found, "elevator, when the link is lost").value is None


def test_a_logger_that_writes_only_changes_does_not_look_like_stopped_pulses(tern):
    whole = recording(
        {"elevator": Output([(0.0, 1500), (1.5, 1700), (4.6, 1300), (8.3, 1500)])}, (OFF, ON), duration=12.0
    )
    pulses = whole.pulses["elevator"]
    changed = [k for k in range(len(pulses.width)) if k == 0 or pulses.width[k] != pulses.width[k - 1]]
    sparse = replace(pulses, time=pulses.time[changed], width=pulses.width[changed])
    found = measure_link(tern(), replace(whole, pulses={"elevator": sparse}))
    assert found.outcome is Outcome.PASS


def test_a_switch_between_two_positions_is_a_doubt(tern):
    flips = [1100, 1900, 1100, 1900, 1430]
    program = [(0.0, 1500), *((2.0 + 2 * k, place) for k, place in enumerate(flips))]
    prompts = [("switch", "flaps", 1.8 + 2 * k, 3.2 + 2 * k) for k in range(len(flips))]
    made = recording({"elevator": Output(program)}, prompts, duration=14.0)
    found = measure_link(tern(""), made)
    texts = [f.text for f in found.findings if f.code == "switch-between"]
    assert texts == ['Switch "flaps": elevator landed once at 1430 µs, between 1100 and 1900 µs.']
    assert found.outcome is Outcome.NOT_SHOWN
