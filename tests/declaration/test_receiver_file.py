"""What the receiver does on a lost link, the unit's own errors, and the gears: read, or refused at their line."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.declaration.airframe_file import read_airframe

ELEVATOR = '[[actuator]]\nname = "elevator"\ndrives = "elevator"\nlonger_pulse = "trailing edge up"\n'
RUDDER = '[[actuator]]\nname = "rudder"\ndrives = "rudder"\nlonger_pulse = "trailing edge left"\n'
BARE = (
    '[airframe]\nname = "Wheatear"\nkind = "aeroplane"\n[sensor]\naxes = { x = "forward", y = "right", z = "down" }\n'
    f"{ELEVATOR}{RUDDER}"
)


@pytest.fixture
def read(tmp_path):
    def read_text(text):
        path = tmp_path / "wheatear.toml"
        path.write_text(text, encoding="utf-8")
        return read_airframe(path)

    return read_text


def test_a_lost_link_sends_each_actuator_to_a_pulse_or_leaves_it(read):
    loss = read(BARE + '[link_loss]\nafter_s = 1.5\ngoes_to_us = { elevator = 1480, rudder = "stays" }\n').link_loss
    assert loss.after == 1.5
    assert dict(loss.goes_to) == {"elevator": 1.48e-3, "rudder": None}


def test_nothing_declared_is_none_and_not_an_empty_promise(read):
    airframe = read(BARE)
    assert airframe.link_loss is airframe.calibration is None


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("goes_to_us = { elevater = 1480 }", 'names "elevater", which is no actuator of this file'),
        ("goes_to_us = { elevator = 14 }", 'goes_to_us.elevator = 14; expected 300 to 2500 µs, or "stays"'),
        ('goes_to_us = { elevator = "hold" }', "link_loss.goes_to_us.elevator"),
        ("after_s = -1", "after_s = -1"),
        ("after = 1", "link_loss.after is not a key known here"),
    ],
)
def test_a_wrong_line_about_the_lost_link_is_told(refusal, line, told):
    assert told in refusal(f"{BARE}[link_loss]\n{line}\n")


def test_a_calibration_is_read_in_si_and_sensor_axes(read):
    text = (
        "[calibration]\naccelerometer_bias_mg = { x = 12, z = -40 }\n"
        "accelerometer_matrix = [[1.01, 0, 0], [0.001, 0.99, 0], [0, 0, 1.0]]\n"
        "gyro_scale = { y = 1.02 }\nmagnetometer_bias_ut = { x = -31.5 }\n"
    )
    found = read(BARE + text).calibration
    np.testing.assert_allclose(found.accelerometer_bias, [0.1176798, 0.0, -0.392266])
    np.testing.assert_allclose(found.accelerometer_matrix[1], [0.001, 0.99, 0.0])
    np.testing.assert_allclose(found.gyro_scale, [1.0, 1.02, 1.0])
    np.testing.assert_allclose(found.magnetometer_bias, [-31.5e-6, 0.0, 0.0])
    assert found.magnetometer_matrix is None


@pytest.mark.parametrize(
    "matrix",
    ["[[-1, 0, 0], [0, 1, 0], [0, 0, 1]]", "[[0, 1, 0], [1, 0, 0], [0, 0, 1]]", "[[3, 0, 0], [0, 1, 0], [0, 0, 1]]"],
)
def test_a_sign_a_swap_or_a_wrong_unit_does_not_hide_in_a_calibration(refusal, matrix):
    told = refusal(f"{BARE}[calibration]\naccelerometer_matrix = {matrix}\n")
    assert "accelerometer_matrix" in told


def test_the_gears_and_the_motor_are_read(tmp_path, captures):
    text = (captures / "dunlin.toml").read_text(encoding="utf-8")
    path = tmp_path / "dunlin.toml"
    gears = "motor_rpm = 24000\npinion_teeth = 12\nmain_gear_teeth = 120\nblades = 2\nplate_lead_deg"
    path.write_text(text.replace("plate_lead_deg", gears), encoding="utf-8")
    rotor = read_airframe(path).rotor
    assert rotor.gear_ratio == 10.0
    assert rotor.motor_rate == pytest.approx(2 * np.pi * 400)
    assert rotor.blades == 2


def test_one_gear_without_the_other_is_refused(refusal, captures):
    text = (captures / "dunlin.toml").read_text(encoding="utf-8")
    told = refusal(text.replace("plate_lead_deg", "pinion_teeth = 12\nplate_lead_deg"))
    assert "[rotor] has no main_gear_teeth" in told


@pytest.mark.parametrize(
    ("ends", "told"),
    [
        ("lowest_us = 1900\nhighest_us = 1100", "has lowest_us = 1900 and highest_us = 1100"),
        ("centre_us = 1520\nlowest_us = 1600", "has lowest_us = 1600 and centre_us = 1520"),
    ],
)
def test_ends_out_of_order_are_refused(refusal, ends, told):
    assert told in refusal(BARE.replace(RUDDER, f"{RUDDER}{ends}\n"))
