"""Bells: how many, and far enough apart to be counted."""

from itertools import pairwise

import pytest

from benchrig.cli.record.sounds import APART, PATTERNS, Bells
from benchrig.live.view import Cue


def rung(cues, *, until=3.0, step=0.05):
    bells = Bells()
    ticks = range(int(until / step))
    return [tick * step for tick in ticks if bells.ring(cues if tick == 0 else [], tick * step)]


@pytest.mark.parametrize(("cue", "count"), [(Cue.DONE, 1), (Cue.AGAIN, 2), (Cue.TROUBLE, 3), (Cue.BEGIN, 0)])
def test_each_cue_has_its_number_of_bells(cue, count):
    assert len(rung([cue])) == count


def test_every_cue_has_a_pattern():
    assert set(PATTERNS) == set(Cue)


def test_bells_are_far_enough_apart_to_be_counted():
    times = rung([Cue.TROUBLE])
    assert all(later - earlier >= APART - 1e-9 for earlier, later in pairwise(times))


def test_of_two_cues_at_once_the_graver_is_heard():
    assert len(rung([Cue.DONE, Cue.AGAIN])) == 2
