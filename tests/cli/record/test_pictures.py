"""The picture of a motion: which way it goes is what a person will do."""

import numpy as np
import pytest

from benchrig.cli.record.pictures import draw_motion
from benchrig.geometry.turns import REQUIRED_TURNS

KINDS = ("helicopter", "aeroplane", "multirotor", "other")
SIZE = (60, 24)


def filled(lines):
    return np.array([[letter != " " for letter in line] for line in lines])


def turned_mask(mask, degrees):
    """Turn a picture counter-clockwise about its middle; a character is twice as high as wide."""
    down, right = np.indices(mask.shape)
    x, y = right + 0.5 - SIZE[0] / 2, 2 * (SIZE[1] / 2 - down - 0.5)
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    from_x, from_y = c * x + s * y, c * y - s * x
    column = np.floor(from_x + SIZE[0] / 2).astype(int)
    line = np.floor(SIZE[1] / 2 - from_y / 2).astype(int)
    inside = (column >= 0) & (column < SIZE[0]) & (line >= 0) & (line < SIZE[1])
    found = np.zeros_like(mask)
    found[inside] = mask[line[inside], column[inside]]
    return found


COUNTER_CLOCKWISE = {
    "nose up": True,  # seen from the right side, nose to the right
    "nose down": False,
    "roll right": False,  # seen from behind: the right side goes down
    "roll left": True,
    "yaw right": False,  # seen from above, nose up the page
    "yaw left": True,
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("motion", REQUIRED_TURNS)
def test_the_picture_turns_the_way_that_is_asked(kind, motion):
    rest = filled(draw_motion(kind, motion, 0.0, *SIZE, blocks=False).solid)
    moved = filled(draw_motion(kind, motion, 40.0, *SIZE, blocks=False).solid)

    def likeness(degrees):
        turned = turned_mask(rest, degrees)
        return (turned & moved).sum() / (turned | moved).sum()

    assert bool(likeness(40.0) > 1.3 * likeness(-40.0)) == COUNTER_CLOCKWISE[motion]
    assert bool(likeness(-40.0) > 1.3 * likeness(40.0)) != COUNTER_CLOCKWISE[motion]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("motion", REQUIRED_TURNS)
def test_the_mark_stands_where_the_arrow_ends(kind, motion):
    drawn = draw_motion(kind, motion, 40.0, *SIZE, blocks=True)
    line, column, text = drawn.label
    centre = column + len(text) / 2 - SIZE[0] / 2
    height = SIZE[1] / 2 - line
    expected = {
        "nose up": ("NOSE", centre > 8, height > 4),
        "nose down": ("NOSE", centre > 8, height < -4),
        "roll right": ("RIGHT", centre > 8, height < -4),
        "roll left": ("LEFT", centre < -8, height < -4),
        "yaw right": ("NOSE", centre > 4, height > 4),
        "yaw left": ("NOSE", centre < -4, height > 4),
    }[motion]
    assert expected == (text, True, True)


@pytest.mark.parametrize("motion", [*REQUIRED_TURNS, "level", "free", "on nose"])
@pytest.mark.parametrize("size", [(1, 1), (5, 2), (36, 11), (200, 60)])
def test_a_picture_fills_its_place_and_no_more(motion, size):
    drawn = draw_motion("helicopter", motion, 40.0, *size, blocks=True)
    for lines in (drawn.faint, drawn.solid):
        assert [len(line) for line in lines] == [size[0]] * size[1]


def test_the_airframe_at_rest_is_left_standing_faintly_behind_the_wanted_one():
    drawn = draw_motion("aeroplane", "roll left", 40.0, *SIZE, blocks=False)
    faint, solid = filled(drawn.faint), filled(drawn.solid)
    assert faint.any()
    assert not (faint & solid).any()


def test_without_blocks_the_picture_is_plain():
    drawn = draw_motion("multirotor", "nose up", 40.0, *SIZE, blocks=False)
    assert "".join((*drawn.faint, *drawn.solid)).isascii()


def test_every_side_is_named():
    captions = {draw_motion("other", motion, 40.0, *SIZE, blocks=True).caption for motion in REQUIRED_TURNS}
    assert captions == {"seen from its right side", "seen from behind, nose away from you", "seen from above"}
