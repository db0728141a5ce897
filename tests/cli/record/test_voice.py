"""A voice says what matters, as one argument of a program of its own, and nothing waits for it."""

import stat

import pytest
from bench_views import TROUBLE, VIEWS

from benchrig.cli.record.voice import Voice, find_speaker, spoken
from benchrig.live.view import Cue


def program(path, body):
    path.write_text(f"#!/bin/sh\n{body}\n")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path


@pytest.mark.parametrize(
    ("moment", "cues", "said"),
    [
        ("move", [Cue.BEGIN], "nose up"),
        ("lie still", [Cue.BEGIN], "hands off"),
        ("move", [Cue.DONE, Cue.BEGIN], "Good. nose up"),
        ("return", [Cue.DONE], "Good."),
        ("again", [Cue.AGAIN], "asked roll right; saw nose up 24°"),
        ("question", [Cue.QUESTION], "What did front do?"),
        ("trouble", [Cue.TROUBLE], TROUBLE.finding),
        ("finished", [Cue.FINISHED], ""),
        ("moving", [], ""),
    ],
)
def test_each_cue_says_what_its_moment_is_about(moment, cues, said):
    assert spoken(VIEWS[moment], cues) == said


def test_the_text_reaches_the_program_whole_and_as_one_argument(tmp_path):
    heard = tmp_path / "heard"
    speaker = program(tmp_path / "speaker", f'echo "$# $2" > "{heard}"')
    voice = Voice([str(speaker), "--"])
    voice.say('roll right; "$(touch x)"')
    voice._speaking[0].wait(timeout=10)  # noqa: SLF001 - the program itself never waits
    assert heard.read_text() == '2 roll right; "$(touch x)"\n'


def test_text_is_never_taken_for_an_option(tmp_path):
    heard = tmp_path / "heard"
    speaker = program(tmp_path / "speaker", f'echo "$1" > "{heard}"')
    voice = Voice([str(speaker)])
    voice.say("--version")
    voice._speaking[0].wait(timeout=10)  # noqa: SLF001 - as above
    assert heard.read_text() == "version\n"


def test_a_new_sentence_cuts_the_old_one_short_without_waiting(tmp_path):
    speaker = program(tmp_path / "speaker", "exec sleep 600")
    voice = Voice([str(speaker)])
    voice.say("one")
    first = voice._speaking[0]  # noqa: SLF001 - whether its process ends is what is asked
    voice.say("two")
    assert first.wait(timeout=10) != 0
    voice.hush()
    for process in voice._speaking:  # noqa: SLF001 - leave none behind
        process.wait(timeout=10)


def test_a_program_that_cannot_be_started_is_silence(tmp_path):
    voice = Voice([str(tmp_path / "no such program")])
    voice.say("one")
    voice.say("two")


def test_the_first_speech_program_that_is_there_is_taken(tmp_path, monkeypatch):
    program(tmp_path / "espeak-ng", "exit 0")
    monkeypatch.setenv("PATH", str(tmp_path))
    assert find_speaker() == [str(tmp_path / "espeak-ng"), "--"]
    monkeypatch.setenv("PATH", str(tmp_path / "empty"))
    assert find_speaker() == []


def test_no_speech_is_no_trouble():
    Voice([]).say("anything")
