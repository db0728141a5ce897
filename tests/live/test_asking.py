"""What is asked for next, and when enough was asked."""

import dataclasses

import numpy as np
import pytest
import records

from benchrig.capture.reader import read_capture
from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.job import judge
from benchrig.live.asking import LASTING, MOST_MOTIONS, MOST_OF_ONE, Ask, Fixed, Guided, Stop, open_in_words
from benchrig.live.evidence import Entry, Evidence, Judged
from benchrig.outcome import Finding, Outcome

LEVEL = Entry("level", 0.0, 3.0, "good")


def evidence(*names):
    made = [Entry(name, 4.0 + k, 4.5 + k, "good") for k, name in enumerate(names)]
    return Evidence((LEVEL, *made))


def asked(airframe, held, rounds, record=None, *, current=True):
    judged = None if record is None else Judged(record, 1)
    return Guided(airframe).next(held, rounds, judged, current=current)


def judged(verdict=Outcome.PASS, cells=None, **changes):
    frame = records.helicopter()
    return dataclasses.replace(records.record(frame, records.matrix(frame, cells)), verdict=verdict, **changes)


ALL = ("level", *REQUIRED_TURNS)


def test_the_level_rest_comes_first():
    assert asked(records.helicopter(), Evidence(), ()) == Ask("level")


def test_then_the_required_motions_come_in_turn_before_the_judge_has_spoken():
    assert asked(records.helicopter(), evidence(), ("level",)) == Ask("nose up")
    assert asked(records.helicopter(), evidence("nose up"), ("level", "nose up")) == Ask("nose down")


def test_of_the_motions_still_to_be_made_the_one_that_tells_most_comes_first():
    told = judged(Outcome.NOT_SHOWN, next_motion="yaw left")
    assert asked(records.helicopter(), evidence("nose up"), ("level", "nose up"), told, current=False) == Ask(
        "yaw left"
    )
    wave = judged(Outcome.NOT_SHOWN, next_motion="free")
    assert asked(records.helicopter(), evidence("nose up"), ("level", "nose up"), wave) == Ask("nose down")


def test_a_pass_does_not_stop_it_before_every_required_motion_has_been_made():
    early = judged(Outcome.PASS)
    assert asked(records.helicopter(), evidence("nose up"), ("level", "nose up"), early) == Ask("nose down")


def test_it_waits_for_a_judgement_of_everything_before_it_stops():
    held = evidence(*REQUIRED_TURNS)
    assert asked(records.helicopter(), held, ALL) is not None  # nothing could be judged at all: that is said
    assert asked(records.helicopter(), held, ALL, judged(), current=False) is None


@pytest.mark.parametrize(
    ("verdict", "why"),
    [
        (Outcome.PASS, "all that is required is shown"),
        (Outcome.FAIL, "what was found stands: no more motions would make it pass"),
    ],
)
def test_it_stops_where_the_verdict_stands(verdict, why):
    assert asked(records.helicopter(), evidence(*REQUIRED_TURNS), ALL, judged(verdict)) == Stop(why)


@pytest.mark.parametrize(
    ("cell", "motion", "why"),
    [
        ("yaw left/gyro", "yaw left", "still open: gyro, "),
        ("yaw right/tail", "yaw right", "still open: tail, "),
    ],
)
def test_the_motion_of_an_open_cell_is_asked_for_again_and_why_is_said(cell, motion, why):
    told = judged(Outcome.NOT_SHOWN, {cell: Outcome.NOT_SHOWN})
    decided = asked(records.helicopter(), evidence(*REQUIRED_TURNS), ALL, told)
    assert decided.motion == motion
    assert decided.why.startswith(why)


def test_how_a_motion_was_read_is_told_only_once_the_wiring_is_clear():
    """Whoever hears that the other way round was seen would turn the other way round next, and hide the fault."""
    told = judged(Outcome.NOT_SHOWN, {"nose up/gyro": Outcome.NOT_SHOWN})
    read = "asked nose up; saw nose down by 38°"
    cells = [
        dataclasses.replace(c, reason=read) if (c.motion, c.check) == ("nose up", "gyro") else c for c in told.matrix
    ]
    for sure, why in ((0.9998, "gyro in nose up"), (0.99991, f"gyro, {read}")):
        gyro = dataclasses.replace(told.gyro, found=np.eye(3), probability=sure)
        record = dataclasses.replace(told, matrix=tuple(cells), gyro=gyro)
        assert asked(records.helicopter(), evidence(*REQUIRED_TURNS), ALL, record) == Ask(
            "nose up", f"still open: {why}"
        )


def test_a_fail_whose_wiring_is_open_is_not_the_end_while_motions_can_tell_it():
    unnamed = Finding("wiring-open", "fail", "the gyro is surely not wired as declared.", "Do them again.")
    cells = {"yaw left/gyro": Outcome.NOT_SHOWN}
    told = dataclasses.replace(judged(Outcome.FAIL, cells, next_motion="yaw left"), findings=(unnamed,))
    assert asked(records.helicopter(), evidence(*REQUIRED_TURNS), ALL, told).motion == "yaw left"
    often = evidence(*REQUIRED_TURNS * MOST_OF_ONE, "free", "free")
    stays = "this stays open: the gyro is surely not wired as declared. Do them again."
    assert asked(records.helicopter(), often, ALL, told) == Stop(stays)


def test_open_sensors_come_before_open_actuators():
    cells = {"front": Outcome.NOT_SHOWN, "roll left/gyro": Outcome.NOT_SHOWN}
    decided = asked(records.helicopter(), evidence(*REQUIRED_TURNS), ALL, judged(Outcome.NOT_SHOWN, cells))
    assert decided.motion == "roll left"


def test_a_motion_is_not_asked_for_without_end():
    told = judged(Outcome.NOT_SHOWN, {"nose up/gyro": Outcome.NOT_SHOWN}, next_motion="nose up")
    often = evidence(*REQUIRED_TURNS, *["nose up"] * (MOST_OF_ONE - 1), "free", "free")
    finding = Finding("gaps", "not shown", "the stream has gaps inside 1 move.", "Record again.")
    decided = asked(records.helicopter(), often, ALL, dataclasses.replace(told, findings=(finding,)))
    assert decided == Stop("this stays open: the stream has gaps inside 1 move. Record again.")


def test_what_an_actuator_does_is_looked_at_three_times_at_most():
    told = judged(Outcome.NOT_SHOWN, {"front": Outcome.NOT_SHOWN})
    once, names = evidence(*REQUIRED_TURNS), []
    while isinstance(decided := asked(records.helicopter(), once, ALL, told), Ask):
        names.append(decided.motion)
        once = once.with_entry(Entry(decided.motion, 90.0 + len(names), 90.5 + len(names), "good"))
    assert sorted(names) == sorted(REQUIRED_TURNS * (MOST_OF_ONE - 1))


def test_a_session_has_an_upper_limit_of_motions():
    told = judged(Outcome.NOT_SHOWN, next_motion="free")
    decided = asked(records.helicopter(), evidence(*["free"] * MOST_MOTIONS), ALL, told)
    assert isinstance(decided, Stop)
    assert decided.why.startswith(f"after {MOST_MOTIONS} motions this stays open: ")


def test_what_stays_open_is_told_by_a_finding_a_cell_or_a_check_of_the_data():
    told = judged(Outcome.NOT_SHOWN, findings=())
    first = dataclasses.replace(told.matrix[0], outcome=Outcome.NOT_SHOWN, required=True, reason="it is not certain")
    by_cell = dataclasses.replace(told, matrix=(first, *told.matrix[1:]))
    assert open_in_words(by_cell) == f"{first.check} in {first.motion}: it is not certain"
    assert open_in_words(dataclasses.replace(told, health=())) == "nothing was judged"


def test_a_list_is_followed_as_it_stands_with_the_level_rest_first():
    fixed = Fixed(("roll right", "free"))
    names = []
    while isinstance(decided := fixed.next(Evidence(), names, None, current=False), Ask):
        names.append(decided.motion)
    assert names == ["level", "roll right", "free"]
    assert decided == Stop("all 3 motions of the list were asked for")
    assert Fixed(("level", "free")).next(Evidence(), ("level",), None, current=False) == Ask("free")


def unshown(check):
    told = judged(Outcome.NOT_SHOWN, next_motion="free")
    rest = [h for h in told.health if h.check != check]
    open_check = dataclasses.replace(told.health[0], check=check, outcome=Outcome.NOT_SHOWN, reason="it is so")
    return dataclasses.replace(told, health=(open_check, *rest), findings=())


def test_what_no_further_motion_can_mend_ends_the_session_once_all_were_made():
    decided = asked(records.helicopter(), evidence(*REQUIRED_TURNS), ALL, unshown("gyro noise"))
    assert isinstance(decided, Stop)
    assert asked(records.helicopter(), evidence("nose up"), ("level", "nose up"), unshown("gyro noise")) == Ask(
        "nose down"
    )


def test_a_gyro_without_a_bias_is_laid_down_once_more_and_then_left():
    told = unshown("gyro bias")
    again = asked(records.helicopter(), evidence("nose up"), ("level", "nose up"), told)
    assert again.motion == "level"
    twice = Evidence((*evidence("nose up").entries, Entry("level", 9.0, 12.0, "good")))
    assert isinstance(asked(records.helicopter(), twice, ("level", "nose up", "level"), told), Stop)


def test_the_checks_that_last_are_checks_that_the_judge_makes(captures, demo_airframe):
    record = judge(demo_airframe("dunlin"), read_capture(captures / "dunlin-ok.toml", demo_airframe("dunlin")))
    assert {*LASTING, "gyro bias"} <= {health.check for health in record.health}
