"""Which motion is asked for next: the one that splits what is still possible."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.outcome import Outcome
from benchrig.verdict.asking import next_motion, split
from benchrig.verdict.record import Cell
from benchrig.verdict.wirings import weigh_wirings

UP, ROLL, WAVE = (0, 35, 0), (35, 0, 0), (40, -50, 60)


def cell(motion, outcome=Outcome.NOT_SHOWN, size=None):
    return Cell(motion, "gyro", outcome, True, "recorded", "+q", None, size, "deg", None, None, "")


@pytest.fixture(scope="module")
def nothing():
    return weigh_wirings((), (), None, np.eye(3))


def test_with_nothing_known_every_turn_tells_as_much_and_a_wave_more(nothing):
    gains = {split(nothing, name) for name in REQUIRED_TURNS}
    assert max(gains) - min(gains) < 1e-9
    # six ways a channel may answer, 48 ways the two sensors may relate
    assert max(gains) == pytest.approx(np.log(6))
    assert split(nothing, "free") == pytest.approx(np.log(48))


def test_after_a_motion_the_same_one_tells_nothing_more_and_another_does(weigh):
    posterior = weigh([("nose up", UP)])
    assert split(posterior, "nose up") < 0.01
    assert split(posterior, "roll right") > 0.5
    assert split(posterior, "yaw right") > 0.5


def test_what_is_certain_splits_no_further(weigh):
    posterior = weigh([("nose up", UP), ("roll right", ROLL), (None, WAVE)])
    assert max(split(posterior, name) for name in (*REQUIRED_TURNS, "free")) < 0.05


def test_nothing_is_asked_for_when_every_required_cell_is_decided(nothing):
    assert next_motion(nothing, [cell("nose up", Outcome.PASS, 30.0)], ("nose up",)) is None
    assert next_motion(nothing, [cell("nose up", Outcome.FAIL, 30.0)], ("nose up",)) is None


def test_the_level_rest_is_asked_for_first(nothing):
    cells = [cell("level"), *(cell(name) for name in REQUIRED_TURNS)]
    assert next_motion(nothing, cells, REQUIRED_TURNS) == "level"


def test_a_motion_that_was_not_made_is_asked_for_even_if_it_splits_nothing(weigh):
    posterior = weigh([("nose up", UP), ("roll right", ROLL), (None, WAVE)])
    cells = [cell("level", Outcome.PASS), cell("nose up", Outcome.PASS, 35.0), cell("yaw left")]
    assert next_motion(posterior, cells, ("nose up", "yaw left")) == "yaw left"


def test_an_unprompted_bench_is_asked_for_a_motion_it_lacks(judged):
    assert judged("knot", motions=("level", "nose up", "roll right")).next_motion in {
        "nose down", "roll left", "yaw right", "yaw left",
    }  # fmt: skip
    assert judged("knot").next_motion is None
    assert judged("knot", "gyro-sign=x").next_motion is None
