"""A worksheet is read whole or refused with the line, the finding, what is allowed, the cause and the next act."""

import numpy as np
import pytest

from benchrig.errors import WorksheetError
from benchrig.measure.cg.worksheet import Angles, Mark
from benchrig.measure.cg.worksheet_file import read_worksheet

HANG = '[[hang]]\nname = "head"\npoint_mm = { up = 130 }\nangles_by = "inclinometer"\nnose_up_deg = 3\n'
WEIGHING = (
    '[[weighing]]\nname = "skids"\n'
    "[[weighing.support]]\nat_mm = { aft = 200 }\ngrams = 900\n"
    "[[weighing.support]]\nat_mm = { aft = 500 }\ngrams = 600\n"
)
POINT = '[[point]]\nname = "shaft"\nat_mm = { aft = 300 }\n'


def test_the_shipped_worksheet_is_read_in_si_units_and_body_axes(captures, demo_airframe):
    sheet = read_worksheet(captures / "dunlin-cg.toml", demo_airframe("dunlin"))
    assert (sheet.reference, sheet.operator, sheet.mass) == ("the tip of the nose", "R. Vane", 1.84)
    head, tail = sheet.hangs
    assert sheet.where(head.spot) == pytest.approx([-0.302, 0, -0.130])
    assert head.reading == Angles(pytest.approx(np.radians(-3.0)), pytest.approx(np.radians(0.5)), "inclinometer")
    assert isinstance(tail.reading, Mark)
    assert not tail.reading.across
    assert [s.mass for s in sheet.weighings[0].supports] == pytest.approx([0.761, 0.781, 0.298])
    assert sheet.where(sheet.places[1].spot) == pytest.approx([-0.932, 0, -0.025])
    assert (sheet.accuracy.distance, sheet.accuracy.mass) == pytest.approx((0.001, 0.001))
    assert sheet.accuracy.angle == pytest.approx(np.radians(0.5))
    assert sheet.accuracy.assumed == ()


def test_accuracies_that_are_not_stated_are_the_usual_ones_and_are_named(read_sheet):
    sheet = read_sheet(f"[accuracy]\nangle_deg = 0.4\n{HANG}")
    assert sheet.accuracy.angle == pytest.approx(np.radians(0.2))
    assert sheet.accuracy.assumed == ("distances within 2 mm", "scales within 2 g")


def test_points_may_stand_on_points_above_them(read_sheet):
    sheet = read_sheet(
        POINT + '[[point]]\nname = "mast top"\nat_mm = { up = 100 }\nmeasured_from = "shaft"\n'
        '[[hang]]\nname = "a"\npoint_mm = { right = 5 }\nmeasured_from = "mast top"\nplumb_mark_mm = { down = 90 }\n'
    )
    assert sheet.where(sheet.hangs[0].spot) == pytest.approx([-0.3, 0.005, -0.1])
    assert sheet.chain(sheet.hangs[0].spot) == ("mast top", "shaft")


def test_a_mark_is_measured_across_only_if_right_or_left_is_written(read_sheet):
    text = '[[hang]]\nname = "a"\npoint_mm = {{ up = 100 }}\nplumb_mark_mm = {{ {} }}\n'
    assert not read_sheet(text.format("down = 50")).hangs[0].reading.across
    assert read_sheet(text.format("down = 50, right = 0")).hangs[0].reading.across


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            HANG.replace("up = 130", "up = -130"),
            'sheet.toml:5: hang "head" point_mm.up = -130; expected 0 to 5000; likely cause: a sign where a word says',
        ),
        (HANG.replace("nose_up_deg", "nose_upp_deg"), "likely cause: a misspelt nose_up_deg; write nose_up_deg"),
        (HANG + "nose_down_deg = 3\n", 'hang "head" has nose_down_deg and nose_up_deg; expected one of the two'),
        (HANG.replace('angles_by = "inclinometer"\n', ""), 'add angles_by = "pictures" or "inclinometer"'),
        (HANG.replace("nose_up_deg = 3", "right_down_deg = 3"), "does not say how far its nose was down or up"),
        (HANG.replace("= 3", "= 120"), "expected at most 90: an inclinometer reads slopes"),
        (HANG.replace("= 3", "= 75"), "nose_up_deg = 75 stands alone; expected at most 60 without a slope across"),
        (HANG.replace("= 3", "= 60\nright_down_deg = 55"), "nose 60° and side 55° from the horizontal"),
        (HANG.replace('"inclinometer"', '"pictures"\nway_up = "upright"'), "an angle over 90° says that the airframe"),
        (HANG + "plumb_mark_mm = { down = 50 }\n", "gives more than one of its angles, plumb_mark_mm or capture"),
        ('[[hang]]\nname = "a"\npoint_mm = {}\n', 'hang "a" does not say where the vertical lay; expected its angles'),
        (
            '[[hang]]\nname = "a"\npoint_mm = {}\nplumb_mark_mm = { down = 20 }\n',
            "lies 20 mm from the point it hung from",
        ),
        ('[[hang]]\nname = "a"\npoint_mm = {}\ncapture = "no.toml"\n', '"no.toml" is not there'),
        ('[[hang]]\nname = "a"\npoint_mm = {}\ncapture = "../no.toml"\n', "leads out of the worksheet's folder"),
        (HANG + 'label = "x"\n', "has label and no capture"),
        (HANG + 'measured_from = "shaft"\n', '= "shaft" is no [[point]] above it; expected a [[point]]'),
        (POINT + HANG + 'measured_from = "shift"\n', 'expected "shaft"; likely cause: a misspelt "shaft"'),
        (HANG + HANG, 'sheet.toml:9: a second hang is called "head" (the first: sheet.toml:4); give it another'),
        (HANG.replace("[[hang]]", "[hang]"), "hang is a table; expected tables [[hang]]; likely cause: one bracket"),
        (HANG.replace("[[hang]]", "[[hangs]]"), "hangs is not a key known here"),
        (POINT, "nothing was hung or weighed; expected a [[hang]] or a [[weighing]]"),
        (
            WEIGHING.replace("grams = 600", "grams = 0.6"),
            "likely cause: grams and kilograms are mixed; write every load",
        ),
        (
            WEIGHING.replace("grams = 600", "kilograms = 0.6"),
            "is in kilograms; expected grams = …; write the thousandfold",
        ),
        (WEIGHING.replace("grams = 600", "grams = 600\nempty_grams = 700"), "is no more than empty_grams = 700"),
        (
            WEIGHING.replace("aft = 500", "aft = 210"),
            "has all its supports within 10 mm; expected supports 30 mm or more",
        ),
        ('[[weighing]]\nname = "skids"\n', 'weighing "skids" has 0 supports; expected 2 to 8'),
        (WEIGHING.replace(".support", ".supports"), "supports is not a key known here"),
        (
            "[worksheet]\nmass_g = 1.5\n" + WEIGHING,
            "adds up to 1500 g; expected about mass_g = 1.5; likely cause: grams and",
        ),
        (
            "[worksheet]\nmass_g = 1.5\n" + WEIGHING.replace("900", "0.9").replace("600", "0.6"),
            "likely cause: kilograms where grams are asked for; write every mass in grams: 1.5 kg are 1500 g",
        ),
        (
            WEIGHING.replace("900", "0.9").replace("600", "0.6"),
            'weighing "skids" adds up to 1.5 g; expected 20 g or more',
        ),
        (
            WEIGHING.replace("900", "0.09"),
            "likely cause: kilograms where grams are asked for; write every mass in grams: grams = 90",
        ),
        (HANG + '[[place]]\nname = "sensr"\nat_mm = {}\n', 'likely cause: a misspelt "sensor"'),
        (HANG + '[[place]]\nname = "tail"\nat_mm = {}\n', '"tail" has no position_mm in the airframe file'),
        (HANG + "[worksheet]\nmass_g = 0\n", "worksheet.mass_g = 0; expected 1 to 200000"),
        (HANG.replace("= 3", '= "3"'), "is a text; expected a number"),
    ],
)
def test_a_fault_is_told_with_its_line_its_cause_and_what_to_do(refusal, text, told):
    assert told in refusal(text)


def test_all_faults_are_told_at_once_in_the_order_of_the_file(refusal):
    message = refusal(HANG.replace("up = 130", "top = 130") + WEIGHING.replace("grams = 900", "grams = -900"))
    assert [line.partition(": ")[0] for line in message.splitlines()] == ["sheet.toml:5", "sheet.toml:12"]


def test_a_worksheet_without_a_reference_is_refused(tmp_path, demo_airframe):
    path = tmp_path / "sheet.toml"
    path.write_text(HANG)
    with pytest.raises(WorksheetError, match=r"there is no \[reference\].*the point that all distances start from"):
        read_worksheet(path, demo_airframe("dunlin"))


@pytest.mark.parametrize(
    ("name", "what"), [("dunlin.toml", "an airframe file"), ("dunlin-ok.toml", "the manifest of a capture")]
)
def test_another_file_in_its_place_is_named_as_what_it_is(captures, demo_airframe, name, what):
    with pytest.raises(WorksheetError, match=f"is {what}, and not a worksheet.*two files are exchanged"):
        read_worksheet(captures / name, demo_airframe("dunlin"))


def test_a_rotor_of_a_multirotor_has_a_place(read_sheet):
    sheet = read_sheet(HANG + '[[place]]\nname = "front right"\nat_mm = { forward = 90 }\n', "knot")
    assert sheet.places[0].name == "front right"
