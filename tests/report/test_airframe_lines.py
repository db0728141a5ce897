"""Lines for the airframe file."""

from __future__ import annotations

import tomllib

import measurements
import pytest

from benchrig.measure.measurement import Entry
from benchrig.report.airframe_lines import airframe_lines


def pasted(*entries):
    """Join the lines as a person would paste them, without the header of an actuator that is there already."""
    blocks = airframe_lines(entries)
    return "\n".join("\n".join([header, *(line for line, _ in lines)]) for header, lines in blocks)


def test_what_is_pasted_is_read_as_what_was_measured():
    read = tomllib.loads(pasted(*measurements.plain_sensor().entries))
    assert read["calibration"]["accelerometer_bias_mg"] == {"x": -11.6, "y": 34.5, "z": -1.8}
    assert read["calibration"]["accelerometer_matrix"][2] == [-0.0031, 0.0004, 1.0102]
    assert read["actuator"] == [{"centre_us": 1521}]
    assert read["link_loss"]["goes_to_us"] == {"left rear": "stays"}


@pytest.mark.parametrize(
    "text", ['say "so"', "back\\slash", "bell\x07", "c1\x85", "turn\u202eround", "a  b", "尾\U000e0001"]
)
def test_any_text_comes_back_as_it_was_and_steers_no_terminal(text):
    line = pasted(Entry(("sensor",), text, text))
    assert tomllib.loads(line)["sensor"] == {text: text}
    assert line.replace("\n", "").isprintable()


def test_lines_of_one_table_stand_together_with_their_comments():
    blocks = airframe_lines(
        [Entry(("sensor",), "a", 1.5, "one"), Entry(("rotor",), "b", 2), Entry(("sensor",), "c", "up", "\x1btwo")]
    )
    assert blocks == [("[sensor]", [("a = 1.5", "one"), ('c = "up"', "\\x1btwo")]), ("[rotor]", [("b = 2", "")])]


def test_an_actuator_is_named_beside_its_header():
    [(header, _)] = airframe_lines([Entry(("actuator", "left rear"), "centre_us", 1521)])
    assert header == '[[actuator]]  # "left rear"'
