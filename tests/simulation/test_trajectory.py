"""The simulation's physics against values from outside; the judge's own formulas are not used here."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from benchrig.geometry.rigid_body import lever_arm_acceleration
from benchrig.simulation.trajectory import (
    STANDARD_GRAVITY,
    Leg,
    Path,
    Wobble,
    angular_rate,
    minimum_jerk,
    specific_force,
    steady_spin,
)

G = STANDARD_GRAVITY
STILL = np.zeros(3)


def standing(roll=0.0, pitch=0.0, yaw=0.0):
    pose = Rotation.from_euler("ZYX", [yaw, pitch, roll], degrees=True)
    return Path((Leg(0.0, 1.0, pose, STILL, STILL, STILL),))


def spinning(rpm, turns=10.0, pose=None):
    """Spin at a constant rate between ramps of 8 % of the time; `turns` at full rate would take as long."""
    rate = rpm * 2 * np.pi / 60
    seconds = turns * 60 / rpm
    angle = np.array([0.0, 0.0, rate * seconds * 0.92])
    return Path((Leg(0.0, seconds, pose or Rotation.identity(), angle, STILL, STILL, spins=True),)), seconds / 2


# A8 to A11: REP 145 "Accelerometers"; MathWorks `linaccel`; Stevens & Lewis for the formula (from memory)
@pytest.mark.parametrize(
    ("roll", "pitch", "expected"),
    [
        (0, 0, (0.0, 0.0, -1.0)),
        (30, 0, (0.0, -0.5, -0.866025)),
        (0, 30, (0.5, 0.0, -0.866025)),
        (30, 20, (0.342020, -0.469846, -0.813798)),
    ],
)
def test_a_still_airframe_reads_minus_gravity_in_its_own_axes(roll, pitch, expected):
    reading = specific_force(standing(roll, pitch, yaw=70), np.array([0.5]), np.array([0.3, -0.2, 0.1]))
    np.testing.assert_allclose(reading[0] / G, expected, atol=1e-6)


# A12: MathWorks `accelcal`, six poses; an axis that points up reads +g
@pytest.mark.parametrize(
    ("pose", "axis", "sign"),
    [((0, 90, 0), 0, 1), ((0, -90, 0), 0, -1), ((0, 0, -90), 1, 1), ((0, 0, 90), 1, -1), ((0, 180, 0), 2, 1)],
)
def test_an_axis_that_points_up_reads_plus_g(pose, axis, sign):
    yaw, pitch, roll = pose
    reading = specific_force(standing(roll, pitch, yaw), np.array([0.5]), STILL)[0]
    np.testing.assert_allclose(reading, sign * G * np.eye(3)[axis], atol=1e-8)


# K7: IEC 60098:2020 table 1 (speeds); K8: clause 5.4, clockwise seen from above
@pytest.mark.parametrize(("rpm", "rate"), [(100 / 3, 3.490659), (45, 4.712389), (78, 8.168141)])
def test_a_clockwise_turntable_gives_a_positive_rate_about_down(rpm, rate):
    path, middle = spinning(rpm)
    np.testing.assert_allclose(angular_rate(path, np.array([middle]))[0], [0, 0, rate], atol=2e-6)


# K10 and K13: ω²r, and specific force points to the centre
@pytest.mark.parametrize(("rpm", "size"), [(100 / 3, 1.218470), (45, 2.220661), (78, 6.671853)])
def test_a_sensor_ahead_of_the_axis_of_a_turntable_is_pulled_aft(rpm, size):
    path, middle = spinning(rpm)
    reading = specific_force(path, np.array([middle]), np.array([0.10, 0.0, 0.0]))[0]
    np.testing.assert_allclose(reading, [-size, 0.0, -G], atol=2e-6)


# K12: the same pull at 45 rpm looks like a tilt of 12.7591°
def test_the_pull_at_45_rpm_looks_like_a_tilt():
    path, middle = spinning(45)
    reading = specific_force(path, np.array([middle]), np.array([0.10, 0.0, 0.0]))[0]
    assert np.degrees(np.arctan2(-reading[0], -reading[2])) == pytest.approx(12.7591, abs=1e-3)


class Accelerating:
    """Turns as ``exp(ω t + α t² / 2)``: at time zero its rate is ω and its angular acceleration α, by Taylor."""

    def attitude(self, time):
        """Give the rotation from body to world."""
        rate, change = np.array([1.0, 2.0, 3.0]), np.array([0.5, -0.5, 1.0])
        return Rotation.from_rotvec(rate * time[:, None] + 0.5 * change * time[:, None] ** 2)

    def pivot(self, time):
        """Stay in place."""
        return np.zeros((len(time), 3))


# K14: f_P = f_O + α × r + ω × (ω × r), Titterton & Weston (from memory); the sum was checked by hand
def test_the_general_lever_arm_example_comes_out_of_differencing():
    felt = specific_force(Accelerating(), np.zeros(1), np.array([0.10, -0.05, 0.02]))[0]
    np.testing.assert_allclose(felt + np.array([0, 0, G]), [-1.300, 0.910, -0.075], atol=1e-5)
    np.testing.assert_allclose(angular_rate(Accelerating(), np.zeros(1))[0], [1, 2, 3], atol=1e-8)


# K15: 180 deg/s at 0.05 m gives 0.493 m/s²
def test_a_spin_of_180_deg_s_is_felt_at_5_cm():
    path, middle = spinning(30)
    reading = specific_force(path, np.array([middle]), np.array([0.0, 0.05, 0.0]))[0]
    assert reading[1] == pytest.approx(-0.493, abs=5e-4)


# A15: d f/dt = -ω × f while only turning (Titterton & Weston ch. 3, from memory; it was confirmed by arithmetic)
@pytest.mark.parametrize("flipped", [None, 0, 1, 2])
def test_a_pure_turn_keeps_gravity_and_gyro_consistent_and_a_flipped_gyro_axis_does_not(flipped):
    wobble = Wobble(
        np.radians([[20.0, 15.0, 25.0]]), np.array([[0.4, 0.55, 0.7]]), np.array([[0.1, 1.2, 2.0]]), -9, 9, 0.5
    )
    path = Path((Leg(0.0, 4.0, Rotation.identity(), STILL, STILL, STILL),), (wobble,))
    time = np.linspace(0.5, 3.5, 3001)
    force, rate = specific_force(path, time, STILL), angular_rate(path, time)
    if flipped is not None:
        rate[:, flipped] *= -1
    residual = np.gradient(force, time, axis=0) + np.cross(rate, force)
    size = np.sqrt((residual[5:-5] ** 2).sum(axis=1).mean())
    assert size < 1e-3 if flipped is None else size > 1.0


def test_differencing_agrees_with_the_formula_that_the_judge_takes_off():
    turn = Wobble(
        np.radians([[20.0, 15.0, 25.0]]), np.array([[0.4, 0.9, 0.7]]), np.array([[0.1, 1.2, 2.0]]), -9, 9, 0.5
    )
    path = Path((Leg(0.0, 4.0, Rotation.from_euler("x", 0.3), STILL, STILL, STILL),), (turn,))
    time, arm = np.linspace(0.5, 3.5, 301), np.array([-0.18, 0.02, -0.025])
    change = (angular_rate(path, time + 1e-4) - angular_rate(path, time - 1e-4)) / 2e-4
    felt = specific_force(path, time, arm) - specific_force(path, time, STILL)
    np.testing.assert_allclose(felt, lever_arm_acceleration(angular_rate(path, time), change, arm), atol=1e-6)


def test_the_sensor_feels_a_hand_that_lifts_by_the_second_derivative_of_minimum_jerk():
    # 10 x³ - 15 x⁴ + 6 x⁵ has its largest second derivative 10/√3 at x = 1/2 - √3/6
    path = Path((Leg(0.0, 1.0, Rotation.identity(), STILL, STILL, np.array([0.0, 0.0, -0.1])),))
    early = np.array([0.5 - np.sqrt(3) / 6])
    assert specific_force(path, early, STILL)[0, 2] + G == pytest.approx(-0.1 * 10 / np.sqrt(3), rel=1e-6)


def test_hand_and_turntable_profiles_start_and_end_at_rest_on_their_marks():
    ends = np.array([-1.0, 0.0, 1.0, 2.0])
    for profile in (minimum_jerk, steady_spin):
        np.testing.assert_allclose(profile(ends), [0, 0, 1, 1], atol=1e-15)
        assert np.all(np.diff(profile(np.linspace(0, 1, 1001))) >= 0)
        assert profile(np.array([1e-4]))[0] < 1e-6


def test_the_net_turn_of_a_leg_is_what_it_says_whatever_the_wobble_on_top():
    turn = np.radians([3.0, 35.0, -8.0])
    tremor = Wobble(np.full((1, 3), 0.01), np.full((1, 3), 7.0), np.zeros((1, 3)), 0.0, 1.0, 0.1)
    path = Path((Leg(0.0, 1.0, Rotation.from_euler("z", 1.0), turn, STILL, STILL),), (tremor,))
    start, end = path.attitude(np.array([-0.5])), path.attitude(np.array([1.5]))
    np.testing.assert_allclose((start.inv() * end).as_rotvec()[0], turn, atol=1e-12)
