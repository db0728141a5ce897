"""The guide, moment by moment: what follows from what is sensed, and from keys."""

import dataclasses

import numpy as np
import pytest

from benchrig.live import guide
from benchrig.live.asking import Fixed
from benchrig.live.course import REMINDED_S
from benchrig.live.state import Around, State
from benchrig.live.view import BACK, NEXT, QUIT, REPEAT, UNSURE, Cue, Question
from benchrig.live.watch import Sensed
from benchrig.live.words import NONE_SEEN

UP = Question("", "front", {"u": "plate up", "d": "plate down", "s": "still", "n": "not seen", NONE_SEEN: "none"})
TAIL = Question("", "tail", {"l": "nose left", "r": "nose right", "s": "still", "n": "not seen", NONE_SEEN: "none"})


class Bench:
    """A state with its time, and short words for what is sensed."""

    def __init__(self, *motions, questions=(), is_clear=True):
        self.around = Around(Fixed(motions or ("roll right", "nose up")), questions, np.eye(3), is_clear=is_clear)
        self.state, self.now = State(), 0.0
        self.cues, self.acts = [], []

    def see(self, seconds=0.1, turn=(0, 0, 0), *, still=0.0, bench=0.0, lean=0.0, gravity=None, gap=False, left=None):
        """Let time pass, and sense."""
        self.now += seconds
        turned = np.radians(np.asarray(turn, dtype=float))
        tilt = np.linalg.norm(turned) if gravity is None else np.radians(gravity)
        grade = "bench" if bench else "hand" if still else ""
        sensed = Sensed(
            self.now, grade, max(still, bench), bench, self.now if left is None else left, turned, -turned, float(tilt),
            np.radians(lean), gap=gap, gyro_sd=np.radians(2.0), acceleration_sd=0.02,
        )  # fmt: skip
        return self._then(guide.sense(self.state, sensed, self.around))

    def press(self, key):
        """Press a key."""
        return self._then(guide.press(self.state, key, self.around))

    def _then(self, change):
        self.state = change.state
        self.cues.extend(change.cues)
        self.acts.extend(change.acts)
        return change

    def level(self):
        """Lie still for long enough."""
        self.see()
        self.see(3.0, bench=3.0)
        return self

    def turn(self, turn, lean=30.0):
        """Turn and hold."""
        self.see(0.5, bench=0.5)
        self.see(0.5, np.asarray(turn) * 0.4, left=self.now)
        self.see(0.5, turn, lean=lean)
        self.see(0.3, turn, still=0.3, lean=lean)
        hold = self.state.hold_s
        self.see(hold - 0.3, turn, still=hold, lean=lean)
        return self

    def back(self):
        """Come back to level."""
        self.see(1.0)
        self.see(0.7, still=0.65)
        return self

    @property
    def entries(self):
        """What is kept, by name and result."""
        return [(entry.name, entry.result) for entry in self.state.evidence.entries]


def test_nobody_is_asked_what_an_actuator_did_where_the_other_axes_of_the_turn_may_have_undone_it():
    for turn, asked in (((30, -10, 0), [UP, TAIL]), ((30, -20, 0), [TAIL])):
        bench = Bench(questions=(UP, TAIL))
        effects = {"front": np.array([1.0, 0.6, 0.0]), "tail": np.array([0.0, 0.0, -1.0])}
        bench.around = dataclasses.replace(bench.around, effects=effects)
        bench.level().turn(turn).back()
        assert [question.actuator for question in bench.state.questions] == [question.actuator for question in asked]


def test_a_session_begins_with_the_level_rest_and_goes_on_when_it_has_lasted():
    bench = Bench()
    bench.see()
    assert (bench.state.phase, bench.state.motion, bench.state.number) == ("lie still", "level", 1)
    bench.see(2.9, bench=2.9)
    assert bench.state.phase == "lie still"
    bench.see(0.1, bench=3.0)
    assert (bench.state.phase, bench.state.motion, bench.state.number) == ("move", "roll right", 2)
    assert bench.cues == [Cue.BEGIN, Cue.DONE, Cue.BEGIN]
    assert bench.acts == ["anchor", "settle level", "judge", "anchor"]
    level = bench.state.evidence.entries[0]
    assert (level.start, level.end) == (pytest.approx(0.1), pytest.approx(3.1))


def test_a_level_rest_that_breaks_off_is_begun_anew_and_that_is_said():
    bench = Bench()
    bench.see()
    bench.see(2.0, bench=2.0)
    bench.see(0.1)
    assert bench.state.phase == "lie still"
    assert bench.state.said == "it moved: hands off, level, for 3 s"
    assert bench.cues[-1] is Cue.AGAIN


def test_who_waits_for_stillness_is_told_what_is_not_still():
    bench = Bench()
    bench.see()
    bench.see(REMINDED_S)
    assert "gyro ± 2.0 °/s, accelerometer ± 20 mg" in bench.state.said
    assert bench.cues.count(Cue.AGAIN) == 1
    bench.see(1.0)
    assert bench.cues.count(Cue.AGAIN) == 1


def test_a_motion_goes_from_the_prompt_through_the_hold_to_the_return_and_to_the_next_prompt():
    bench = Bench().level()
    bench.see(0.5, bench=0.5)
    assert bench.state.phase == "move"
    bench.see(0.5, (9, 0, 0), left=3.7)
    assert (bench.state.phase, bench.state.start) == ("moving", 3.7)
    bench.see(0.5, (30, 0, 0))
    assert bench.state.phase == "moving"
    bench.see(0.3, (31, 0, 0), still=0.3)
    assert bench.state.phase == "hold"
    bench.see(0.3, (31, 0, 0), still=0.6)
    assert (bench.state.phase, bench.state.said, bench.state.mood) == ("return", "roll right by 31°", "good")
    bench.back()
    assert (bench.state.phase, bench.state.motion, bench.state.number) == ("move", "nose up", 3)
    assert bench.entries == [("level", "good"), ("roll right", "good")]
    assert bench.state.evidence.entries[1].start == pytest.approx(3.7)


def test_the_bench_is_left_alone_until_a_turn_counts():
    bench = Bench().level()
    bench.see(0.5, (4, 3, 0))
    assert bench.state.phase == "move"
    assert bench.entries == [("level", "good")]


def test_another_motion_is_kept_as_evidence_and_asked_for_again_under_the_same_number():
    bench = Bench().level().turn((0, 30, 0))
    assert bench.state.said == "asked roll right, saw nose up by 30°: once more, please: right side down"
    assert bench.cues[-1] is Cue.AGAIN
    bench.back()
    assert (bench.state.motion, bench.state.number, bench.state.repeats) == ("roll right", 2, 1)
    bench.turn((30, 0, 0)).back()
    assert bench.entries == [("level", "good"), ("roll right", "other"), ("roll right", "good")]
    assert bench.state.motion == "nose up"


def test_while_the_wiring_is_open_another_motion_is_kept_and_the_next_is_asked_for():
    bench = Bench(is_clear=False).level().turn((0, 30, 0))
    assert (bench.state.said, bench.state.mood) == ("turned by 30°: kept", "good")
    bench.back()
    assert bench.entries == [("level", "good"), ("roll right", "other")]
    assert bench.state.motion == "nose up"


def test_a_motion_is_given_up_after_two_repeats_and_every_attempt_is_kept():
    bench = Bench().level()
    for turn in ((0, 30, 0), (0, 0, 30), (0, 30, 0)):
        assert bench.state.motion == "roll right"
        bench.turn(turn).back()
    assert bench.state.motion == "nose up"
    assert bench.entries[1:] == [("roll right", "other")] * 3


def test_a_turn_that_was_not_held_is_asked_for_again():
    bench = Bench().level()
    bench.see(0.4, (12, 0, 0))
    bench.see(0.4, (30, 0, 0))
    bench.see(0.5, (3, 0, 0))
    bench.see(0.4, (1, 0, 0), still=0.45)
    assert bench.state.said.startswith("roll right was back before it had been held for 0.6 s: once more, please")
    assert bench.entries[-1] == ("roll right", "quick")


def test_a_wobble_is_no_attempt():
    bench = Bench().level()
    bench.see(0.4, (10, 0, 0))
    bench.see(0.4, (1, 0, 0), still=0.45)
    assert bench.state.phase == "move"
    assert bench.entries == [("level", "good")]


def test_a_turn_that_is_never_held_still_is_not_waited_for_without_end():
    bench = Bench().level()
    bench.see(0.4, (30, 0, 0))
    bench.see(REMINDED_S, (30, 0, 0))
    assert bench.state.said == "hold it still at the end of the turn, for a moment"
    bench.see(30.0, (30, 0, 0))
    assert bench.entries[-1] == ("roll right", "restless")
    assert bench.state.phase == "return"


def test_a_motion_of_which_the_unit_shows_nothing_is_noticed_when_the_airframe_is_back():
    bench = Bench().level()
    bench.see(1.0, bench=1.0)
    bench.see(0.1)
    bench.see(3.0)
    bench.see(1.1, bench=1.05)
    assert bench.entries[-1] == ("roll right", "nothing")
    assert bench.state.said.startswith("it was handled, and the unit shows no turn: once more, please")


def test_a_yaw_held_level_in_the_hand_is_not_back_before_it_has_moved_again():
    bench = Bench("yaw right", "nose up").level().turn((0, 0, 35), lean=0.0)
    assert bench.state.phase == "return"
    bench.see(0.5, (0, 0, 35), still=1.1)
    assert bench.state.phase == "return"
    bench.see(0.5, (0, 0, 10))
    bench.see(0.6, still=0.6)
    assert bench.state.motion == "nose up"


def test_an_airframe_that_stays_where_it_was_yawed_to_goes_on_once_it_is_let_go_of():
    bench = Bench("yaw right", "nose up").level().turn((0, 0, 35), lean=0.0)
    bench.see(2.0, (0, 0, 35), bench=2.6)
    assert bench.state.phase == "return"
    bench.see(0.5, (0, 0, 35), bench=3.1)
    assert bench.state.motion == "nose up"


def test_what_is_at_rest_but_not_level_is_not_back():
    bench = Bench().level().turn((30, 0, 0))
    bench.see(1.0)
    bench.see(1.0, still=1.0, lean=20.0)
    assert bench.state.phase == "return"
    bench.see(REMINDED_S, still=3.0, lean=20.0)
    assert bench.state.said == "not level yet, it leans by 20°: back to level"


def test_a_stream_that_breaks_off_in_a_motion_ends_the_attempt_and_it_is_kept():
    bench = Bench().level()
    bench.see(0.4, (20, 0, 0))
    bench.see(0.4, (25, 0, 0), gap=True)
    assert bench.entries[-1] == ("roll right", "gap")
    assert bench.state.said == "the stream broke off during roll right: once more, please: right side down"


def test_a_stream_that_breaks_off_before_a_motion_costs_no_repeat():
    bench = Bench().level()
    bench.see(0.4, gap=True)
    assert (bench.state.phase, bench.state.pending) == ("return", "anew")
    bench.back()
    assert (bench.state.motion, bench.state.repeats) == ("roll right", 0)
    assert bench.entries == [("level", "good")]


def test_a_wave_lasts_five_seconds_and_one_that_is_broken_off_is_asked_for_again():
    bench = Bench("free", "nose up").level()
    bench.see(0.4, (10, 0, 0))
    bench.see(2.0, (1, 1, 0), still=0.7)
    assert bench.entries[-1] == ("free", "quick")
    bench.back()
    bench.see(0.4, (10, 0, 0))
    bench.see(5.0, (10, 20, 30))
    assert bench.entries[-1] == ("free", "good")
    assert bench.state.phase == "return"


def test_each_actuator_is_asked_about_after_a_motion_as_asked_and_every_look_is_kept_with_it():
    bench = Bench(questions=(UP, TAIL)).level().turn((30, 0, 0)).back()
    assert (bench.state.phase, bench.cues[-1]) == ("question", Cue.QUESTION)
    assert bench.state.questions[0].motion == "roll right"
    bench.press("q?")
    assert bench.state.questions[0].actuator == "front"
    bench.press("d")
    assert bench.state.questions[0].actuator == "tail"
    bench.press("n")
    assert bench.state.motion == "nose up"
    looks = bench.state.evidence.entries[-1].looks
    assert [(look.actuator, look.moved) for look in looks] == [("front", "plate down")]


def test_where_somebody_watches_it_is_held_for_longer_and_asked_only_when_it_lies_again():
    bench = Bench(questions=(UP,)).level()
    assert (bench.state.watching, bench.state.hold_s) == (("front",), 2.0)
    bench.see(0.5, (12, 0, 0))
    bench.see(0.5, (30, 0, 0), lean=30)
    bench.see(1.4, (30, 0, 0), still=1.4, lean=30)
    assert bench.state.phase == "hold"
    bench.see(0.6, (30, 0, 0), still=2.0, lean=30)
    assert (bench.state.phase, bench.state.questions) == ("return", ())
    bench.back()
    assert bench.state.questions[0].actuator == "front"


def test_hands_that_shake_need_not_hold_it_for_ever():
    bench = Bench(questions=(UP,)).level()
    bench.see(0.5, (12, 0, 0))
    for _ in range(3):
        bench.see(0.5, (30, 0, 0), lean=30)
        bench.see(1.0, (30, 0, 0), still=0.9, lean=30)
    assert bench.entries[-1] == ("roll right", "good")


def test_four_actuators_are_watched_two_at_a_time_and_the_motion_is_made_twice_before_the_next():
    questions = tuple(dataclasses.replace(UP, actuator=name) for name in ("one", "two", "three", "four"))
    bench = Bench(questions=questions).level().turn((30, 0, 0)).back()
    assert [question.actuator for question in bench.state.questions] == ["one", "two"]
    bench.press("u")
    bench.press("n")
    assert (bench.state.motion, bench.state.watching, bench.state.number) == ("roll right", ("three", "four"), 3)
    assert bench.state.said == "roll right once more: now watch three and four"
    bench.turn((30, 0, 0)).back()
    bench.press(NONE_SEEN)
    assert (bench.state.motion, bench.state.watching) == ("nose up", ("one", "two"))
    assert bench.state.rounds == ("level", "roll right")
    assert bench.entries == [("level", "good"), ("roll right", "good"), ("roll right", "good")]


@pytest.mark.parametrize("second", ["u", "n"])
def test_backspace_takes_answers_back_one_by_one_before_it_takes_the_motion_back(second):
    bench = Bench(questions=(UP, TAIL)).level().turn((30, 0, 0)).back()
    bench.press("u")
    assert bench.state.said == "front: plate up"
    bench.press(BACK)
    assert [question.actuator for question in bench.state.questions] == ["front", "tail"]
    assert not bench.state.evidence.entries[-1].looks
    bench.press("d")
    bench.press("n" if second == "n" else "l")
    assert bench.state.motion == "nose up"
    bench.press(BACK)
    assert [question.actuator for question in bench.state.questions] == ["tail"]
    bench.press("r")
    looks = [(look.actuator, look.moved) for look in bench.state.evidence.entries[-1].looks]
    assert looks == [("front", "plate down"), ("tail", "nose right")]
    assert (bench.state.motion, bench.state.number, bench.state.rounds) == ("nose up", 3, ("level", "roll right"))
    for left in (1, 0):
        bench.press(BACK)
        assert len(bench.state.evidence.entries[-1].looks) == left
    bench.press(BACK)
    assert [entry.name for entry in bench.state.evidence.taken_back] == ["roll right"]


def test_an_answer_can_be_taken_back_after_the_same_motion_was_asked_for_once_more():
    questions = tuple(dataclasses.replace(UP, actuator=name) for name in ("one", "two", "three"))
    bench = Bench(questions=questions).level().turn((30, 0, 0)).back()
    bench.press("u")
    bench.press("u")
    assert bench.state.watching == ("three",)
    bench.press(BACK)
    assert [question.actuator for question in bench.state.questions] == ["two"]
    bench.press("d")
    assert (bench.state.phase, bench.state.motion, bench.state.watching) == ("move", "roll right", ("three",))
    assert [look.moved for look in bench.state.evidence.entries[-1].looks] == ["plate up", "plate down"]


def test_all_that_was_not_seen_can_be_passed_over_at_once():
    bench = Bench(questions=(UP, TAIL)).level().turn((30, 0, 0)).back()
    bench.press(NONE_SEEN)
    assert bench.state.motion == "nose up"
    assert not bench.state.evidence.entries[-1].looks


def test_an_actuator_already_seen_in_a_motion_is_not_asked_about_again():
    bench = Bench("roll right", "roll right", questions=(UP, TAIL)).level().turn((30, 0, 0)).back()
    bench.press("d")
    bench.press("n")
    bench.turn((30, 0, 0)).back()
    assert [question.actuator for question in bench.state.questions] == ["tail"]


@pytest.mark.parametrize("is_clear", [True, False])
def test_nobody_is_asked_what_moved_in_another_motion_than_asked(is_clear):
    bench = Bench(questions=(UP,), is_clear=is_clear).level().turn((-30, 0, 0)).back()
    assert bench.state.phase == "move"


def test_the_last_motion_can_be_taken_back_and_is_asked_for_again():
    bench = Bench(questions=(UP,)).level().turn((30, 0, 0)).back()
    bench.press("u")
    assert bench.state.motion == "nose up"
    bench.press(BACK)
    bench.press(BACK)
    assert (bench.state.phase, bench.state.motion, bench.state.number) == ("move", "roll right", 2)
    assert bench.entries == [("level", "good")]
    assert [taken.name for taken in bench.state.evidence.taken_back] == ["roll right"]
    bench.turn((30, 0, 0)).back()
    assert bench.state.phase == "question"


@pytest.mark.parametrize("moments", [1, 2, 3])
def test_a_motion_can_be_taken_back_while_it_goes_on_and_after(moments):
    bench = Bench(questions=(UP,)).level()
    if moments == 1:
        bench.see(0.5, (20, 0, 0))
    else:
        bench.turn((30, 0, 0))
    if moments == 3:
        bench.back()
    bench.press(BACK)
    assert [entry.name for entry in bench.state.evidence.taken_back] == ["roll right"]
    assert bench.entries == [("level", "good")]
    if bench.state.phase == "return":
        bench.back()
    assert (bench.state.phase, bench.state.motion, bench.state.repeats) == ("move", "roll right", 0)


def test_what_comes_after_something_taken_back_never_overlaps_it():
    bench = Bench().level()
    bench.see(0.5, (20, 0, 0))
    bench.press(BACK)
    bench.back()
    bench.turn((30, 0, 0))
    assert bench.state.evidence.entries[-1].start >= bench.state.evidence.taken_back[-1].end


def test_a_rest_that_is_taken_back_while_it_lies_still_is_said_before_it_is_taken_again():
    bench = Bench().level()
    bench.press(BACK)
    bench.see(0.5, bench=5.0)
    assert (bench.state.phase, bench.state.said) == ("lie still", "level is taken back, and asked for anew")
    bench.see(0.6, bench=5.6)
    assert bench.entries == [("level", "good")]


def test_nothing_is_taken_back_where_there_is_nothing():
    bench = Bench()
    bench.see()
    bench.press(BACK)
    assert bench.state.said == "there is nothing to take back yet"
    assert bench.state.phase == "lie still"


def test_going_on_keeps_the_time_under_its_prompt_and_claims_nothing():
    bench = Bench().level()
    bench.see(4.0, bench=4.0)
    bench.press(NEXT)
    assert bench.entries[-1] == ("roll right", "nothing")
    bench.press(NEXT)
    assert bench.state.motion == "nose up"
    bench.see(0.4, (20, 0, 0))
    bench.press(NEXT)
    assert bench.entries[-1] == ("nose up", "restless")


def test_going_on_right_after_the_prompt_asks_for_the_motion_first():
    bench = Bench().level()
    bench.see(1.0, bench=1.0)
    bench.press(NEXT)
    assert bench.state.phase == "move"
    assert bench.state.said.startswith("make the motion first: right side down. If it is made already, go on again")
    bench.see(1.5, bench=2.5)
    bench.press(NEXT)
    assert bench.entries[-1] == ("roll right", "nothing")


def test_what_is_taken_back_is_asked_for_next_whatever_else_is_open():
    bench = Bench("roll right", "nose up").level().turn((30, 0, 0)).back()
    assert bench.state.motion == "nose up"
    bench.press(BACK)
    assert (bench.state.phase, bench.state.motion, bench.state.number) == ("move", "roll right", 2)
    assert bench.state.said == "roll right is taken back, and asked for anew"
    bench.turn((30, 0, 0)).back()
    assert (bench.state.motion, bench.state.number) == ("nose up", 3)


def test_an_enter_right_after_a_letter_accepts_nothing_and_is_told():
    bench = Bench().level()
    bench.see(4.0, bench=4.0)
    bench.press(UNSURE)
    assert (bench.state.phase, len(bench.entries)) == ("move", 1)
    assert "an enter right after a letter is not taken" in bench.state.said


def test_a_letter_that_answers_nothing_is_told_and_changes_nothing_else():
    bench = Bench(questions=(UP,)).level()
    bench.press("u")
    assert bench.state.said == '"u" answers nothing now: no question is asked'
    bench.turn((30, 0, 0)).back()
    before = bench.state
    bench.press("z")
    assert bench.state == dataclasses.replace(before, said='"z" is none of the answers', mood="")


def test_that_no_turn_was_seen_is_said_no_more_once_it_turns():
    bench = Bench().level()
    bench.see(REMINDED_S + 1)
    assert bench.state.said.startswith("no turn seen yet")
    bench.see(0.4, (20, 0, 0))
    assert (bench.state.phase, bench.state.said) == ("moving", "")


def test_of_an_attempt_without_a_turn_its_end_alone_is_kept():
    bench = Bench().level()
    bench.see(0.4, (12, 0, 0))
    bench.see(0.4, (30, 0, 0))
    bench.see(0.9, (1, 0, 0), still=0.45)
    quick = bench.state.evidence.entries[-1]
    assert (quick.result, quick.end) == ("quick", pytest.approx(bench.now))
    assert quick.end - quick.start == pytest.approx(0.05)
    bench.back()
    bench.turn((30, 0, 0))
    good = bench.state.evidence.entries[-1]
    assert good.end - good.start > 0.5


def test_going_on_without_a_still_rest_keeps_the_time_as_the_level_rest():
    bench = Bench()
    bench.see()
    bench.see(5.0)
    bench.press(NEXT)
    assert bench.entries == [("level", "restless")]
    assert bench.state.phase == "move"


def test_a_prompt_can_be_heard_again():
    bench = Bench(questions=(UP,)).level()
    assert bench.press(REPEAT).cues == (Cue.BEGIN,)
    bench.turn((30, 0, 0)).back()
    assert bench.press(REPEAT).cues == (Cue.QUESTION,)


@pytest.mark.parametrize("moment", ["waiting", "level", "moving", "question"])
def test_a_session_can_be_stopped_at_any_moment_and_keeps_everything(moment):
    bench = Bench(questions=(UP,))
    if moment != "waiting":
        bench.level()
    if moment == "moving":
        bench.see(0.5, (20, 0, 0))
    if moment == "question":
        bench.turn((30, 0, 0)).back()
    held = len(bench.entries)
    bench.press(QUIT)
    assert bench.state.phase == "finished"
    assert bench.cues[-1] is Cue.FINISHED
    assert len(bench.entries) == held + (moment == "moving")
    for key in (BACK, NEXT, REPEAT, QUIT):
        assert bench.press(key) == guide.Change(bench.state)


def test_a_state_is_never_changed_in_place():
    bench = Bench().level()
    before = dataclasses.replace(bench.state)
    held = bench.state
    bench.turn((30, 0, 0)).back()
    assert held == before
