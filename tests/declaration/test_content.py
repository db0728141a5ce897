"""The content of a declaration: everything in it, in one way."""

from __future__ import annotations

import json
from dataclasses import fields

import pytest

from benchrig.declaration.actuators import Actuator
from benchrig.declaration.airframe import Airframe, Calibration, LinkLoss, Magnetometer, Rotor, Sensor
from benchrig.declaration.airframe_file import read_airframe
from benchrig.declaration.content import declared_content

FULL = """
[airframe]
name = "Whimbrel"
kind = "helicopter"
[sensor]
axes = { x = "aft", y = "left" }
position_mm = { aft = 180, up = 25 }
position_tolerance_mm = 5
gyro_range_deg_s = 2000
accelerometer_range_g = 16
[magnetometer]
axes = { x = "forward", y = "right" }
position_mm = { aft = 620 }
hemisphere = "south"
nearby_current_a = 30
[clearances_mm]
magnetometer_to_motor = 520
[rotor]
turns = "clockwise"
plate_lead_deg = 12
motor_rpm = 30000
pinion_teeth = 13
main_gear_teeth = 150
blades = 2
[[actuator]]
name = "front"
drives = "swashplate"
azimuth_deg = 0
longer_pulse = "plate up"
centre_us = 1520
lowest_us = 1100
highest_us = 1940
[calibration]
gyro_scale = { x = 1.01 }
accelerometer_bias_mg = { z = 12 }
[link_loss]
after_s = 0.5
goes_to_us = { front = 1400 }
[limits]
required_motions = ["nose up", "nose down"]
"""


@pytest.fixture
def content(tmp_path):
    def read(text):
        path = tmp_path / "airframe.toml"
        path.write_text(text, encoding="utf-8")
        return declared_content(read_airframe(path))

    return read


def test_numbers_stand_in_the_units_of_the_file(content):
    found = content(FULL)
    assert found["sensor"]["position_mm"] == {"forward": -180.0, "right": 0.0, "down": -25.0}
    assert found["sensor"]["gyro_range_deg_s"] == 2000.0
    assert found["sensor"]["accelerometer_range_g"] == 16.0
    assert found["rotor"]["plate_lead_deg"] == 12.0
    assert found["rotor"]["motor_rpm"] == 30000.0
    assert found["actuators"]["front"]["centre_us"] == 1520.0
    assert found["actuators"]["front"]["lowest_us"] == 1100.0
    assert found["calibration"]["accelerometer_bias_mg"] == {"x": 0.0, "y": 0.0, "z": 12.0}
    assert found["link_loss"] == {"after_s": 0.5, "goes_to_us": {"front": 1400.0}}
    assert found["limits"] == {"required_motions": ["nose down", "nose up"]}


def test_it_is_plain_json(content):
    found = content(FULL)
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_the_same_facts_written_otherwise_give_the_same_content(content):
    other = FULL.replace('axes = { x = "aft", y = "left" }', "rotation = [[-1.0, 0, 0], [0, -1.0, 0], [0, 0, 1.0]]")
    other = other.replace("aft = 180, up = 25", "up = 25, aft = 180").replace("centre_us = 1520", "centre_us = 1520.0")
    other = other.replace('["nose up", "nose down"]', '["nose down", "nose up"]')
    assert content(other) == content(FULL)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("azimuth_deg = 0", "azimuth_deg = 120"),
        ("plate up", "plate down"),
        ('hemisphere = "south"', 'hemisphere = "north"'),
        ("main_gear_teeth = 150", "main_gear_teeth = 151"),
        ("x = 1.01", "x = 1.02"),
        ("front = 1400", "front = 1410"),
        ("position_tolerance_mm = 5", "position_tolerance_mm = 6"),
        ("magnetometer_to_motor = 520", "magnetometer_to_motor = 500"),
    ],
)
def test_any_other_fact_gives_another_content(content, old, new):
    assert content(FULL.replace(old, new)) != content(FULL)


def test_a_bare_file_has_none_for_what_it_does_not_declare(content):
    found = content('[airframe]\nname = "Bare"\nkind = "other"\n[sensor]\naxes = { x = "forward", y = "right" }\n')
    assert [found[key] for key in ("magnetometer", "rotor", "calibration", "link_loss")] == [None] * 4
    assert found["actuators"] == {}


def test_no_field_of_the_declaration_is_forgotten(content):
    """A field that is added to a declaration must be added to its content too, or a change of it would not be seen."""
    found = content(FULL)
    aside = {Airframe: {"source", "name", "kind", "required_motions"}, Actuator: {"name", "moves"}}
    held = {
        Airframe: found.keys() - {"airframe", "limits"},
        Sensor: found["sensor"],
        Magnetometer: found["magnetometer"],
        Rotor: found["rotor"],
        Calibration: found["calibration"],
        LinkLoss: found["link_loss"],
        Actuator: found["actuators"]["front"],
    }
    for kind, content_ in held.items():
        assert len(fields(kind)) - len(aside.get(kind, ())) == len(content_), kind.__name__
