"""One moment on a page: it fits, it is readable, and it never shows which way the gyro says it turned."""

import re
from dataclasses import replace

import pytest
from bench_views import QUESTION, TROUBLE, VIEWS

from benchrig.cautions import CAUTIONS
from benchrig.cli.record.ink import Ink
from benchrig.cli.record.letters import block_letters
from benchrig.cli.record.screen import SMALLEST, Bench, page
from benchrig.errors import Problem
from benchrig.live.view import Standing, View
from benchrig.report.lettering import columns

BENCH = Bench("Dunlin 450", "helicopter")
PLAIN = Ink("utf-8", colour=False)
SIZES = [(80, 24), (120, 40), (200, 60), (64, 16), (40, 12), (20, 4), (1, 1)]


def drawn(view, size=(80, 24), ink=PLAIN, bench=BENCH, now=2.0):
    return page(bench, view, size, ink, now)


def words(lines):
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("moment", VIEWS)
@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "cp437"])
def test_every_moment_fits_every_terminal(moment, size, encoding):
    lines = drawn(VIEWS[moment], size, Ink(encoding, colour=False))
    assert len(lines) == max(size[1], SMALLEST[1])
    assert max(map(columns, lines)) <= max(size[0], SMALLEST[0])
    "\n".join(lines).encode(encoding)
    assert "\x1b" not in "".join(lines)


@pytest.mark.parametrize("moment", VIEWS)
def test_colours_change_nothing_that_is_told(moment):
    coloured = drawn(VIEWS[moment], ink=Ink("utf-8", colour=True))
    assert [re.sub(r"\x1b\[[\d;]*m", "", line) for line in coloured] == drawn(VIEWS[moment])


@pytest.mark.parametrize(
    ("moment", "large"),
    [
        ("waiting", "waiting"),
        ("lie still", "hands off"),
        ("move", "nose up"),
        ("moving", "roll right"),
        ("free", "free"),
        ("hold", "hold it"),
        ("return", "lay it back"),
        ("question", "front"),
        ("judging", "judging"),
        ("finished", "judging"),
    ],
)
def test_what_to_do_stands_in_block_letters(moment, large):
    lines = drawn(VIEWS[moment])
    assert [line.rstrip() for line in block_letters(large, 80)] == lines[2:7]


@pytest.mark.parametrize("moment", ["move", "moving", "free", "hold", "return"])
def test_no_page_shows_which_way_it_turned(moment):
    # Whoever saw the way would turn the airframe until the screen agreed: a reversed gyro would pass.
    view = VIEWS[moment]
    a, b, c = view.turned_deg
    pages = {tuple(drawn(replace(view, turned_deg=turned))) for turned in [(a, b, c), (-a, -b, -c), (c, a, b)]}
    assert len(pages) == 1


def test_the_size_of_the_turn_is_written_large_and_beside_what_is_wanted():
    lines = drawn(VIEWS["hold"])
    said = words(lines)
    assert "wanted" in said
    assert "25° to 60°" in said
    assert "held 0.4 of 0.6 s" in said
    for row in block_letters("41°", 80):
        assert any(row.rstrip() in line for line in lines)


@pytest.mark.parametrize("size", [(70, 18), (45, 12), (64, 16)])
def test_a_small_terminal_still_says_how_far_it_turned(size):
    assert "turned 41°, wanted 25° to 60°" in words(drawn(VIEWS["hold"], size))


def test_the_bar_is_filled_as_far_as_it_turned_and_marks_what_is_wanted():
    def bar(turned):
        lines = drawn(replace(VIEWS["moving"], turned_deg=(turned, 0.0, 0.0)))
        return next(line for line in lines if "▒" in line)[-41:]

    at_rest, half, there = bar(0.0), bar(18.0), bar(40.0)
    assert set(at_rest) == {"▒", "·"}
    assert half == "█" * 8 + at_rest[8:]
    assert there.startswith("█" * at_rest.index("▒"))
    assert 0 < there.count("▒") < at_rest.count("▒")


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_a_trouble_stands_whole_and_before_all_else(size):
    said = words(drawn(VIEWS["trouble"], size))
    assert f"! {TROUBLE.place}: {TROUBLE.finding}." in said
    assert "Likely cause: the port runs at another speed; at 460800 baud 98 of 100 rows are valid." in said
    assert "Set baud = 460800 in bench-unit.toml." in said


def test_the_longest_trouble_of_a_port_still_fits_beside_the_picture():
    long = Problem("/dev/ttyUSB0", "f" * 9 + " word" * 25, cause="c" * 9 + " word" * 20, act="a" * 9 + " word" * 15)
    said = words(drawn(replace(VIEWS["moving"], trouble=long)))
    assert said.count("word") == 60


@pytest.mark.parametrize("watch", [("front",), ("front", "right rear")])
def test_what_is_to_be_watched_stands_large_while_it_is_held(watch):
    view = replace(VIEWS["hold"], watch=watch, hold_s=2.0)
    lines = drawn(view)
    for name in watch:
        first = block_letters(name, 80)[0].rstrip()
        assert any(line.rstrip() == first for line in lines)
    assert f"Watch {' and '.join(f'{chr(34)}{name}{chr(34)}' for name in watch)} while you hold it" in words(lines)
    assert "held 0.4 of 2.0 s" in words(lines)
    for size in [(60, 18), (40, 10)]:
        assert all(name in words(drawn(view, size)) for name in watch)
        moving = replace(VIEWS["move"], watch=watch)
        assert all(name in words(drawn(moving, size)) for name in watch)


@pytest.mark.parametrize("size", [(80, 24), (60, 18), (40, 10)])
def test_every_answer_is_readable_on_a_small_terminal_too(size):
    said = words(drawn(VIEWS["question"], size))
    assert all(re.search(rf"\[?{key}[\]:] {answer}", said) for key, answer in QUESTION.answers.items())


def test_a_question_shows_every_answer_with_its_key():
    said = words(drawn(VIEWS["question"]))
    assert 'What did "front" do at nose up?' in said
    for key, answer in QUESTION.answers.items():
        assert f"[{key}] {answer}" in said


@pytest.mark.parametrize("moment", ["waiting", "lie still"])
def test_the_cautions_stand_there_before_anything_moves(moment):
    lines = drawn(VIEWS[moment], (120, 40))
    beside_the_picture = 57 if moment == "lie still" else 0
    said = words(line[beside_the_picture:] for line in lines)
    assert all(caution in said for caution in CAUTIONS)


@pytest.mark.parametrize("moment", VIEWS)
def test_how_to_stop_stands_whole_on_every_terminal(moment):
    for size in [(80, 24), (79, 24), (60, 18), (40, 10), (20, 4)]:
        lines = drawn(VIEWS[moment], size)
        assert any(re.search(r"q: stop(, keep all)?(  |$)", line) for line in lines[-2:])
        if size[1] >= 10:
            assert "go on" in words(lines[-2:])
            assert "take back" in words(lines[-2:]) or "take the last back" in lines[-1]


def test_motions_stand_with_the_marks_of_sensing_and_correction():
    said = words(drawn(VIEWS["moving"]))
    assert "== nose up" in said
    assert "=? nose down" in said
    assert "≠? roll right" in said
    assert "?? yaw left" in said
    assert "marks: sensing, correction" in said


def test_a_wide_terminal_shows_the_whole_table():
    lines = drawn(VIEWS["moving"], (200, 50))
    row = next(line for line in lines if "nose up" in line and "=" in line)
    assert row.split("nose up")[1].split() == ["="] * 7


def test_the_mark_of_a_fail_is_not_that_of_a_doubt_where_letters_are_few():
    said = words(drawn(VIEWS["moving"], ink=Ink("ascii")))
    assert "!=? roll right" in said


def test_the_gravest_finding_is_told_and_the_verdict_so_far():
    said = words(drawn(VIEWS["finished"]))
    assert "So far: fail (sensing fail, correction not shown). The unit sits otherwise than declared" in said


def test_a_sensor_alone_has_one_mark_a_motion():
    standing = Standing("not shown", "not shown", "not applicable", {"nose up": {"gyro": "pass"}})
    assert "= nose up" in words(drawn(View("move", "nose down", (25.0, 60.0), standing=standing)))


def test_nothing_from_outside_steers_the_terminal():
    dirty = "fro\x1b[2Jnt\x07\u202e"
    view = replace(
        VIEWS["question"],
        said=dirty,
        question=replace(QUESTION, actuator=dirty, answers={"u": dirty}),
        standing=Standing("fail", "fail", "fail", {dirty: {dirty: dirty}}, dirty),
    )
    for shown in (view, replace(view, trouble=Problem(dirty, dirty, dirty, dirty, dirty))):
        for size in SIZES:
            text = "".join(drawn(shown, size, bench=Bench(dirty, "other")))
            assert not {"\x1b", "\x07", "\u202e"} & set(text)


def test_letters_that_take_two_columns_break_no_line():
    bench = Bench("尾翼" * 30, "aeroplane")
    assert max(map(columns, drawn(VIEWS["moving"], bench=bench))) <= 80


def test_the_wanted_motion_moves_while_it_is_asked_for_and_stands_once_it_is_made():
    asked = {tuple(drawn(VIEWS["move"], now=now)) for now in (0.1, 0.5, 0.9, 1.8)}
    made = {tuple(drawn(VIEWS["moving"], now=now)) for now in (0.1, 0.5, 0.9, 1.8)}
    assert len(asked) == 4
    assert len(made) == 1
