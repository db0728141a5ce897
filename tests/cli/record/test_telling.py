"""Line by line: every change once, and nothing twice."""

import io
from dataclasses import replace

import pytest
from bench_views import FAILED, OPEN, QUESTION, TROUBLE, VIEWS

from benchrig.cli.record.telling import Telling
from benchrig.live.view import Question


def told(*views):
    stream = io.StringIO()
    telling = Telling(stream)
    for view in views:
        telling.show(view, 0.0)
    return stream.getvalue().splitlines()


@pytest.mark.parametrize("moment", VIEWS)
def test_a_moment_that_stays_is_told_once(moment):
    assert told(VIEWS[moment], VIEWS[moment]) == told(VIEWS[moment])
    assert told(VIEWS[moment])


def test_a_prompt_says_the_motion_and_how_to_make_it():
    assert told(VIEWS["move"]) == ["0:42  NOSE UP: Raise the nose by 25° to 60°, and hold it there."]


def test_that_a_motion_has_begun_is_no_news():
    moving = replace(VIEWS["move"], phase="moving", turned_deg=(0.0, 20.0, 0.0))
    assert told(VIEWS["move"], moving) == told(VIEWS["move"])


def test_the_same_motion_asked_again_is_news():
    again = replace(VIEWS["move"], number=3)
    assert len(told(VIEWS["move"], again)) == 2


def test_a_trouble_is_told_when_it_comes_and_when_it_is_over():
    lines = told(VIEWS["move"], replace(VIEWS["move"], trouble=TROUBLE), VIEWS["move"])
    assert f"! {TROUBLE.place}: {TROUBLE.finding}" in lines[1]
    assert lines[2].endswith("The trouble is over.")


def test_a_question_comes_with_its_answers_a_line_each():
    lines = told(VIEWS["question"])
    for key, answer in QUESTION.answers.items():
        assert any(line.endswith(f"  {key} {answer}") for line in lines)


def test_how_it_stands_is_told_when_it_changes():
    lines = told(VIEWS["judging"], replace(VIEWS["judging"], standing=FAILED))
    assert sum("So far: not shown" in line for line in lines) == 1
    assert sum("So far: fail" in line for line in lines) == 1
    assert OPEN != FAILED


def test_nothing_from_outside_steers_the_output():
    dirty = "fro\x1b[2Jnt"
    view = replace(VIEWS["question"], said=dirty, question=Question(dirty, dirty, {"u": dirty}))
    assert "\x1b" not in "\n".join(told(view))


def test_an_output_that_nobody_reads_stops_nothing(tmp_path):
    stream = (tmp_path / "out").open("w")
    telling = Telling(stream)
    stream.close()
    telling.show(VIEWS["move"], 0.0)
    assert telling.is_lost


def test_what_somebody_asks_for_is_said_once_more_and_what_means_nothing_is_refused():
    stream = io.StringIO()
    telling = Telling(stream)
    view = replace(VIEWS["move"], said="there is nothing to take back yet")
    telling.show(view, 0.0)
    for keys in (["repeat"], ["back"], []):
        stream.truncate(0)
        telling.answer(keys)
        telling.show(view, 0.0)
        lines = stream.getvalue().lstrip("\0").splitlines()
        assert [line.partition("  ")[2].partition(":")[0] for line in lines] == {
            "repeat": ["NOSE UP"],
            "back": ["There is nothing to take back yet."],
        }.get("".join(keys), [])
    telling.refuse("st\x1bpo")
    assert '"st\\u001bpo" means nothing here. Lines: an answer' in stream.getvalue()
