"""Mistakes of somebody who hangs and weighs: each is named, and none gives a wrong number."""

import numpy as np
import pytest

from benchrig.errors import WorksheetError
from benchrig.measure.cg.measure import measure_cg
from benchrig.measure.cg.worksheet_file import read_worksheet
from benchrig.outcome import Outcome

CG = np.array([-310.0, 0.0, 15.0])
SHAFT = '[[point]]\nname = "main shaft"\nat_mm = { aft = 302 }\n'
POINTS = {"head": (-302, 0, -130), "tail": (-980, 0, -30), "skid": (-180, -95, 140), "nose eye": (-20, 40, 0)}
WORDS = (("forward", "aft"), ("right", "left"), ("down", "up"))
WEIGHING = (
    '[[weighing]]\nname = "skids"\n'
    "[[weighing.support]]\nat_mm = {{ aft = 200, left = 95, down = 150 }}\ngrams = {}\n"
    "[[weighing.support]]\nat_mm = {{ aft = 200, right = 95, down = 150 }}\ngrams = {}\n"
    "[[weighing.support]]\nat_mm = {{ aft = 880, down = 120 }}\ngrams = {}\n"
)
# moments about the front skids: 1840 x 110 / 680 at the tail
LOADS = (771.2, 771.2, 297.6)


def place(values):
    parts = [f"{WORDS[axis][0 if part >= 0 else 1]} = {abs(part)}" for axis, part in enumerate(values)]
    return "{ " + ", ".join(parts) + " }"


def hang(name, *, across=1.0, nose=1.0, point=None, extra=""):
    """Write a right hang; the words can be turned by a factor -1, the point replaced."""
    line = CG - POINTS[name]
    side, dip = np.degrees(np.arctan2(line[0], line[2])) * nose, np.degrees(np.arcsin(line[1] / np.linalg.norm(line)))
    dip *= across
    words = f"nose_{'down' if side >= 0 else 'up'}_deg = {abs(side):.3f}\n"
    words += f"{'right' if dip >= 0 else 'left'}_down_deg = {abs(dip):.3f}\n"
    where = place(POINTS[name] if point is None else point)
    return f'[[hang]]\nname = "{name}"\npoint_mm = {where}\nangles_by = "pictures"\n{words}{extra}'


def signed(quantity):
    """Give a distance along forward, right or down, whichever word it was told with."""
    backwards = quantity.name.endswith((", aft", ", left", ", up"))
    return None if quantity.value is None else -quantity.value if backwards else quantity.value


@pytest.fixture
def measured(tmp_path, demo_airframe):
    def measure(*parts):
        path = tmp_path / "sheet.toml"
        path.write_text('[reference]\npoint = "the nose"\n' + "".join(parts), encoding="utf-8")
        airframe = demo_airframe("dunlin")
        return measure_cg(airframe, read_worksheet(path, airframe))

    return measure


def refused(measurement, code):
    """Hold that no number and no line came out, and give the finding."""
    assert [signed(q) for q in measurement.quantities[:3]] == [None, None, None]
    assert measurement.entries == ()
    assert measurement.outcome is Outcome.NOT_SHOWN
    return next(f for f in measurement.findings if f.code == code)


ALL = ("head", "tail", "skid", "nose eye")


def test_the_bench_without_a_mistake_gives_the_point(measured):
    measurement = measured(SHAFT, *(hang(name) for name in ALL), WEIGHING.format(*LOADS))
    assert [signed(q) for q in measurement.quantities[:3]] == pytest.approx(CG.tolist(), abs=0.1)
    assert measurement.findings == ()


@pytest.mark.parametrize("wrong", ALL)
def test_a_hang_from_the_wrong_point_is_named_with_the_way_to_the_real_one(measured, wrong):
    # written 60 mm off the place from which it really hung, across its line
    off = {"head": [0, 60, 0], "tail": [0, 0, -60], "skid": [0, 60, 0], "nose eye": [0, 0, -60]}[wrong]
    parts = [hang(n, point=np.add(POINTS[n], off) if n == wrong else None) for n in ALL]
    finding = refused(measured(*parts), "hangs-do-not-meet")
    assert f'without the hang "{wrong}" (sheet.toml:' in finding.text
    assert "would explain it" in finding.text


def test_where_two_hangs_may_be_the_wrong_one_both_are_named(measured):
    parts = [hang(n, point=np.add(POINTS[n], [60, 0, 0]) if n == "skid" else None) for n in ALL]
    finding = refused(measured(*parts), "hangs-do-not-meet")
    assert 'One of these is wrong, since all others meet without it: the hang "skid"' in finding.text
    assert 'or the hang "head"' in finding.text
    assert "one more hang, from another point, will show which" in finding.fix


def test_a_distance_from_another_reference_is_named(measured):
    # the skid was measured from the main shaft, and that was not written
    from_shaft = np.array(POINTS["skid"]) - [-302, 0, 0]
    parts = [hang(n, point=from_shaft if n == "skid" else None) for n in ALL]
    finding = refused(measured(SHAFT, *parts), "hangs-do-not-meet")
    assert "It would fit if its point_mm was measured from the main shaft." in finding.text


def test_left_and_right_exchanged_is_named(measured):
    parts = [hang(n, across=-1.0 if n == "skid" else 1.0) for n in ALL]
    finding = refused(measured(*parts), "hangs-do-not-meet")
    assert 'without the hang "skid"' in finding.text
    assert "its right down and left down are exchanged" in finding.text


def test_nose_up_and_down_exchanged_is_named(measured):
    parts = [hang(n, nose=-1.0 if n == "nose eye" else 1.0) for n in ALL]
    finding = refused(measured(*parts), "hangs-do-not-meet")
    assert "its nose down and nose up are exchanged" in finding.text


def test_up_and_down_exchanged_where_nothing_else_checks_it_stands_on_its_head(measured):
    # two side views fit one point always; here it would stand above the point of both
    text = '[[hang]]\nname = "{}"\npoint_mm = {{ {} }}\nangles_by = "pictures"\n{} = {}\n'
    one = text.format("a", "forward = 100, down = 100", "nose_down_deg", 45)
    other = text.format("b", "aft = 100, down = 100", "nose_up_deg", 45)
    finding = refused(measured(one, other), "hang-impossible")
    assert 'In the hang "a" (sheet.toml:3) the centre of gravity would stand above the point' in finding.text


def test_a_mark_above_the_point_is_told_with_the_key_of_the_mark(measured):
    tail = '[[hang]]\nname = "tail"\npoint_mm = { aft = 400, down = 9 }\nplumb_mark_mm = { aft = 980, up = 30 }\n'
    finding = refused(measured(hang("head"), tail), "hang-impossible")
    assert 'In the hang "tail"' in finding.text
    assert "look whether the two are exchanged, at up and down in plumb_mark_mm" in finding.fix


def test_three_hangs_of_which_one_is_wrong_ask_for_one_more_where_none_can_be_named(measured):
    names = ("head", "tail", "skid")
    parts = [hang(n, point=(-242, 0, -130) if n == "head" else None).replace("right_down", "#") for n in names]
    flat = [
        "\n".join(line for line in p.splitlines() if "_down_deg" not in line or "nose" in line) + "\n" for p in parts
    ]
    finding = refused(measured(*flat), "hangs-do-not-meet")
    assert "All others meet" not in finding.text
    assert "One more hang, from another point, will show" in finding.fix


def test_where_none_can_be_named_the_slips_that_would_explain_it_are_told(measured):
    sheet = hang("head") + hang("tail") + WEIGHING.format(297.6, 771.2, 771.2)
    finding = refused(measured(sheet), "hangs-do-not-meet")
    assert "All others meet" not in finding.text
    assert 'in "skids" the loads of its supports are exchanged' in finding.text


def test_two_nearly_parallel_hangs_give_nothing_along_their_lines(measured):
    low = '[[hang]]\nname = "low"\npoint_mm = { aft = 305, up = 60 }\nangles_by = "pictures"\nnose_up_deg = 3.8\n'
    measurement = measured(hang("head"), low + "right_down_deg = 0\n")
    forward, _, down = measurement.quantities[:3]
    assert forward.name.endswith(", aft")
    assert forward.value == pytest.approx(310, abs=10)
    assert down.value is None
    assert "the plumb lines cross at 1° at most" in down.reason
    assert "turn it further" in down.reason


def test_a_scale_that_was_not_zeroed_does_not_add_up(measured):
    measurement = measured("[worksheet]\nmass_g = 1840\n", WEIGHING.format(*(load + 40 for load in LOADS)))
    finding = refused(measurement, "loads-do-not-add-up")
    assert '"skids" 1960 g; the airframe weighs 1840 g' in finding.text
    assert "empty_grams" in finding.fix


def test_a_scale_that_was_not_zeroed_leaves_the_hangs_their_say(measured):
    measurement = measured(
        "[worksheet]\nmass_g = 1840\n", *(hang(n) for n in ALL), WEIGHING.format(*(load + 40 for load in LOADS))
    )
    assert [signed(q) for q in measurement.quantities[:3]] == pytest.approx(CG.tolist(), abs=0.1)
    assert [f.code for f in measurement.findings] == ["loads-do-not-add-up"]
    assert measurement.outcome is Outcome.NOT_SHOWN


def test_two_weighings_that_do_not_agree_are_both_put_aside(measured):
    other = WEIGHING.replace('"skids"', '"again"')
    finding = refused(measured(WEIGHING.format(*LOADS), other.format(800, 800, 340)), "loads-do-not-add-up")
    assert '"skids" 1840 g, "again" 1940 g; these weighings of one airframe do not agree' in finding.text


@pytest.mark.parametrize(("loads", "mass"), [((771.2, 0.7712, 297.6), None), ((0.7712, 0.7712, 0.2976), 1840)])
def test_grams_and_kilograms_mixed_are_refused(measured, loads, mass):
    head = f"[worksheet]\nmass_g = {mass}\n" if mass else ""
    with pytest.raises(WorksheetError, match="grams and kilograms are mixed"):
        measured(head, WEIGHING.format(*loads))


def test_loads_written_at_the_wrong_supports_are_named(measured):
    parts = [hang(n) for n in ALL]
    finding = refused(measured(*parts, WEIGHING.format(297.6, 771.2, 771.2)), "hangs-do-not-meet")
    assert 'without the weighing "skids"' in finding.text
    assert "the loads of its supports are exchanged" in finding.text


def test_right_and_left_exchanged_in_every_line_is_asked_about(measured):
    # a CG 30 mm to one side fits itself mirrored: only its being off the middle tells
    sheet = [WEIGHING.format(480, 1062.4, 297.6)]
    measurement = measured(*sheet)
    (finding,) = measurement.findings
    assert (finding.code, finding.severity) == ("cg-off-centre", "advice")
    assert "30 mm right of the nose" in finding.text
    assert "whether right and left are exchanged" in finding.fix


def test_a_sensor_measured_from_the_wrong_reference_fails_against_its_declaration(measured):
    # 188 mm behind the main shaft, written as from the nose
    sensor = '[[place]]\nname = "sensor"\nat_mm = { aft = 188, up = 10 }\n'
    measurement = measured(SHAFT, *(hang(n) for n in ALL), sensor)
    assert measurement.outcome is Outcome.FAIL
    assert measurement.findings[0].code == "place-differs"
    assert "122 mm forward of the CG (declared: 180 mm aft)" in measurement.findings[0].text


def test_a_weighing_that_is_off_is_named_with_the_way_it_tells_and_no_other(measured):
    # its two supports stand 40 mm left of the middle plane, which says nothing of the CG across
    beam = (
        '[[weighing]]\nname = "beam"\n'
        "[[weighing.support]]\nat_mm = { aft = 100, left = 40, down = 150 }\ngrams = 500\n"
        "[[weighing.support]]\nat_mm = { aft = 440, left = 40, down = 150 }\ngrams = 500\n"
    )
    finding = refused(measured(*(hang(name) for name in ALL), beam), "hangs-do-not-meet")
    assert "it balances 40 mm forward of where they do" in finding.text


@pytest.mark.parametrize(("grams", "adds_up"), [(1, True), (4, False)])
def test_loads_may_miss_the_whole_mass_by_what_scales_are_good_for_and_by_no_more(measured, grams, adds_up):
    # four readings good to 2 g twice: 1 g each, so 6 g are three standard deviations of the difference
    measurement = measured("[worksheet]\nmass_g = 1840\n", WEIGHING.format(*(load + grams for load in LOADS)))
    assert ([f.code for f in measurement.findings] == []) == adds_up
