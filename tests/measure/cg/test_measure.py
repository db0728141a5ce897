"""The centre of gravity is given with its uncertainty or not at all, and declared places are held against it."""

from dataclasses import replace

import numpy as np
import pytest

from benchrig.measure.cg.measure import measure_cg
from benchrig.measure.cg.worksheet_file import read_worksheet
from benchrig.outcome import Outcome

HEAD = '[[hang]]\nname = "head"\npoint_mm = { aft = 300, up = 130 }\nangles_by = "pictures"\n'
TAIL = '[[hang]]\nname = "tail"\npoint_mm = { aft = 980, up = 30 }\nangles_by = "pictures"\n'
# the CG of this bench: 310 mm aft, 15 mm down, in the middle plane
HEAD_ANGLE = np.degrees(np.arctan2(10.0, 145.0))
TAIL_ANGLE = np.degrees(np.arctan2(670.0, 45.0))
BENCH = f"{HEAD}nose_up_deg = {HEAD_ANGLE:.4f}\nright_down_deg = 0\n{TAIL}nose_down_deg = {TAIL_ANGLE:.4f}\n"
FULL = f"{BENCH}right_down_deg = 0\n"
SENSOR = '[[place]]\nname = "sensor"\nat_mm = { aft = 490, up = 10 }\n'


@pytest.fixture
def shipped(captures, demo_airframe):
    airframe = demo_airframe("dunlin")
    return measure_cg(airframe, read_worksheet(captures / "dunlin-cg.toml", airframe))


OPPOSITE = {"aft": "forward", "left": "right", "up": "down"}


def signed(quantity):
    """Give a distance along forward, right or down, whichever word it was told with."""
    name, _, word = quantity.name.rpartition(", ")
    if word not in OPPOSITE:
        return quantity
    turned = {key: None if getattr(quantity, key) is None else -getattr(quantity, key) for key in ("value", "declared")}
    return replace(quantity, name=f"{name}, {OPPOSITE[word]}", **turned)


def by_name(measurement):
    return {q.name: q for q in map(signed, measurement.quantities)}


def test_the_shipped_bench_finds_the_places_that_the_demo_airframe_declares(shipped):
    found = by_name(shipped)
    assert found["CG from the tip of the nose, forward"].value == pytest.approx(-310, abs=3)
    assert found["sensor from CG, forward"].declared == -180
    assert shipped.outcome is Outcome.PASS
    assert shipped.findings == ()
    assert found["chance of a worse fit by reading errors alone"].value > 0.05
    places = {entry.table: entry.value for entry in shipped.entries}
    assert places["sensor",] == {"aft": 180, "left": 1, "up": 25}
    assert places["magnetometer",]["aft"] == 622


def test_every_distance_is_told_along_the_word_it_lies_along(shipped):
    names = [q.name for q in shipped.quantities[:6]]
    assert names[0] == "CG from the tip of the nose, aft"
    assert names[3] == "sensor from CG, aft"
    assert names[5] == "sensor from CG, up"
    assert all(q.value > 0 for q in shipped.quantities[:6] if q.declared != 0)


def test_the_shipped_bench_is_drawn_from_the_side_and_from_above(shipped):
    side, above = shipped.figures
    assert (side.x_label, side.y_label, side.scale) == ("forward, mm", "up, mm", "equal")
    assert [c.label for c in side.curves][:3] == ["rotor head", "tail bolt", "skids and tail bumper"]
    # the mark at the tail bolt was sighted from the side, and has no place across
    assert [c.label for c in above.curves][:2] == ["rotor head", "skids and tail bumper"]
    cross = next(c for c in above.curves if c.label == "centre of gravity")
    assert cross.y[0] == pytest.approx(-310, abs=3)
    # every drawn plumb line passes the centre of gravity
    centre = next(c for c in side.curves if c.label == "centre of gravity")
    for line in (c for c in side.curves if c.style == "line"):
        start, way = np.array([line.x[0], line.y[0]]), np.array([np.diff(line.x)[0], np.diff(line.y)[0]])
        gap = np.array([centre.x[0], centre.y[0]]) - start
        assert abs(gap[0] * way[1] - gap[1] * way[0]) / np.hypot(*way) < 4


def test_a_declared_place_inside_its_tolerance_passes(measured):
    found = by_name(measured(BENCH + SENSOR))
    assert found["sensor from CG, forward"].outcome is Outcome.PASS
    assert found["sensor from CG, forward"].value == pytest.approx(-180, abs=0.01)
    assert "within 5 mm of the declared place" in found["sensor from CG, forward"].limit


def test_a_declared_place_surely_outside_its_tolerance_fails_and_is_told_in_words(measured):
    measurement = measured(BENCH + SENSOR.replace("490", "520"))
    assert by_name(measurement)["sensor from CG, forward"].outcome is Outcome.FAIL
    (finding,) = measurement.findings
    assert (finding.code, finding.severity) == ("place-differs", "fail")
    assert "210 mm aft of the CG (declared: 180 mm aft)" in finding.text
    assert "let `--write --force` do it" in finding.fix
    assert measurement.entries[0].value["aft"] == 210


def test_a_declared_place_near_the_edge_of_its_tolerance_is_not_shown(measured):
    measurement = measured(BENCH + SENSOR.replace("490", "494"))
    row = by_name(measurement)["sensor from CG, forward"]
    assert row.outcome is Outcome.NOT_SHOWN
    assert "the uncertainty reaches across the tolerance" in row.reason
    (finding,) = measurement.findings
    assert (finding.code, finding.severity) == ("place-too-coarse", "advice")
    assert "184 mm aft of the CG, ± 1." in finding.text
    assert "Hang it from one more point" in finding.fix


def test_a_place_whose_side_is_not_sure_says_so(measured):
    measurement = measured(BENCH + '[[place]]\nname = "magnetometer"\nat_mm = { aft = 310, up = 25 }\n')
    assert "reaches to both sides of the CG" in by_name(measurement)["magnetometer from CG, forward"].reason
    assert "place-too-coarse" in {f.code for f in measurement.findings}


def test_a_place_on_the_wrong_side_says_that_words_are_exchanged(measured):
    measurement = measured(BENCH + SENSOR.replace("aft = 490", "aft = 130"))
    assert "two words are exchanged" in measurement.findings[0].text


def test_without_a_tolerance_only_the_side_is_judged(measured):
    compass = '[[place]]\nname = "magnetometer"\nat_mm = { aft = %s, up = 25 }\n'
    near = by_name(measured(BENCH + compass % 880))
    assert near["magnetometer from CG, forward"].outcome is Outcome.PASS
    assert near["magnetometer from CG, right"].outcome is Outcome.NOT_APPLICABLE
    other_side = by_name(measured(BENCH + compass % 0))
    assert other_side["magnetometer from CG, forward"].outcome is Outcome.FAIL
    assert by_name(measured(BENCH + compass % 310))["magnetometer from CG, forward"].outcome is Outcome.NOT_SHOWN


def test_a_direction_that_is_not_told_keeps_what_is_declared(measured):
    weighing = (
        '[[weighing]]\nname = "skids"\n'
        "[[weighing.support]]\nat_mm = { aft = 200 }\ngrams = 900\n"
        "[[weighing.support]]\nat_mm = { aft = 500 }\ngrams = 600\n"
    )
    measurement = measured(weighing + SENSOR)
    (entry,) = measurement.entries
    assert entry.value == {"aft": 170, "up": 25}
    assert entry.comment.startswith("from sheet.toml: aft ± 1")
    assert entry.comment.endswith(" mm, right not measured, up not measured")
    assert by_name(measurement)["sensor from CG, down"].outcome is Outcome.NOT_SHOWN
    assert measurement.outcome is Outcome.FAIL  # 10 mm off forward, surely


def test_named_points_are_given_from_the_cg_as_a_pivot_needs_them(measured):
    found = by_name(measured(BENCH + '[[point]]\nname = "table axis"\nat_mm = { aft = 300, left = 20 }\n'))
    assert found["table axis from CG, forward"].value == pytest.approx(10, abs=0.01)
    assert found["table axis from CG, right"].reason.startswith("20 mm left of the CG; ")


def test_what_is_measured_from_one_point_does_not_suffer_from_that_points_own_error(measured):
    shaft = '[[point]]\nname = "shaft"\nat_mm = { aft = 300 }\n'
    direct = by_name(measured(BENCH + SENSOR))["sensor from CG, forward"].uncertainty
    moved = BENCH.replace("aft = 300, up = 130", "up = 130").replace("aft = 980, up = 30", "aft = 680, up = 30")
    moved = moved.replace("angles_by", 'measured_from = "shaft"\nangles_by')
    sensor = SENSOR.replace("aft = 490", "aft = 190") + 'measured_from = "shaft"\n'
    by_point = by_name(measured(shaft + moved + sensor))
    assert by_point["sensor from CG, forward"].value == pytest.approx(-180, abs=0.01)
    assert by_point["sensor from CG, forward"].uncertainty == pytest.approx(direct, rel=1e-6)
    assert by_point["CG from the nose, forward"].uncertainty > 1.2 * direct / np.sqrt(2)


def test_readings_that_fit_badly_but_not_hopelessly_enlarge_the_uncertainty(measured):
    third = '[[hang]]\nname = "low"\npoint_mm = {{ aft = {}, up = 85 }}\nangles_by = "pictures"\nnose_up_deg = 45\n'
    good = by_name(measured(BENCH + third.format(210)))
    doubtful = by_name(measured(BENCH + third.format(197)))
    assert good["chance of a worse fit by reading errors alone"].value > 0.9
    assert 0.001 < doubtful["chance of a worse fit by reading errors alone"].value < 0.05
    ratio = doubtful["CG from the nose, down"].uncertainty / good["CG from the nose, down"].uncertainty
    assert 1.5 < ratio < 4


def test_one_hang_alone_gives_no_number_along_its_line(measured):
    measurement = measured(HEAD + "nose_up_deg = 0\nright_down_deg = 0\n")
    forward, right, down = map(signed, measurement.quantities[:3])
    assert forward.value == pytest.approx(-300, abs=1e-6)
    assert right.value == pytest.approx(0, abs=1e-6)
    assert down.value is None
    assert "one hang gives a line" in down.reason
    assert len(measurement.figures) == 1


def test_assumed_accuracies_stand_in_the_method(measured):
    said = " ".join(measured(BENCH).method)
    assert "Not stated, and taken as usual: distances within 2 mm, angles within 1°, scales within 2 g." in said


@pytest.mark.parametrize(("aft", "hidden"), [(300, False), (330, True)])
def test_a_direction_that_rests_on_one_hang_alone_says_so(measured, aft, hidden):
    # a point 30 mm wrong along the direction that no other hang tells: it does not show, and that is said
    measurement = measured(FULL.replace("aft = 300", f"aft = {aft}"))
    found = by_name(measurement)
    assert found["chance of a worse fit by reading errors alone"].value > 0.9
    assert abs(found["CG from the nose, forward"].value + 310) > 25 if hidden else True
    assert found["CG from the nose, forward"].reason.endswith('; rests on the hang "head" alone')
    assert found["CG from the nose, down"].reason.endswith('; rests on the hang "tail" alone')
    said = 'The CG, forward and aft, rests on the hang "head" alone: a wrong point or reading there would not show.'
    assert said in measurement.unknown


def test_a_third_hang_that_turns_it_otherwise_leaves_nothing_on_one_alone(measured):
    third = HEAD.replace("head", "low").replace("aft = 300, up = 130", "aft = 210, up = 85")
    near = FULL.replace("aft = 980, up = 30", "aft = 510, down = 15").replace(f"{TAIL_ANGLE:.4f}", "90")
    assert any("rests on" in q.reason for q in measured(near).quantities)
    measurement = measured(f"{near}{third}nose_up_deg = 45\nright_down_deg = 0\n")
    assert not any("rests on" in q.reason for q in measurement.quantities)
    assert not any("rests on" in sentence for sentence in measurement.unknown)


def test_a_third_hang_nearly_parallel_to_another_leaves_a_direction_on_one_alone(measured):
    third = HEAD.replace("head", "mast").replace("aft = 300, up = 130", "aft = 302, up = 100")
    angle = np.degrees(np.arctan2(8.0, 115.0))
    found = by_name(measured(f"{BENCH}{third}nose_up_deg = {angle:.4f}\nright_down_deg = 0\n"))
    assert "rests on" not in found["CG from the nose, forward"].reason
    assert 'rests on the hang "tail" alone' in found["CG from the nose, down"].reason


def test_readings_stated_to_be_coarse_are_the_reason_and_not_the_crossing_lines(measured):
    accuracy = "[accuracy]\ndistance_mm = 100\nangle_deg = 10\n"
    down = measured(accuracy + BENCH).quantities[2]
    assert down.value is None
    assert "taken to lie within 100 mm and 10° only" in down.reason
    assert "plumb lines cross" not in down.reason


def test_counts_agree_with_their_nouns(measured):
    measurement = measured(FULL)
    check = next(q for q in measurement.quantities if q.name.startswith("chance"))
    assert "with 1 degree of freedom;" in check.reason
    assert measurement.method[0] == "2 hangs were used, by least squares."


def test_a_line_seen_end_on_is_told_and_drawn_as_a_point(measured):
    stool = weighing("stool", (110, 0, 0, 500), (510, 100, 0, 250), (510, -100, 0, 250))
    above = measured(f"{FULL}{stool}").figures[1]
    assert above.description.startswith("2 lines and 1 line seen end on, as a point; the centre")
    assert {c.style for c in above.curves} == {"line", "cross"}


def test_the_cautions_name_the_hanging_airframe(shipped):
    assert "can fall" in shipped.cautions[0]


def weighing(name, *supports, lines=""):
    """Write a weighing: supports as (aft mm, right mm, up mm, grams)."""
    parts = [
        f"[[weighing.support]]\nat_mm = {{ aft = {aft}, right = {right}, up = {up} }}\ngrams = {grams}\n"
        for aft, right, up, grams in supports
    ]
    return f'[[weighing]]\nname = "{name}"\n{lines}' + "".join(parts).replace("right = -", "left = ")


def test_a_weighing_on_a_tilted_airframe_is_drawn_along_the_vertical_of_its_stand(measured):
    # 30° nose down: the balance point lies plumb above or below the CG, not square to the airframe
    slope = np.tan(np.radians(30.0))
    foot = 310 - (140 - 15) * slope  # the supports are 140 mm down, the CG 15 mm
    front, rear = foot - 150, foot + 150
    tilted = weighing(
        "tilted",
        (front, 0, 0, 500),
        (rear, 0, 0, 500),
        lines='angles_by = "pictures"\nnose_down_deg = 30\nright_down_deg = 0\n',
    ).replace("up = 0", "down = 140")
    side = measured(BENCH + tilted).figures[0]
    (line,) = [c for c in side.curves if c.label == "tilted"]
    (centre,) = [c for c in side.curves if c.label == "centre of gravity"]
    assert (line.x[1], line.y[1]) == pytest.approx((centre.x[0], centre.y[0]), abs=2)


def test_a_weighing_is_drawn_only_where_its_supports_tell_a_place(measured):
    lengthwise = weighing("lengthwise", (110, 0, 0, 500), (510, 0, 0, 500))
    across = weighing("across", (310, 100, 0, 500), (310, -100, 0, 500))
    stool = weighing("stool", (110, 0, 0, 500), (510, 100, 0, 250), (510, -100, 0, 250))
    side, above = measured(BENCH + lengthwise + across + stool).figures
    assert {"lengthwise", "stool"} < {c.label for c in side.curves}
    assert "across" not in {c.label for c in side.curves}
    assert {"lengthwise", "across"}.isdisjoint(c.label for c in above.curves)
    (point,) = [c for c in above.curves if c.label == "stool"]
    assert (point.style, point.x[0], point.y[0]) == ("cross", pytest.approx(0), pytest.approx(-310))


@pytest.mark.parametrize(("within", "lines"), [(10, 1), (30, 0)])
def test_a_place_that_is_told_too_roughly_gives_no_line_for_the_airframe_file(measured, within, lines):
    measurement = measured(f"[accuracy]\ndistance_mm = {within}\nangle_deg = 0.2\n" + BENCH + SENSOR)
    assert by_name(measurement)["sensor from CG, right"].value is not None
    assert len(measurement.entries) == lines
