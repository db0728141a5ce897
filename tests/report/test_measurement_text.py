"""A measurement's report for a terminal."""

from __future__ import annotations

import re
from dataclasses import replace

import measurements
import pytest

from benchrig.cautions import CAUTIONS
from benchrig.outcome import Outcome
from benchrig.report.lettering import columns
from benchrig.report.measurement_text import measurement_text
from benchrig.report.measurement_wording import group_of, value_of


def shown(name, width=80, *, colour=False):
    return measurement_text(measurements.ALL[name](), width=width, colour=colour)


@pytest.mark.parametrize("name", measurements.ALL)
@pytest.mark.parametrize("width", [40, 60, 80, 100])
def test_no_line_is_wider_than_the_terminal_but_for_lines_to_be_pasted(name, width):
    told, _, rest = shown(name, width).partition("LINES FOR THE AIRFRAME FILE")
    pasted = rest.partition("\n\nHOW IT WAS MEASURED")[0].splitlines()
    for line in told.splitlines():
        assert columns(line) <= width
    assert all(columns(line) <= width or "=" in line or line.startswith("[[") for line in pasted)


@pytest.mark.parametrize("name", measurements.ALL)
def test_colour_adds_nothing_but_colour(name):
    assert re.sub("\x1b\\[[0-9;]*m", "", shown(name, colour=True)).replace(" \n", "\n") == re.sub(
        " +\n", "\n", shown(name)
    ) or re.sub(" +\n", "\n", re.sub("\x1b\\[[0-9;]*m", "", shown(name, colour=True))) == shown(name)


def test_hostile_text_steers_no_terminal():
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e\ud800-\udfff]", shown("hostile"))


@pytest.mark.parametrize("name", measurements.ALL)
def test_the_cautions_come_first_and_each_once(name):
    text = " ".join(shown(name, 100).split())
    for caution in CAUTIONS:
        assert text.count(caution) == 1
    assert text.startswith(f"! {CAUTIONS[0]}")


def test_a_usual_caution_that_a_measurement_repeats_is_shown_once():
    measurement = replace(measurements.lever(), cautions=(CAUTIONS[2], "Stand clear."))
    text = " ".join(measurement_text(measurement, colour=False).split())
    assert text.count(CAUTIONS[2]) == 1
    assert text.index(CAUTIONS[3]) < text.index("! Stand clear.")


def test_a_value_stands_beside_what_was_declared_and_how_it_was_judged():
    lines = shown("lever").splitlines()
    assert "sensor from CG, forward  −178.2 ± 0.7 mm       −180 mm       = pass" in lines
    rules = f"judged by: sensor from CG: {measurements.WITHIN}; speed of the table: within 2 %"
    assert rules in " ".join(" ".join(lines).split())


def test_a_value_that_cannot_be_told_says_why_below_it():
    lines = shown("lever").splitlines()
    place = next(k for k, line in enumerate(lines) if line.startswith("sensor from CG, down"))
    assert "not told" in lines[place]
    assert lines[place + 1] == f"    {measurements.ALONG}"


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["front, centre", "right rear, centre"], "centre"),
        (["sensor from CG, aft", "sensor from CG, up"], "sensor from CG"),
        (["gyro scale, x", "accelerometer scale, x", "gyro scale, y"], "gyro scale, accelerometer scale"),
        (["front, when the link is lost"], "front, when the link is lost"),
        (["heading against the gyro", "dip, level"], "heading against the gyro, dip, level"),
        (["a, 1", "b, 2", "c, 1", "d, 2", "e, 1"], "a, b, c and 2 more"),
    ],
)
def test_a_rule_names_what_it_belongs_to(names, said):
    assert group_of(names) == said


def test_where_only_some_axes_share_a_reason_it_stands_below_each():
    reasons = {"x": "the rest has 2 s", "y": "the rest has 9 s", "z": "the rest has 9 s"}
    quantities = tuple(
        measurements.quantity(f"random walk, {axis}", None, None, reason=why) for axis, why in reasons.items()
    )
    lines = measurement_text(replace(measurements.lever(), quantities=quantities), colour=False).splitlines()
    for axis, why in reasons.items():
        at = next(k for k, line in enumerate(lines) if line.startswith(f"random walk, {axis}"))
        assert lines[at + 1] == f"    {why}"


def test_axes_at_the_end_of_a_name_stay_on_one_line():
    crossed = measurements.quantity("accelerometer cross-talk between the axes, x and y", 0.001, 0.0002, 0.0)
    for width in range(40, 81):
        text = measurement_text(replace(measurements.lever(), quantities=(crossed,)), width=width, colour=False)
        assert "x and y" in text


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [(0.00355123, "mg", "0.00355 mg"), (11.0523, "ms", "11.1 ms"), (2401.0, "rpm", "2401 rpm"), (3699.0, "", "3699")],
)
def test_a_number_of_unknown_uncertainty_keeps_three_digits_and_a_count_all(value, unit, said):
    assert value_of(measurements.quantity("q", value, None, unit=unit)) == said


def test_a_reason_that_several_quantities_share_is_said_once_below_the_last():
    text = shown("open-sensor")
    assert text.count("the longest rest has 0.8 s") == 1
    assert text.index("accelerometer bias, z") < text.index("the longest rest has 0.8 s")


@pytest.mark.parametrize(
    ("name", "sentences"),
    [
        ("lever", ["  = PASS", "as declared, wherever it was declared", "NOTES", "WHAT THIS CANNOT TELL"]),
        ("wrong-lever", ["  ≠ FAIL", "≠ FAIL\n    it differs by 39.8 mm; limit: within 5 mm", "Do: Measure by ruler"]),
        ("open-sensor", ["  ? NOT SHOWN", "This is not a pass", "? not shown\n", "from      no recording"]),
        ("plain-sensor", ["  – MEASURED", "so nothing was judged", "0.0075 ± 0.0002 °/s/√Hz", "999 Hz"]),
    ],
)
def test_the_report_says_what_matters(name, sentences):
    text = shown(name)
    for sentence in sentences:
        assert sentence in text


def test_the_words_of_the_outcome_follow_the_outcome_alone():
    words = {measurements.ALL[name]().outcome: re.search("━\n  (.*)\n", shown(name))[1] for name in measurements.ALL}
    assert words == {
        Outcome.PASS: "= PASS",
        Outcome.FAIL: "≠ FAIL",
        Outcome.NOT_SHOWN: "? NOT SHOWN",
        Outcome.NOT_APPLICABLE: "– MEASURED",
    }


def test_columns_that_would_be_empty_are_left_out():
    assert "QUANTITY                  MEASURED\n" in shown("plain-sensor")


def test_a_measurement_without_a_quantity_says_so_and_passes_nothing():
    text = measurement_text(replace(measurements.lever(), quantities=(), findings=()), colour=False)
    assert "Nothing was measured." in text
    assert "  ? NOT SHOWN" in text


def test_a_line_for_the_airframe_file_has_its_comment_beside_it_or_above():
    assert "position_mm = {aft = 178.2, up = 25.0}  # spin at 33.3 1/min, ± 0.7 mm" in shown("lever").splitlines()
    lines = shown("lever", 60).splitlines()
    place = lines.index("position_mm = {aft = 178.2, up = 25.0}")
    assert lines[place - 1] == "# spin at 33.3 1/min, ± 0.7 mm"
