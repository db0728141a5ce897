"""The airframe file: what a good one reads to, and how a faulty one is refused."""

from __future__ import annotations

import hashlib
import re

import numpy as np
import pytest

from benchrig.declaration.airframe_file import read_airframe
from benchrig.errors import AirframeFileError
from benchrig.geometry.turns import REQUIRED_TURNS


def test_the_documented_example_reads_to_its_values_in_si(declare, helicopter) -> None:
    airframe = declare(helicopter)
    assert (airframe.name, airframe.kind) == ("Dunlin 450", "helicopter")
    sensor = airframe.sensor
    assert sensor.axes == {"x": "aft", "y": "left", "z": "down"}
    assert sensor.body_from_sensor.tolist() == [[-1, 0, 0], [0, -1, 0], [0, 0, 1]]
    assert sensor.lever_arm.tolist() == [-0.18, 0, -0.025]
    assert sensor.position_tolerance == pytest.approx(0.005)
    assert sensor.reads == "specific force"
    assert sensor.gyro_range == pytest.approx(34.906585, abs=1e-6)
    assert sensor.accelerometer_range == pytest.approx(16 * 9.80665)
    assert airframe.magnetometer is not None
    assert airframe.magnetometer.body_from_sensor.tolist() == np.eye(3).tolist()
    assert airframe.magnetometer.position.tolist() == [-0.62, 0, -0.04]
    assert airframe.clearances == {"magnetometer_to_tail_rotor": 0.24, "magnetometer_to_motor": 0.52}
    assert airframe.rotor is not None
    assert (airframe.rotor.turns, airframe.rotor.plate_lead) == ("clockwise", 0)
    assert airframe.required_motions == REQUIRED_TURNS
    assert airframe.source.sha256 == hashlib.sha256(helicopter.encode()).hexdigest()
    assert airframe.source.file.name == "dunlin.toml"


def test_the_actuators_of_the_example_have_their_effects(declare, helicopter) -> None:
    front, tail = declare(helicopter).actuators
    assert (front.name, front.drives, front.longer_pulse) == ("front", "swashplate", "plate up")
    assert (front.centre, front.azimuth) == (0.00152, 0)
    assert front.effect.tolist() == [0, 1, 0]
    assert (tail.name, tail.drives, tail.longer_pulse, tail.centre) == ("tail", "tail rotor", "nose left", 0.00076)
    assert tail.effect.tolist() == [0, 0, -1]


def test_with_the_least_that_is_needed_the_sensor_sits_at_the_centre_and_reads_specific_force(declare, aeroplane):
    airframe = declare(aeroplane)
    assert airframe.sensor.lever_arm.tolist() == [0, 0, 0]
    assert airframe.sensor.reads == "specific force"
    assert airframe.sensor.position_tolerance is None
    assert airframe.magnetometer is None
    assert airframe.actuators == ()
    assert airframe.clearances == {}


def test_a_unit_that_reads_gravity_is_taken_as_one(declare, aeroplane) -> None:
    assert declare(aeroplane + 'accelerometer_reads = "gravity"').sensor.reads == "gravity"


def test_what_was_read_cannot_be_changed_by_a_judge(declare, helicopter) -> None:
    airframe = declare(helicopter)
    for array in (airframe.sensor.body_from_sensor, airframe.sensor.lever_arm, airframe.actuators[0].effect):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 3


def test_motions_can_be_required_by_name(declare, aeroplane) -> None:
    airframe = declare(aeroplane + '[limits]\nrequired_motions = ["level", "roll left"]')
    assert airframe.required_motions == ("level", "roll left")


CHANGES = [
    # what is replaced, by what, and the line and words of the refusal
    ('name = "Dunlin 450"\n', "", 1, r"\[airframe\] has no name; add name = …"),
    ('"Dunlin 450"', '" "', 2, "airframe.name is empty"),
    ('"Dunlin 450"', '"' + "D" * 61 + '"', 2, "airframe.name has 61 characters; expected at most 60"),
    ('"Dunlin 450"', '"Dun\\u001b[2J"', 2, r'name = "Dun\\u001b\[2J" does not print'),
    ('"Dunlin 450"', '"Dunlin "', 2, 'begins or ends with a blank; expected "Dunlin"'),
    ('"Dunlin 450"', "450", 2, "airframe.name = 450 is a whole number; expected text in quotation marks"),
    ('"helicopter"', '"helicoptre"', 3, 'expected "helicopter", "aeroplane".* likely cause: a misspelt "helicopter"'),
    ('"helicopter"', "true", 3, 'airframe.kind = true is a boolean; expected "helicopter"'),
    ("kind =", "kinds =", 3, "airframe.kinds is not a key known here; .*a misspelt kind; write kind"),
    ('z = "down" }\npos', 'z = "up" }\npos', 6, "x aft and y left, z points down; one word is wrong"),
    ('y = "left", z', 'y = "forward", z', 6, 'x = "aft" and y = "forward" lie along one line'),
    ('x = "aft", y = "left", z = "down"', 'x = "aft"', 6, "name at least two of x, y and z"),
    ('x = "aft"', 'x = "backward"', 6, 'sensor.axes.x = "backward" is not a word known here; expected "forward"'),
    ('x = "aft"', 'w = "aft"', 6, 'sensor.axes.w is not a key known here; expected "x", "y" or "z"'),
    ('axes = { x = "aft", y = "left", z = "down" }', "", 5, r"\[sensor\] has neither axes nor rotation"),
    ("{ aft = 180", "{ aft = -180", 7, "aft = -180; expected 0 to 5000; .*; write forward = 180"),
    ("{ aft = 180", "{ aft = 5001", 7, "aft = 5001; expected 0 to 5000; likely cause: a slip of the unit"),
    ("{ aft = 180", "{ aft = true", 7, "aft = true is a boolean; expected a number"),
    ("{ aft = 180", "{ aft = nan", 7, "aft = nan; expected a finite number"),
    ("{ aft = 180", "{ aft = 1e999", 7, "aft = inf; expected a finite number"),
    ("{ aft = 180", "{ aft = 1" + "0" * 400, 7, "aft = an integer of 1329 bits"),
    ("{ aft = 180", "{ aft = 180, forward = 2", 7, "position_mm gives both forward and aft; .* keep the one"),
    ("position_mm = { aft = 180, up = 25 }", "position_mm = [180, 0]", 7, r"= \[180, 0\] is a list; expected a table"),
    ("position_mm = { aft = 1", "position_cm = { aft = 1", 7, "position_cm is not a key .* a misspelt position_mm"),
    ("tolerance_mm = 5", "tolerance_mm = 0", 8, "position_tolerance_mm = 0; expected 0.1 to 1000"),
    (
        '"specific force"',
        '"specific_force"',
        9,
        'expected "specific force" or "gravity"; .* a misspelt "specific force"',
    ),
    ("= 2000", "= 35.0e9", 10, "gyro_range_deg_s = 35000000000.0; expected 10 to 20000"),
    ("= 2000", "= 2000-01-01", 10, "gyro_range_deg_s = 2000-01-01 is a date; expected a number"),
    ("_g = 16", '_g = "16 g"', 11, "a number in quotation marks, or a unit beside it"),
    ("motor = 520", "motor = 0", 19, "magnetometer_to_motor = 0; expected 1 to 10000"),
    ("[clearances_mm]", "[clearances]", 17, r"\[clearances\] is not a key known here; .* write clearances_mm"),
    ('turns = "clockwise"', 'turns = "cw"', 22, 'expected "clockwise" or "counter-clockwise"'),
    ("lead_deg = 0", "lead_deg = 181", 23, "plate_lead_deg = 181; expected -180 to 180"),
    ('[rotor]\nturns = "clockwise"\nplate_lead_deg = 0\n', "", 22, 'actuator "front" drives the swashplate, but there'),
    ('name = "front"', 'name = "TAIL"', 33, r'a second actuator is called "tail" \(the first: dunlin.toml:26\)'),
    ('"swashplate"', '"swash plate"', 27, 'actuator "front" drives = "swash plate" .* a misspelt "swashplate"'),
    ('"swashplate"', '"elevator"', 27, 'drives "elevator", which a helicopter does not have; expected "swashplate"'),
    ('drives = "swashplate"\n', "", 25, 'actuator "front" has no drives'),
    ("azimuth_deg = 0\n", "", 25, 'actuator "front" has no azimuth_deg'),
    ("azimuth_deg = 0", "azimuth_deg = -60", 28, "expected 0 to 360; .* count clockwise from the nose"),
    ('"plate up"', '"up"', 29, 'longer_pulse = "up" is not a word known here; expected "plate up" or "plate down"'),
    ("centre_us = 1520", "centre_us = 152", 30, "centre_us = 152; expected 300 to 2500"),
    ("centre_us = 760", "azimuth_deg = 1", 36, 'actuator "tail" azimuth_deg is not a key known here'),
]


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change[1][:40].strip() or "left out")
def test_one_fault_is_refused_with_its_line_and_what_is_allowed(refusal, helicopter, change) -> None:
    old, new, line, words = change
    assert helicopter.count(old) >= 1
    message = refusal(helicopter.replace(old, new, 1))
    assert message.startswith(f"dunlin.toml:{line}: ")
    assert re.search(words, message)
    assert len(message.splitlines()) == 1


def test_all_faults_are_told_at_once_in_the_order_of_the_file(refusal, helicopter) -> None:
    text = helicopter.replace('"clockwise"', '"cw"').replace("aft = 180", "aft = -180").replace('"nose left"', '"left"')
    text = text.replace('z = "down"', 'z = "up"').replace('"Dunlin 450"', '""')
    lines = [int(line.split(":")[1]) for line in refusal(text).splitlines()]
    assert lines == [2, 6, 7, 14, 22, 35]


def test_a_flood_of_faults_is_cut_short(refusal, aeroplane) -> None:
    message = refusal(aeroplane + "".join(f"key{number} = 1\n" for number in range(100)))
    assert len(message.splitlines()) == 21
    assert message.endswith("80 more problems; mend those above first")


def test_a_missing_sensor_is_named(refusal) -> None:
    assert "there is no [sensor]; add" in refusal('[airframe]\nname = "a"\nkind = "other"')


def test_a_misspelt_table_is_one_fault_and_not_two(refusal, aeroplane) -> None:
    message = refusal(aeroplane.replace("[sensor]", "[sensors]"))
    assert message.splitlines()[0].startswith("dunlin.toml:4: [sensors] is not a key known here")
    assert len(message.splitlines()) == 1


def test_a_manifest_given_in_place_of_the_airframe_file_is_recognised(refusal) -> None:
    message = refusal('[capture]\nstream = "a.csv"\n[columns]\n')
    assert message.endswith(
        "the manifest of a capture was named in place of the airframe file; name the airframe file first"
    )
    assert len(message.splitlines()) == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[actuator]\nname = 'a'", r"one bracket instead of two; write \[\[actuator\]\]"),
        ("actuator = 3", "actuator is a whole number"),
        ("actuator = [3]", "actuator lists other things"),
        ("[[rotor]]\nturns = 'clockwise'", r"likely cause: \[\[rotor\]\] in place of \[rotor\]"),
        ("limits = 3", r"limits is a whole number; expected a table \[limits\]"),
        ("[[actuator]]\n" * 65, "65 actuators; expected at most 64"),
        ("[rotor]\nturns = 'clockwise'", "is declared, and kind is aeroplane; expected"),
        ("[limits]\nrequired_motions = []", "required_motions is empty; expected at least one motion"),
        (
            "[limits]\nrequired_motions = ['hover']",
            r'required_motions\[1\] = "hover" is not a word .* "level", "nose up"',
        ),
        ("[limits]\nrequired_motions = ['free']", r'"free" is not a word known here'),
        ("[limits]\nrequired_motions = ['level', 'level']", 'names "level" twice'),
        ("[limits]\nrequired_motions = [\n'level',\n 3]", "dunlin.toml:9: .* = 3 is a whole number"),
        ("[limits]\nrequired_motions = [" + "'level'," * 33 + "]", "has 33 entries; expected at most 32 entries"),
        ("[limits]\nrequired_motion = ['level']", "a misspelt required_motions"),
    ],
)
def test_a_table_of_the_wrong_shape_or_sense_is_refused(refusal, aeroplane, text, words) -> None:
    top_level = re.match(r"\w+ =", text)
    message = refusal(f"{text}\n{aeroplane}" if top_level else aeroplane + text)
    assert re.search(words, message)


def test_axes_and_rotation_together_are_refused(refusal, aeroplane) -> None:
    message = refusal(aeroplane + "rotation = [[1,0,0],[0,1,0],[0,0,1]]")
    assert "[sensor] has axes and rotation; expected one of them" in message


def test_a_missing_file_is_named_with_its_folder(missing_file) -> None:
    with pytest.raises(AirframeFileError, match="there is no such airframe file in") as caught:
        read_airframe(missing_file)
    assert caught.value.exit_status == 4
