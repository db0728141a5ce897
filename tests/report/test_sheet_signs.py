"""The sign places: they must be those of an accelerometer and a gyro turned with the airframe."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import records
import sheets
from measurements import FAIL, NONE, PASS

from benchrig.geometry.directions import body_from_sensor
from benchrig.geometry.rotations import matrix_from_vector
from benchrig.geometry.turns import REQUIRED_TURNS, turn_axis
from benchrig.report.sheet_content import Given, blocks_of
from benchrig.report.sheet_signs import own_axis, sign_table

NOTHING = Given({}, ())
MOUNTINGS = [
    {"x": "aft", "y": "left", "z": "down"},
    {"x": "forward", "y": "right", "z": "down"},
    {"x": "right", "y": "forward", "z": "up"},
    {"x": "up", "y": "left", "z": "aft"},
]


def places(table, motion):
    row = next(row for row in table.rows if row.motion == motion)
    return dict(zip(table.heads, row.places, strict=True))


def mounted(words, reads="specific force"):
    frame = records.helicopter()
    sensor = replace(frame.sensor, body_from_sensor=body_from_sensor(words), reads=reads)
    return replace(frame, sensor=sensor)


@pytest.mark.parametrize("words", MOUNTINGS, ids=str)
@pytest.mark.parametrize("reads", ["specific force", "gravity"])
@pytest.mark.parametrize("motion", REQUIRED_TURNS)
def test_signs_are_those_of_a_unit_that_is_turned_with_the_airframe(words, reads, motion):
    """Turn the airframe by 20° step by step and look which reading of the unit changed: no formula of the sheet's."""
    table = sign_table(mounted(words, reads), NOTHING)
    unit = body_from_sensor(words)
    turned = matrix_from_vector(np.radians(20.0) * turn_axis(motion))
    up = np.array([0.0, 0.0, -9.80665]) * (1 if reads == "specific force" else -1)
    change = unit.T @ (turned.T @ up - up)
    rate = unit.T @ turn_axis(motion)

    def named(vector):
        axis = int(np.argmax(np.abs(vector)))
        return f"{'+' if vector[axis] > 0 else '−'}{'xyz'[axis]}"

    assert places(table, motion)["gyro"].words == named(rate)
    expected = "–" if np.linalg.norm(change) < 0.1 else None
    sideways = change - unit.T @ up * (change @ (unit.T @ up)) / (up @ up)
    assert places(table, motion)["accelerometer"].words == (expected or named(sideways))


@pytest.mark.parametrize("words", MOUNTINGS, ids=str)
def test_at_rest_the_axis_that_points_up_reads_more(words):
    up = next((axis, 1) if way == "up" else (axis, -1) for axis, way in words.items() if way in {"up", "down"})
    wanted = f"{'+' if up[1] > 0 else '−'}{up[0]}"
    assert places(sign_table(mounted(words), NOTHING), "level")["accelerometer"].words == wanted
    opposite = places(sign_table(mounted(words, "gravity"), NOTHING), "level")["accelerometer"].words
    assert opposite != wanted
    assert opposite[1] == wanted[1]


def test_a_unit_that_is_turned_freely_has_its_nearest_axis_named():
    free = matrix_from_vector(np.radians([0.0, 0.0, 30.0]))
    assert own_axis(free, np.array([1.0, 0.0, 0.0])) == "+x mostly"


def test_actuators_have_the_word_that_corrects():
    table = sheets.bare().signs
    assert table.heads == ("gyro", "accelerometer", "front", "right rear", "left rear", "tail")
    assert places(table, "nose up")["front"].words == "plate down"
    assert places(table, "yaw right")["tail"].words == "nose left"
    assert places(table, "roll right")["tail"].words == "still"


def test_outcomes_are_those_of_the_check():
    signs = sheets.failing().signs
    assert places(signs, "nose up")["gyro"].outcome is FAIL
    assert places(signs, "yaw right")["gyro"].outcome is PASS
    assert places(signs, "nose up")["front"].outcome is FAIL
    assert places(signs, "yaw right")["accelerometer"].outcome is NONE


def test_a_motion_that_is_required_beside_the_six_has_a_row():
    frame = replace(records.helicopter(), required_motions=("nose up", "turntable clockwise"))
    rows = [row.motion for row in sign_table(frame, NOTHING).rows]
    assert rows == ["level", *REQUIRED_TURNS, "turntable clockwise"]


@pytest.mark.parametrize("most", [1, 2, 4, 5, 8])
def test_a_parted_table_keeps_every_place(most):
    table = sheets.bare().signs
    blocks = list(blocks_of(table, most))
    assert all(len(block.heads) <= most for block in blocks)
    assert tuple(head for block in blocks for head in block.heads) == table.heads
    for place, row in enumerate(table.rows):
        assert tuple(p for block in blocks for p in block.rows[place].places) == row.places
