"""What the person at the bench is shown of the judge, and which way they are told that the airframe turned."""

import dataclasses

import numpy as np
import pytest
import records

from benchrig.errors import Problem
from benchrig.live.evidence import Judged
from benchrig.live.showing import ANGLE_RATIO, gyro_scale_of, mounting_of, standing_of, view_of
from benchrig.live.state import HOLD_S, LEVEL_S, State
from benchrig.live.view import Heard, Question, Standing
from benchrig.live.watch import Sensed
from benchrig.outcome import Finding, Outcome
from benchrig.verdict.diagnosis import UNFIT

DECLARED = records.helicopter().sensor.body_from_sensor
OTHER = np.diag([1.0, -1.0, -1.0])


def judged(**changes):
    return Judged(dataclasses.replace(records.right_helicopter(), **changes), 1)


def found(matrix, probability, outcome=Outcome.PASS):
    return judged(gyro=records.found(matrix, outcome, probability))


@pytest.mark.parametrize(
    ("heard", "which"),
    [
        (None, "open"),
        (found(None, None, Outcome.NOT_SHOWN), "open"),
        (found(DECLARED, 0.99), "open"),
        (found(DECLARED, 0.99999), "declared"),
        (found(OTHER, 0.99, Outcome.FAIL), "open"),
        (found(OTHER, 0.99999, Outcome.FAIL), "found"),
    ],
)
def test_which_way_it_turned_is_told_once_one_wiring_is_clear_and_by_that_one(heard, which):
    matrix, said = mounting_of(DECLARED, heard)
    assert said == which
    np.testing.assert_array_equal(matrix, OTHER if which == "found" else DECLARED)


def ratio(value, outcome):
    health = dataclasses.replace(records.right_helicopter().health[0], check=ANGLE_RATIO, value=value, outcome=outcome)
    return judged(health=(health,))


@pytest.mark.parametrize(
    ("heard", "scale"),
    [
        (None, None),
        (judged(health=()), None),
        (ratio(None, Outcome.NOT_SHOWN), None),
        (ratio(1.02, Outcome.PASS), 1.0),
        (ratio(57.3, Outcome.FAIL), pytest.approx(1 / 57.3)),
        (ratio(0.5, Outcome.FAIL), pytest.approx(2.0)),
    ],
)
def test_the_size_of_the_gyro_is_taken_from_the_judge_where_it_is_wrong(heard, scale):
    assert gyro_scale_of(heard) == scale


def test_what_the_judge_says_so_far_is_shown_cell_by_cell_with_the_gravest_finding():
    assert standing_of(None) == Standing()
    grave = Finding("mounting-differs", "fail", "the unit sits otherwise than declared.", "Turn it.")
    standing = standing_of(judged(verdict=Outcome.FAIL, findings=(grave,)))
    assert (standing.verdict, standing.sensing, standing.found) == ("fail", "pass", grave.text)
    assert standing.cells["nose up"]["gyro"] == "pass"
    assert standing.cells["yaw left"]["actuator:tail"] == "pass"


@pytest.mark.parametrize(
    ("code", "text", "told"),
    [
        ("mounting-differs", "the unit sits otherwise: its x arrow points aft.", UNFIT),
        ("wiring-open", "the gyro is surely not wired as declared.", "the gyro is surely not wired as declared"),
    ],
)
def test_no_mounting_is_named_while_motions_that_could_clear_it_are_to_come(code, text, told):
    """Two motions made the wrong way round look like a unit that sits otherwise; nobody shall rewire a right one."""
    finding = Finding(code, "fail", text, "Turn it.")
    frame = records.helicopter()
    cells = records.matrix(frame, {"yaw left/gyro": Outcome.NOT_SHOWN})
    standing = standing_of(judged(verdict=Outcome.FAIL, matrix=cells, findings=(finding,)))
    assert standing.verdict == "fail"
    assert standing.found == f"{told}. Go on: more motions will tell."


def sensed(turn_deg, **changes):
    turn = np.radians(np.asarray(turn_deg, dtype=float))
    plain = {"grade": "hand", "still_for": 0.4, "bench_for": 0.0, "lean": 0.0, "gap": False} | changes
    return Sensed(time=9.0, left_at=8.0, turn=turn, mirrored_turn=-turn, gravity_angle=0.0, **plain)


def shown(state, moment, which="declared", matrix=None, **more):
    mounting = (np.eye(3) if matrix is None else matrix, which)
    return view_of(state, moment, mounting, heard=Heard(), standing=Standing(), trouble=more.get("trouble"))


def test_a_turn_is_shown_about_its_axes_by_the_mounting_that_is_clear():
    hold = State(phase="hold", motion="roll right", number=3)
    assert shown(hold, sensed([30, 4, -2])).turned_deg == pytest.approx((30, 4, -2))
    assert shown(hold, sensed([30, 4, -2]), "found", OTHER).turned_deg == pytest.approx((30, -4, 2))


@pytest.mark.parametrize("turn", [[30, 0, 0], [-30, 0, 0], [0, 30, 0]])
def test_while_the_wiring_is_open_the_size_alone_stands_at_the_axis_asked_for(turn):
    view = shown(State(phase="hold", motion="roll left"), sensed(turn), "open")
    assert view.turned_deg == pytest.approx((-30, 0, 0))
    assert view.mounting == "open"


def test_a_wave_claims_no_direction_and_wants_no_size():
    view = shown(State(phase="moving", motion="free"), sensed([10, 20, 30]), "open")
    assert view.turned_deg == pytest.approx((10, 20, 30))
    assert view.wanted_deg == (0.0, 0.0)


@pytest.mark.parametrize(
    ("phase", "held", "wanted"),
    [("lie still", 1.5, LEVEL_S), ("moving", 0.0, HOLD_S), ("hold", 0.4, HOLD_S), ("move", 0.0, 0.0)],
)
def test_how_long_it_is_held_is_shown_where_that_is_waited_for(phase, held, wanted):
    view = shown(State(phase=phase, motion="nose up"), sensed([0, 30, 0], bench_for=1.5))
    assert (view.held_s, view.hold_s) == (held, wanted)


def test_questions_sentences_and_troubles_are_shown_as_they_stand():
    question = Question("nose up", "front", {"u": "plate up"})
    state = State(phase="question", motion="nose up", questions=(question,)).saying("nose up by 31°", "good")
    trouble = Problem("the port", "unplugged", act="plug it in again")
    view = shown(state, None, trouble=trouble)
    assert (view.question, view.said, view.mood, view.trouble) == (question, "nose up by 31°", "good", trouble)
    assert view.turned_deg == (0.0, 0.0, 0.0)
