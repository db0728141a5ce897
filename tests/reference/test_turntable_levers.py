"""The place that is measured where readings follow from published speeds and textbook kinematics (rows K7 to K15).

Sources, with what is known of each:

- IEC 60098:2020, Table 1 (speeds 16⅔, 33⅓, 45, 78 rpm), 5.4 (the disk turns clockwise seen from its side), 5.6 (speed
  within ±0.5 %): confirmed from an extract.
- Centripetal acceleration ω² r and its tilt atan(ω² r / g): textbook, arithmetic.
- f_P = f_O + α × r + ω × (ω × r): Titterton & Weston, Strapdown Inertial Navigation Technology, ch. 3 (from memory);
  the vector example was checked by hand with ω (ω·r) − r ω².

The readings here are written down from those numbers, sample by sample; nothing of the estimator makes them.
"""

from __future__ import annotations

import numpy as np
import pytest
from turning_bodies import measured, prompt, rig, table

from benchrig.measure.lever.fit import table_speed
from benchrig.measure.lever.prior import SPEED
from benchrig.measure.lever.window import lever_matrix, windows
from benchrig.signals.body import EvenRecording

GRAVITY = 9.80665
STEP = 0.01
READINGS = [(100 / 3, 3.490659, 1.218470), (45.0, 4.712389, 2.220661), (78.0, 8.168141, 6.671853)]
"""rpm, rad/s, and m/s² at 0.10 m (K7, K10)."""


def on_a_table(speed, outward, *, axis=0):
    """Write down 3 s of rest, 10 s of spin (rad/s, clockwise from above) and 3 s of rest: level, without noise.

    `outward` is what an axis that points away from the table's axis reads, m/s²: negative, for force points inwards.
    """
    count = {"rest": 300, "ramp": 50, "spin": 1000}
    up = np.linspace(0, 1, count["ramp"])
    share = np.concatenate([np.zeros(300), up, np.ones(1000), up[::-1], np.zeros(300)])
    rate, force = np.zeros((len(share), 3)), np.zeros((len(share), 3))
    rate[:, 2] = speed * share
    force[:, 2] = -GRAVITY
    force[:, axis] = outward * share**2
    whole, none = np.zeros(len(share), dtype=np.int64), np.zeros(len(share), dtype=np.bool_)
    return EvenRecording(np.arange(len(share)) * STEP, STEP, whole, rate, force, None, None, none, none)


@pytest.mark.parametrize(("rpm", "speed", "pull"), READINGS)
def test_k10_and_k13_a_tenth_of_a_metre_is_read_back_from_the_pull(rpm, speed, pull):
    # K13: the axis that points outwards reads −2.220661 at 45 rpm; r = −f / ω² = 0.1000 m
    place = measured(on_a_table(speed, -pull), rig(), turntable=table(rpm=rpm))
    assert place.value[0] == pytest.approx(0.1000, abs=2e-6)
    assert place.value[1] == pytest.approx(0.0, abs=2e-6)
    assert place.remarks == ()


@pytest.mark.parametrize(("rpm", "speed", "pull"), READINGS)
def test_k13_the_side_follows_from_the_sign_of_the_pull(rpm, speed, pull):
    left = measured(on_a_table(speed, +pull, axis=1), rig(), turntable=table(rpm=rpm))
    assert left.value[1] == pytest.approx(-0.1000, abs=2e-6)


@pytest.mark.parametrize(("rpm", "milli_g"), [(100 / 3, 124.249), (45.0, 226.444), (78.0, 680.34)])
def test_k11_the_pull_in_thousandths_of_g(rpm, milli_g):
    even = on_a_table(rpm * np.pi / 30, -milli_g * 1e-3 * GRAVITY)
    assert measured(even, rig(), turntable=table()).value[0] == pytest.approx(0.1000, abs=4e-6)


def test_k12_a_feigned_tilt_is_explained_by_the_place():
    # K12: at 45 rpm and 0.10 m the accelerometer alone would show a lean of 12.7591°
    speed = 4.712389
    even = on_a_table(speed, -GRAVITY * np.tan(np.radians(12.7591)))
    place = measured(even, rig(), turntable=table())
    assert place.value[0] == pytest.approx(0.1000, abs=3e-6)
    assert place.fit.noise[0] < 1e-4  # m/s²: nothing is left that would have to be a lean


@pytest.mark.parametrize(
    ("rpm", "speed"), [(50 / 3, 1.745329), (100 / 3, 3.490659), (45.0, 4.712389), (78.0, 8.168141), (78.26, 8.195368)]
)
def test_k7_every_speed_of_a_record_turntable_serves(rpm, speed):
    place = measured(on_a_table(speed, -(speed**2) * 0.1), rig(), turntable=table(rpm=rpm))
    assert place.value[0] == pytest.approx(0.1, abs=1e-5)
    found, spread = table_speed(place.fit, place.stands[0])
    assert found == pytest.approx(speed, abs=2 * spread)


def test_k8_a_record_turntable_is_clockwise():
    # K8: z reads + with z down
    even = on_a_table(3.490659, -1.218470)
    right = measured(even, rig(), turntable=table(), prompts=(prompt("turntable clockwise"),))
    assert {remark.code for remark in right.remarks} == {"spin-rests-on-gyro"}  # a level table of no stated speed
    other = measured(even, rig(), turntable=table(), prompts=(prompt("turntable counter-clockwise"),))
    assert [remark.code for remark in other.remarks] == ["spin-sense"]


def test_k9_a_speed_within_the_standards_half_percent_is_not_doubted():
    # K9: ±0.5 %, a rectangle, is 0.289 % as a standard deviation; the estimator allows more
    assert SPEED > 0.00289
    for off in (-0.005, 0.005):
        even = on_a_table(3.490659 * (1 + off), -1.218470 * (1 + off) ** 2)
        assert measured(even, rig(), turntable=table(rpm=100 / 3)).remarks == ()


def test_k14_the_vector_example():
    # ω = (1, 2, 3) rad/s, α = (0.5, −0.5, 1) rad/s², r = (0.10, −0.05, 0.02) m
    step = 1e-5
    time = (np.arange(7) - 3) * step
    rate = np.array([1.0, 2.0, 3.0]) + time[:, None] * np.array([0.5, -0.5, 1.0])
    where = windows(np.ones(7, dtype=np.bool_), step, 2 * step)
    centre = np.abs(where.start + 1 - 3).argmin()
    felt = lever_matrix(rate, where)[centre] @ np.array([0.10, -0.05, 0.02])
    np.testing.assert_allclose(felt, [-1.300, 0.910, -0.075], atol=2e-4)


@pytest.mark.parametrize(("turning", "rising", "size"), [(180.0, 0.0, 0.493), (0.0, 2000.0, 1.745)])
def test_k15_what_a_hand_move_adds_at_fifty_millimetres(turning, rising, size):
    step = 1e-5
    time = (np.arange(7) - 3) * step
    rate = np.zeros((7, 3))
    rate[:, 2] = np.radians(turning + rising * time)
    where = windows(np.ones(7, dtype=np.bool_), step, 2 * step)
    felt = lever_matrix(rate, where)[0] @ np.array([0.05, 0.0, 0.0])
    assert np.linalg.norm(felt) == pytest.approx(size, abs=6e-4)
