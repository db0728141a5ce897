"""Setting blocks on paper."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from benchrig.report.flow import Block, Flow
from benchrig.report.press import BOTTOM, LEFT, RIGHT, TOP, Press

GAP = 6.0


@pytest.fixture
def press():
    with Press("test", datetime(2026, 11, 25, tzinfo=UTC)) as opened:
        yield opened


@pytest.fixture
def setting(press):
    """Give a flow, and where each block came to stand: page, x, y."""
    placed = []

    def block(name, height, *, keeps=False, head=None):
        return Block(height, lambda x, y: placed.append((name, pages[0], round(x, 3), round(y, 3))), keeps, head)

    pages = [1]
    turn = press.page

    def turned():
        pages[0] += 1
        turn()

    press.page = turned
    return Flow(press), block, placed


def test_blocks_stand_below_each_other(setting):
    flow, block, placed = setting
    flow.full([block("a", 10.0), block("b", 5.0)])
    assert placed == [("a", 1, LEFT, TOP), ("b", 1, LEFT, TOP + 10)]
    assert flow.y == TOP + 15


def test_what_does_not_fit_goes_to_the_next_page_with_its_heading(setting):
    flow, block, placed = setting
    flow.full([block("a", BOTTOM - TOP - 20), block("heading", 10.0, keeps=True), block("row", 15.0)])
    assert [(name, page) for name, page, *_ in placed] == [("a", 1), ("heading", 2), ("row", 2)]


def test_a_block_that_begins_a_column_has_its_head_above_it_once_more(setting):
    flow, block, placed = setting
    again = block("head", 4.0)
    flow.columns([block(name, 10.0, head=again if name in "bcd" else None) for name in "abcd"], GAP)
    second = round(LEFT + (RIGHT - LEFT + GAP) / 2, 3)
    assert [name for name, *_ in placed] == ["a", "b", "head", "c", "d"]
    assert placed[2][2:] == (second, TOP)
    assert placed[3][2:] == (second, TOP + 4)


def test_later_pages_leave_room_for_a_header(press):
    flow, tops = Flow(press, header=5.0), []
    flow.full([Block(BOTTOM - TOP, lambda _, y: tops.append(y)), Block(30.0, lambda _, y: tops.append(y))])
    assert tops == [TOP, TOP + 5]


def test_what_is_taller_than_a_page_is_set_all_the_same(setting):
    flow, block, placed = setting
    flow.full([block("giant", 400.0), block("after", 5.0)])
    assert [(name, page) for name, page, *_ in placed] == [("giant", 1), ("after", 2)]


def test_columns_are_even_and_the_left_one_comes_first(setting):
    flow, block, placed = setting
    flow.columns([block(name, 10.0) for name in "abcd"], GAP)
    second = round(LEFT + (RIGHT - LEFT + GAP) / 2, 3)
    assert [(name, x) for name, _, x, _ in placed] == [("a", LEFT), ("b", LEFT), ("c", second), ("d", second)]
    assert flow.y == TOP + 20


def test_columns_flow_over_pages_and_lose_nothing(setting):
    flow, block, placed = setting
    names = [f"row {k}" for k in range(200)]
    flow.columns([block(name, 5.0) for name in names], GAP)
    assert [name for name, *_ in placed] == names
    assert max(page for _, page, *_ in placed) == 2
    assert all(y + 5 <= BOTTOM + 1e-6 for *_, y in placed)


def test_a_heading_is_never_the_last_of_a_column(setting):
    flow, block, placed = setting
    flow.columns([block("a", 30.0), block("heading", 5.0, keeps=True), block("b", 30.0)], GAP)
    xs = {name: x for name, _, x, _ in placed}
    assert xs["heading"] == xs["b"]
