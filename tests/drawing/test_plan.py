"""The airframe from above and the unit's axes."""

from __future__ import annotations

import numpy as np
import pytest
import records

from benchrig.drawing.airframes import from_above, reach, rotor_radius
from benchrig.drawing.answers import answer_picture
from benchrig.drawing.plan import axes_picture, plan_picture
from benchrig.drawing.shapes import Arrow, Label, Polygon, Polyline
from benchrig.geometry.directions import body_from_sensor
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS

FRAMES = {name: build().airframe for name, build in records.ALL.items()}


def ends(picture):
    labels = {shape.text: shape.at for shape in picture.shapes if isinstance(shape, Label)}
    return labels, [shape.points[-1] for shape in picture.shapes if isinstance(shape, Arrow)]


def test_an_axis_points_the_way_its_word_says():
    labels, tips = ends(axes_picture("unit", body_from_sensor({"x": "aft", "y": "left", "z": "down"}), "declared"))
    assert tips == [pytest.approx((0.0, -0.7)), pytest.approx((-0.7, 0.0))]
    assert labels["x"][1] < -0.7
    assert labels["y"][0] < -0.7


@pytest.mark.parametrize("matrix", SIGNED_PERMUTATIONS)
def test_every_wiring_shows_two_axes_on_the_page_and_one_through_it(matrix):
    picture = axes_picture("unit", matrix, "found")
    labels, tips = ends(picture)
    assert set(labels) == {"x", "y", "z"}
    assert len(tips) == 2
    down = matrix[2].sum() > 0
    crosses = sum(type(shape).__name__ == "Polyline" for shape in picture.shapes)
    assert crosses == (2 if down else 0)


@pytest.mark.parametrize("name", FRAMES)
def test_everything_stays_inside_the_picture(name):
    for picture in (plan_picture(FRAMES[name]), answer_picture(FRAMES[name], "nose up")):
        left, bottom, right, top = picture.box
        places = [shape.at for shape in picture.shapes if isinstance(shape, Label)]
        places += [p for shape in picture.shapes if not isinstance(shape, Label) for p in shape.points]
        assert all(left <= x <= right and bottom <= y <= top for x, y in places)


def test_the_sensor_is_drawn_where_it_was_declared():
    frame = records.aeroplane().airframe
    square = [s for s in plan_picture(frame).shapes if isinstance(s, Polygon) and s.role == "sensor"][-1]
    x, y = np.mean(square.points, axis=0)
    assert (x * reach(frame), y * reach(frame)) == pytest.approx((-0.02, 0.09))


def test_right_is_right_and_forward_is_up():
    assert from_above(np.array([0.1, 0.2, 0.3]), 0.1) == pytest.approx((2.0, 1.0))


def test_rotors_do_not_overlap():
    frame = records.eight_rotors().airframe
    places = [np.array(from_above(a.position, reach(frame))) for a in frame.actuators]
    nearest = min(np.linalg.norm(a - b) for i, a in enumerate(places) for b in places[:i])
    assert 2 * rotor_radius(frame) < nearest


def test_two_rotors_on_one_shaft_still_have_a_size():
    pair = tuple(records.rotor(name, 0.0, 0.2, "clockwise") for name in ("upper", "lower"))
    assert rotor_radius(records.airframe("coaxial", "multirotor", pair)) > 0.1


@pytest.mark.parametrize("words", [{"x": "up", "y": "left", "z": "aft"}, {"x": "aft", "y": "left", "z": "down"}])
def test_no_arrow_runs_over_the_sign_of_the_axis_through_the_page(words):
    kinds = [type(shape) for shape in axes_picture("unit", body_from_sensor(words), "found").shapes]
    last = max(place for place, kind in enumerate(kinds) if kind is Arrow)
    assert {Polyline, Polygon} & set(kinds[last + 1 :])
