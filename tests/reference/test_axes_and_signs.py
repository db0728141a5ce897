"""Body axes, words for signs, rest readings (rows A1 to A15).

Sources, with what is known of each:

- ISO 1151-1:1988, Flight dynamics - Concepts, quantities and symbols, 1.1.5 body axes (clause from memory).
- MathWorks, Aerospace Toolbox, "Coordinate Systems for Modeling"; Navigation Toolbox, `accelcal` (confirmed).
- ROS REP 103 "Axis Orientation", "Chirality"; REP 145 "Frame Conventions", "Accelerometers", "Gyroscopes",
  "Data Reporting" (confirmed).
- DAVE-ML reference, "Common sign convention notation", which cites AIAA R-004-1992 (confirmed).
- Aeronautical Engineer's Data Book, Table 7.1, p. 109 (confirmed).
- Titterton & Weston, Strapdown Inertial Navigation Technology, ch. 3 (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.geometry.directions import DIRECTIONS, body_from_sensor, unit_vector
from benchrig.geometry.integration import net_turn
from benchrig.geometry.rotations import (
    FRD_FROM_FLU,
    NED_FROM_ENU,
    SIGNED_PERMUTATIONS,
    angles_from_matrix,
    body_rates,
    gravity_reading,
    matrix_from_angles,
    matrix_from_vector,
)
from benchrig.geometry.turns import TURNS, turn_axis, turn_word
from benchrig.verdict.wirings import CLASSES


def test_a1_x_is_the_nose_y_the_right_side_and_z_down():
    # A1, MathWorks "Coordinate Systems for Modeling" (confirmed); ISO 1151-1 1.1.5 (from memory)
    axes = np.array([unit_vector(word) for word in ("forward", "right", "down")])
    assert axes.tolist() == np.eye(3).tolist()
    assert np.cross(unit_vector("forward"), unit_vector("right")).tolist() == unit_vector("down").tolist()
    assert set(DIRECTIONS) == {"forward", "aft", "right", "left", "down", "up"}


def test_a2_forward_left_up_is_right_handed_and_half_a_turn_away():
    # A2, REP 103 "Axis Orientation" and "Chirality" (confirmed)
    matrix = body_from_sensor({"x": "forward", "y": "left", "z": "up"})
    assert matrix.tolist() == np.diag([1.0, -1.0, -1.0]).tolist() == FRD_FROM_FLU.tolist()
    assert np.linalg.det(matrix) == pytest.approx(1.0)


def test_a3_east_north_up_to_north_east_down():
    # A3, REP 103; REP 145 "Frame Conventions" (confirmed); the matrix by arithmetic
    assert (NED_FROM_ENU @ [1.0, 2.0, 3.0]).tolist() == [2.0, 1.0, -3.0]
    assert np.linalg.det(NED_FROM_ENU) == pytest.approx(1.0)
    assert (NED_FROM_ENU @ NED_FROM_ENU).tolist() == np.eye(3).tolist()


@pytest.mark.parametrize(
    ("word", "axis", "moving", "goes"),
    [
        ("roll right", 0, "right", "down"),
        ("nose up", 1, "forward", "up"),
        ("yaw right", 2, "forward", "right"),
    ],
)
def test_a4_positive_is_right_wing_down_nose_up_nose_right(word, axis, moving, goes):
    # A4, DAVE-ML "Common sign convention notation": +RWD, +ANU, +ANR (confirmed)
    assert TURNS[word] == (axis, 1)
    assert turn_word(axis, 1) == word
    turned = matrix_from_vector(np.radians(10.0) * turn_axis(word)) @ unit_vector(moving)
    assert turned @ unit_vector(goes) == pytest.approx(np.sin(np.radians(10.0)))


def test_a4_heading_grows_clockwise_from_north():
    # A4, DAVE-ML: +CWFN (confirmed)
    eastward = matrix_from_angles(np.radians([0.0, 0.0, 90.0])) @ unit_vector("forward")
    np.testing.assert_allclose(eastward, NED_FROM_ENU @ [1.0, 0.0, 0.0], atol=1e-15)


def test_a5_body_rates_are_those_of_the_turning_body():
    # A5, Aeronautical Engineer's Data Book Table 7.1, p. 109 (confirmed)
    angles, rates, step = np.radians([25.0, -35.0, 110.0]), np.array([0.3, -0.5, 0.8]), 1e-6
    phi, theta, _ = angles
    expected = [
        rates[0] - rates[2] * np.sin(theta),
        rates[1] * np.cos(phi) + rates[2] * np.sin(phi) * np.cos(theta),
        rates[2] * np.cos(phi) * np.cos(theta) - rates[1] * np.sin(phi),
    ]
    found = body_rates(angles, rates)
    np.testing.assert_allclose(found, expected, atol=1e-15)
    # and they are what carries one attitude into the next: v is read off R(t)ᵀ R(t + dt)
    before, after = matrix_from_angles(angles - rates * step), matrix_from_angles(angles + rates * step)
    small = before.T @ after
    small = (small - small.T) / 2
    np.testing.assert_allclose(np.array([small[2, 1], small[0, 2], small[1, 0]]) / (2 * step), found, atol=1e-9)


def test_a6_yaw_then_pitch_then_roll():
    # A6, SAE J670 wording as quoted by an encyclopaedia, MathWorks default ZYX (confirmed)
    roll, pitch, yaw = np.radians([20.0, 40.0, 70.0])
    about = [matrix_from_vector(angle * np.eye(3)[axis]) for axis, angle in enumerate((roll, pitch, yaw))]
    expected = about[2] @ about[1] @ about[0]
    np.testing.assert_allclose(matrix_from_angles(np.array([roll, pitch, yaw])), expected, atol=1e-15)
    np.testing.assert_allclose(angles_from_matrix(expected), [roll, pitch, yaw], atol=1e-15)


@pytest.mark.parametrize(
    ("word", "flu"), [("roll right", (1, 0, 0)), ("nose up", (0, -1, 0)), ("yaw right", (0, 0, -1))]
)
def test_a7_the_same_motion_in_forward_left_up(word, flu):
    # A7, REP 103 with the right-hand rule (confirmed rule): pitch and yaw change their sign, roll does not
    assert (FRD_FROM_FLU.T @ turn_axis(word)).tolist() == list(flu)


def test_a8_level_rest_reads_minus_g_down_and_plus_g_up():
    # A8, REP 145 "Accelerometers": z up at rest indicates +g; MathWorks `linaccel` (confirmed)
    level = gravity_reading(0.0, 0.0, 9.81)
    np.testing.assert_allclose(level, [0.0, 0.0, -9.81], atol=0)
    np.testing.assert_allclose(FRD_FROM_FLU.T @ level, [0.0, 0.0, 9.81], atol=0)


@pytest.mark.parametrize(
    ("row", "roll", "pitch", "frd"),
    [
        ("A9", 30.0, 0.0, (0.0, -0.500000, -0.866025)),
        ("A10", 0.0, 30.0, (0.500000, 0.0, -0.866025)),
        ("A11", 30.0, 20.0, (0.342020, -0.469846, -0.813798)),
    ],
)
def test_a9_a10_a11_tilted_rest_readings(row, roll, pitch, frd):
    # A9 to A11, arithmetic on A6 and A8; the formula as in MathWorks and Stevens & Lewis (from memory)
    found = gravity_reading(np.radians(roll), np.radians(pitch))
    np.testing.assert_allclose(found, frd, atol=5e-7, err_msg=row)
    turned = matrix_from_angles(np.radians([roll, pitch, 0.0])).T @ [0.0, 0.0, -1.0]
    np.testing.assert_allclose(found, turned, atol=1e-15)
    # in forward-left-up y and z change their sign and x reads the same
    np.testing.assert_allclose(FRD_FROM_FLU.T @ found, np.array(frd) * [1, -1, -1], atol=5e-7)


@pytest.mark.parametrize(
    ("pose", "pitch", "roll", "reads"),
    [
        ("xUp", 90, 0, (1, 0, 0)),
        ("yUp", 0, -90, (0, 1, 0)),
        ("zUp", 180, 0, (0, 0, 1)),
        ("xDown", -90, 0, (-1, 0, 0)),
        ("yDown", 0, 90, (0, -1, 0)),
        ("zDown", 0, 0, (0, 0, -1)),
    ],
)
def test_a12_the_axis_that_points_up_reads_plus_g(pose, pitch, roll, reads):
    # A12, MathWorks `accelcal` example: north-east-down angles of the six poses (confirmed)
    found = gravity_reading(np.radians(roll), np.radians(pitch))
    np.testing.assert_allclose(found, reads, atol=1e-15, err_msg=pose)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a13_the_gyro_is_right_handed_about_each_axis(axis):
    # A13, REP 145 "Gyroscopes": right-handed about the body axes (confirmed)
    rate = np.tile(np.radians(45.0) * np.eye(3)[axis], (201, 1))
    turn = net_turn(rate, 0.01)
    np.testing.assert_allclose(turn, np.radians(90.0) * np.eye(3)[axis], atol=1e-12)
    following = np.eye(3)[(axis + 1) % 3]
    np.testing.assert_allclose(matrix_from_vector(turn) @ following, np.eye(3)[(axis + 2) % 3], atol=1e-12)


def test_a14_a_left_handed_sensor_is_refused():
    # A14, REP 145 "Data Reporting": one right-handed frame for all sensors (confirmed)
    with pytest.raises(ValueError, match="are left-handed: with x forward and y left, z points up; one word is wrong"):
        body_from_sensor({"x": "forward", "y": "left", "z": "down"})
    mirrored = SIGNED_PERMUTATIONS[np.linalg.det(SIGNED_PERMUTATIONS) < 0]
    assert len(mirrored) == 24


def test_a15_gravity_turns_against_the_body_and_48_of_2304_wirings_agree_with_it():
    # A15, kinematics of a fixed vector in a turning frame: df/dt = -w × f (Titterton & Weston ch. 3, from memory);
    # 48 pairs with Mg = det(Ma) Ma by enumeration
    angles, angle_rates, step = np.radians([20.0, 30.0, 0.0]), np.array([0.4, -0.7, 0.3]), 1e-6
    w, f = body_rates(angles, angle_rates), gravity_reading(*angles[:2])
    later, sooner = (gravity_reading(*(angles + sign * angle_rates * step)[:2]) for sign in (1, -1))
    f_dot = (later - sooner) / (2 * step)
    np.testing.assert_allclose(f_dot, -np.cross(w, f), atol=1e-9)

    gyro, acceleration = SIGNED_PERMUTATIONS @ w, SIGNED_PERMUTATIONS @ f
    growth = SIGNED_PERMUTATIONS @ f_dot
    residual = growth[None, :] + np.cross(gyro[:, None], acceleration[None, :])
    agrees = np.linalg.norm(residual, axis=2) < 1e-6
    assert agrees.sum() == 48
    assert (agrees == (CLASSES[0, 0] == CLASSES)).all()
    pairs = {(int(g), int(a)) for g, a in np.argwhere(agrees)}
    for a, matrix in enumerate(SIGNED_PERMUTATIONS):
        (g,) = (g for g, other in pairs if other == a)
        np.testing.assert_allclose(SIGNED_PERMUTATIONS[g], round(np.linalg.det(matrix)) * matrix)
