"""Which move answers which prompt: by time, in order, and never by guessing."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.capture.recording import Prompt
from benchrig.signals.motions import SLOPPINESS, gate, match_motions, rest_at
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import find_rests

TURNS = {
    "nose up": (0, 35, 0),
    "nose down": (0, -35, 0),
    "roll right": (35, 0, 0),
    "roll left": (-35, 0, 0),
    "yaw right": (0, 0, 35),
    "yaw left": (0, 0, -35),
}
SHAKE = st.floats(-SLOPPINESS, SLOPPINESS)


@pytest.fixture(scope="module")
def session(exact_stream):
    """Make a session of named motions, each out, hold and back of 1 s and a rest of 1.5 s, with when each was made."""

    @functools.cache
    def make(names, turns=None):
        legs, made, now = [((0, 0, 0), 2.0)], [], 2.0
        for k, name in enumerate(names):
            turn = TURNS[name] if turns is None else turns[k]
            back = tuple(-angle for angle in turn)
            legs += [(turn, 1.0), ((0, 0, 0), 1.0), (back, 1.0), ((0, 0, 0), 1.5)]
            made.append((name, now, now + 2.0))
            now += 4.5
        even = exact_stream(legs)
        stillness = find_rests(even)
        return even, stillness.rests, find_moves(even, stillness.rests, stillness.bias), made

    return make


def prompts(made, shakes=None):
    shakes = [(0.0, 0.0)] * len(made) if shakes is None else shakes
    return [Prompt(name, start + a, end + b, "") for (name, start, end), (a, b) in zip(made, shakes, strict=True)]


@settings(max_examples=40, deadline=None)
@given(st.permutations(list(TURNS)), st.lists(st.tuples(SHAKE, SHAKE), min_size=6, max_size=6))
def test_prompts_off_by_half_a_second_at_either_end_still_find_their_moves(session, names, shakes):
    even, _, moves, made = session(tuple(names))
    matching = match_motions(even, moves, prompts(made, shakes))
    assert [m.name for m in matching.motions] == names
    for motion in matching.motions:
        assert motion.gate == ""
        assert np.degrees(motion.move.turn) == pytest.approx(TURNS[motion.name], abs=0.5)


@settings(max_examples=20, deadline=None)
@given(st.floats(-SLOPPINESS, SLOPPINESS))
def test_a_clock_off_by_half_a_second_changes_nothing(session, late):
    even, _, moves, made = session(tuple(TURNS))
    matching = match_motions(even, moves, prompts(made, [(late, late)] * 6))
    assert [np.degrees(m.move.turn).round(0).tolist() for m in matching.motions] == [list(t) for t in TURNS.values()]


def test_each_move_answers_one_prompt_and_the_order_is_kept(session):
    even, _, moves, made = session(("nose up", "roll right", "yaw right"))
    doubled = prompts([made[0], made[0], made[1], made[2]])
    found = [m.move for m in match_motions(even, moves, doubled).motions]
    present = [m for m in found if m is not None]
    assert len({id(m) for m in present}) == len(present)
    assert [m.start for m in present] == sorted(m.start for m in present)


def test_a_prompt_without_a_move_is_told_and_not_given_another(session):
    even, _, moves, made = session(("nose up", "yaw right"), ((0, 35, 0), (0, 0, 0)))
    idle = Prompt("yaw right", 7.6, 9.5, "")
    *rest, motion = match_motions(even, moves, [*prompts(made[:1]), idle]).motions
    assert motion.move is None
    assert motion.gate == "no turn was found at the time of this prompt, with a hold of 0.4 s or more on either side"
    assert all(m.gate == "" for m in rest)


def test_a_prompt_in_the_rest_before_a_move_does_not_take_it(session):
    even, _, moves, made = session(("nose up",))
    early = Prompt("nose up", 0.1, 1.2, "")
    assert match_motions(even, moves, [early]).motions[0].move is None
    assert match_motions(even, moves, prompts(made)).motions[0].move is not None


def test_a_motion_made_again_after_a_gap_hid_the_first_is_not_taken_for_a_way_back(session):
    even, _, moves, made = session(("roll right", "roll right", "roll left"))
    hidden = replace(moves[0], gap=True, rotation=np.zeros(3), turn=np.zeros(3))
    for answered in (made, made[1:]):
        *_, again, other = match_motions(even, [hidden, *moves[1:]], prompts(answered)).motions
        assert (again.move, again.gate) == (moves[2], "")
        assert (other.move, other.gate) == (moves[4], "")
    late = [replace(prompt, start=prompt.start + 2.0, end=prompt.end + 2.0) for prompt in prompts(made)]
    (last,) = match_motions(even, moves, late[2:]).motions
    assert last.gate.startswith("its times fall on the way back")


def test_prompts_that_claim_no_direction_become_no_motions(session):
    even, _, moves, made = session(("nose up",))
    others = [Prompt("level", 0.0, 1.8, ""), Prompt("free", 2.0, 4.0, "")]
    assert match_motions(even, moves, others).motions == ()
    assert len(match_motions(even, moves, [*others, *prompts(made)]).motions) == 1


def test_no_moves_and_no_prompts_are_no_motions(session):
    even, _, moves, made = session(("nose up",))
    assert match_motions(even, (), ()).motions == ()
    assert match_motions(even, moves, ()).motions == ()
    assert [m.move for m in match_motions(even, (), prompts(made)).motions] == [None]


def test_a_routine_without_times_takes_the_outward_moves_in_order(session):
    names = ("nose up", "nose down", "roll right", "roll left", "yaw right", "yaw left")
    even, _, moves, _ = session(names)
    matching = match_motions(even, moves, [Prompt(name, None, None, "") for name in ("level", *names, "level")])
    assert matching.misfit == ""
    assert [m.name for m in matching.motions] == list(names)
    for motion in matching.motions:
        assert np.degrees(motion.move.turn) == pytest.approx(TURNS[motion.name], abs=0.5)


def test_a_wave_in_a_routine_may_end_in_its_own_pose_or_in_another(session):
    routine = [Prompt(name, None, None, "") for name in ("nose up", "roll right", "free")]
    for turns in (((0, 35, 0), (35, 0, 0)), ((0, 35, 0), (35, 0, 0), (10, 20, 60))):
        even, _, moves, _ = session(("nose up", "roll right", "yaw right")[: len(turns)], turns)
        matching = match_motions(even, moves, routine)
        assert matching.misfit == ""
        assert [m.name for m in matching.motions] == ["nose up", "roll right"]
        assert [np.degrees(m.move.turn).round().tolist() for m in matching.motions] == [[0, 35, 0], [35, 0, 0]]


@pytest.mark.parametrize("asked", [("nose up",), ("nose up", "roll right", "yaw right")])
def test_a_routine_of_another_length_is_not_guessed_at_but_told(session, asked):
    even, _, moves, _ = session(("nose up", "roll right"))
    matching = match_motions(even, moves, [Prompt(name, None, None, "") for name in asked])
    counted = f"the routine names {len(asked)} motions, the stream shows 2 moves away from rest"
    assert matching.misfit.startswith(counted)
    assert matching.misfit.endswith("at 2.1 s (35°), 6.6 s (35°)")
    assert all(m.move is None and m.gate == matching.misfit for m in matching.motions)


def test_a_routine_with_no_move_at_all_is_told_too(session):
    even, _, _, _ = session(("nose up",))
    matching = match_motions(even, (), [Prompt("nose up", None, None, "")])
    assert matching.misfit == "the routine names 1 motions, the stream shows 0 moves away from rest"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"gap": True}, "the stream has a gap inside the motion"),
        ({"clipped": True}, "a channel stands at the end of its range inside the motion"),
    ],
)
def test_a_spoilt_move_is_no_evidence_and_says_why(session, change, said):
    even, _, moves, _ = session(("nose up",))
    assert gate(even, moves[0]) == ""
    assert gate(even, replace(moves[0], **change)) == said


def test_a_small_turn_is_no_evidence_and_says_how_small(session):
    even, _, moves, made = session(("nose up",), ((0, 15, 0),))
    (motion,) = match_motions(even, moves, prompts(made)).motions
    assert motion.gate == "the gyro shows a turn of 15°; 20° or more are needed"


def test_a_move_that_takes_minutes_is_no_evidence(session):
    even, _, moves, _ = session(("nose up",))
    assert gate(replace(even, step=0.5), moves[0]) == "the motion takes more than a minute"


def test_a_level_prompt_points_at_the_rest_it_shares_most_with(session):
    even, rests, _, _ = session(("nose up", "roll right"))
    assert rest_at(even, rests, Prompt("level", 0.2, 1.8, "")) is rests[0]
    assert rest_at(even, rests, Prompt("level", 5.2, 6.4, "")) is rests[2]
    assert rest_at(even, rests, Prompt("level", 100.0, 101.0, "")) is None
    assert rest_at(even, rests, Prompt("level", None, None, "")) is None
    assert rest_at(even, (), Prompt("level", 0.2, 1.8, "")) is None


def test_a_prompt_so_late_that_only_the_way_back_answers_speaks_for_nobody(session):
    even, _, moves, made = session(tuple(TURNS))
    late = [(name, start + 2.0, end + 2.0) for name, start, end in made]
    gates = {m.gate for m in match_motions(even, moves, prompts(late)).motions}
    assert gates == {"its times fall on the way back of a move whose way out was not prompted: they are late"}


def test_the_way_back_may_be_prompted_where_the_way_out_was(session):
    even, _, moves, _ = session(("nose up",))
    asked = [("nose up", 2.0, 4.0), ("nose down", 4.0, 6.0)]
    assert [m.gate for m in match_motions(even, moves, prompts(asked)).motions] == ["", ""]


def test_the_same_motion_made_twice_is_no_way_back(session):
    even, _, moves, made = session(("nose up", "nose up"))
    assert [m.gate for m in match_motions(even, moves, prompts(made)).motions] == ["", ""]
