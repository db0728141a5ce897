"""Gravity, turntables, and what a sensor away from the centre of gravity feels (rows K1 to K15).

Sources, with what is known of each:

- BIPM, 3rd CGPM, 1901: standard gravity (confirmed).
- WGS 84 normal gravity: NGA.STND.0036 (from memory), reproduced by the `ahrs` library; MathWorks `gravitywgs84` example
  (confirmed).
- IEC 60098:2020, Table 1 (speeds), 5.4 (sense), 5.6 (accuracy) (confirmed from an extract).
- WGS 84 earth rate (confirmed).
- Titterton & Weston, Strapdown Inertial Navigation Technology (from memory); the vector example checked by hand.
"""

from __future__ import annotations

import ahrs
import numpy as np
import pytest

from benchrig.attitude.library import pull_of_gravity, upright_attitude
from benchrig.capture.manifest import RPM
from benchrig.capture.units import unit_of
from benchrig.geometry.directions import position
from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.geometry.integration import net_turn
from benchrig.geometry.rigid_body import lever_arm_acceleration
from benchrig.geometry.rotations import (
    FRD_FROM_FLU,
    angles_from_matrix,
    body_rates,
    gravity_reading,
    matrix_from_quaternion,
)
from benchrig.geometry.turns import TURNS, turn_axis
from benchrig.signals.rests import BENCH_GYRO_SD
from benchrig.simulation.trajectory import STANDARD_GRAVITY as SIMULATED_GRAVITY
from benchrig.verdict.wirings import ACCELEROMETER_BIAS

NORMAL_GRAVITY = {0: 9.7803253359, 30: 9.79324727, 45: 9.80619777, 52: 9.81247408, 60: 9.81917695, 90: 9.8321849378}
"""Latitude, deg, to m/s² at sea level (K2, K3)."""

SPEEDS = [
    (100 / 3, 200.0, 3.490659),
    (45.0, 270.0, 4.712389),
    (78.0, 468.0, 8.168141),
    (78.26, 469.56, 8.195368),
    (50 / 3, 100.0, 1.745329),
]


def centripetal(rpm: float, outward: float) -> np.ndarray:
    """Give what a sensor feels that sits `outward` m right of the turntable's axis."""
    return lever_arm_acceleration(np.array([0.0, 0.0, rpm * RPM]), np.zeros(3), np.array([0.0, outward, 0.0]))


def test_k1_standard_gravity_is_exact():
    # K1, 3rd CGPM 1901 (confirmed)
    assert unit_of("accelerometer", "g").factor == 9.80665
    assert STANDARD_GRAVITY == SIMULATED_GRAVITY == 9.80665
    assert unit_of("accelerometer", "m/s2").factor == 1.0


@pytest.mark.parametrize(("latitude", "gravity"), NORMAL_GRAVITY.items())
def test_k2_k3_one_g_stands_for_gravity_anywhere_at_sea_level(latitude, gravity):
    # K2, K3, Somigliana's formula of WGS 84 (confirmed; from memory: NGA.STND.0036). The reference library gives the
    # published number, and the program's one g lies near enough to it for every test of size.
    assert ahrs.utils.WGS().normal_gravity(float(latitude)) == pytest.approx(gravity, abs=1e-8)
    assert abs(unit_of("accelerometer", "g").factor / gravity - 1) < 0.0027


def test_k4_five_kilometres_up():
    # K4, MathWorks gravitywgs84(5000, 55, 'TaylorSeries') = 9.7997 (confirmed)
    gravity = ahrs.utils.WGS().normal_gravity(55.0, 5000.0)
    assert gravity == pytest.approx(9.7997, abs=5e-5)
    assert abs(unit_of("accelerometer", "g").factor / gravity - 1) < 0.0027


def test_k5_the_spread_over_the_earth_is_within_what_an_accelerometer_may_be_off():
    # K5, arithmetic on K2: 0.05186 m/s², 0.529 % of g
    spread = NORMAL_GRAVITY[90] - NORMAL_GRAVITY[0]
    assert spread == pytest.approx(0.05186, abs=5e-6)
    assert 100 * spread / STANDARD_GRAVITY == pytest.approx(0.529, abs=5e-4)
    assert 2 * spread / STANDARD_GRAVITY < ACCELEROMETER_BIAS


def test_k6_the_earths_own_turn_is_lost_in_any_bench():
    # K6, WGS 84: 7.292115e-5 rad/s = 15.041067 deg/h; at 52° north 11.8525 and 9.2602 deg/h (confirmed, arithmetic)
    rate = 7.292115e-5
    hour = net_turn(np.tile(rate * turn_axis("yaw right"), (3601, 1)), 1.0)
    assert np.degrees(hour[2]) == pytest.approx(15.041067, abs=1e-6)
    horizontal, vertical = rate * np.cos(np.radians(52)), rate * np.sin(np.radians(52))
    assert np.degrees([vertical * 3600, horizontal * 3600]) == pytest.approx([11.8525, 9.2602], abs=5e-5)
    assert rate < BENCH_GYRO_SD / 100


@pytest.mark.parametrize(("rpm", "deg_s", "rad_s"), SPEEDS)
def test_k7_record_speeds(rpm, deg_s, rad_s):
    # K7, IEC 60098:2020 Table 1 (confirmed), arithmetic
    assert rpm * RPM == pytest.approx(rad_s, abs=5e-7)
    assert rpm * RPM / unit_of("gyro", "deg/s").factor == pytest.approx(deg_s, abs=1e-9)


def test_k8_a_record_turntable_turns_clockwise_seen_from_above():
    # K8, IEC 60098:2020 5.4 (confirmed): z reads + with z down, - with z up
    assert TURNS["turntable clockwise"] == TURNS["yaw right"] == (2, 1)
    rate = 200.0 * turn_axis("turntable clockwise")
    assert rate.tolist() == [0.0, 0.0, 200.0]
    assert (FRD_FROM_FLU.T @ rate).tolist() == [0.0, 0.0, -200.0]


@pytest.mark.parametrize("off", [-0.005, 0.0, 0.005])
def test_k9_half_a_percent_of_speed_is_half_a_percent_of_the_turn(off):
    # K9, IEC 60098:2020 5.6, ±0.5 % (confirmed); as a standard deviation a / √3 = 0.289 %
    assert 100 * 0.005 / np.sqrt(3) == pytest.approx(0.289, abs=5e-4)
    rate = (1 + off) * (100 / 3) * RPM * turn_axis("turntable clockwise")
    turn = net_turn(np.tile(rate, (1351, 1)), 0.001)
    assert np.degrees(turn[2]) == pytest.approx(270.0 * (1 + off), abs=1e-6)


@pytest.mark.parametrize(
    ("rpm", "wide", "narrow"), [(100 / 3, 1.218470, 0.121847), (45.0, 2.220661, 0.222066), (78.0, 6.671853, 0.667185)]
)
def test_k10_centripetal_acceleration(rpm, wide, narrow):
    # K10, w² r, arithmetic
    assert np.linalg.norm(centripetal(rpm, 0.10)) == pytest.approx(wide, abs=5e-7)
    assert np.linalg.norm(centripetal(rpm, 0.01)) == pytest.approx(narrow, abs=5e-7)


@pytest.mark.parametrize(("rpm", "mg"), [(100 / 3, 124.249), (45.0, 226.444), (78.0, 680.34)])
def test_k11_the_same_in_thousandths_of_g(rpm, mg):
    # K11, arithmetic
    found = 1000 * np.linalg.norm(centripetal(rpm, 0.10)) / unit_of("accelerometer", "g").factor
    assert found == pytest.approx(mg, abs=5e-3)


def test_k12_the_tilt_that_a_turntable_feigns():
    # K12, atan(w² r / g) = 12.7591° at 45 rpm and 0.10 m, arithmetic. To the right of the axis the centre is left.
    force = gravity_reading(0.0, 0.0, STANDARD_GRAVITY) + centripetal(45.0, 0.10)
    attitude = matrix_from_quaternion(upright_attitude(pull_of_gravity(force[None])[0]))
    roll, pitch, _ = np.degrees(angles_from_matrix(attitude))
    assert (roll, pitch) == pytest.approx((12.7591, 0.0), abs=5e-5)
    # once the lever arm is taken off, nothing is left of it
    level = matrix_from_quaternion(upright_attitude(pull_of_gravity((force - centripetal(45.0, 0.10))[None])[0]))
    np.testing.assert_allclose(angles_from_matrix(level), 0.0, atol=1e-12)


def test_k13_the_force_points_to_the_centre():
    # K13, w × (w × r): an axis that points outwards reads -2.220661, and r = -f / w² = 0.1000 m
    arm = position({"forward": 0.10})
    rate = np.array([0.0, 0.0, 45.0 * RPM])
    force = lever_arm_acceleration(rate, np.zeros(3), arm)
    np.testing.assert_allclose(force, [-2.220661, 0.0, 0.0], atol=5e-7)
    assert -force[0] / rate[2] ** 2 == pytest.approx(0.1000, abs=1e-12)


def test_k14_general_vector_example():
    # K14, f_P = f_O + alpha × r + w × (w × r) (Titterton & Weston, from memory); checked by hand with w (w·r) - r w²
    w, alpha, r = np.array([1.0, 2.0, 3.0]), np.array([0.5, -0.5, 1.0]), np.array([0.10, -0.05, 0.02])
    np.testing.assert_allclose(lever_arm_acceleration(np.zeros(3), alpha, r), [0.040, 0.090, 0.025], atol=1e-15)
    np.testing.assert_allclose(lever_arm_acceleration(w, np.zeros(3), r), [-1.340, 0.820, -0.100], atol=1e-15)
    np.testing.assert_allclose(lever_arm_acceleration(w, alpha, r), [-1.300, 0.910, -0.075], atol=1e-15)
    many = lever_arm_acceleration(np.tile(w, (4, 1)), np.tile(alpha, (4, 1)), r)
    np.testing.assert_allclose(many, np.tile([-1.300, 0.910, -0.075], (4, 1)), atol=1e-15)


def test_k15_in_a_hand_tilt_the_change_of_rate_outweighs_the_rate():
    # K15, arithmetic: 180 deg/s at 0.05 m gives 0.493 m/s², 2000 deg/s² gives 1.745 m/s²
    arm = position({"forward": 0.05})
    pitch = body_rates(np.zeros(3), np.array([0.0, 1.0, 0.0]))
    turning = lever_arm_acceleration(np.radians(180.0) * pitch, np.zeros(3), arm)
    starting = lever_arm_acceleration(np.zeros(3), np.radians(2000.0) * pitch, arm)
    np.testing.assert_allclose(turning, [-0.493, 0.0, 0.0], atol=5e-4)
    np.testing.assert_allclose(starting, [0.0, 0.0, -1.745], atol=5e-4)  # the nose starts upwards: up is minus z
