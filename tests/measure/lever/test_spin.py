"""Which turning counts as a spin, and why the rest does not."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from turning_bodies import CONSUMER, prompt, spun, table

from benchrig.measure.lever.spin import find_spins, pose_of
from benchrig.measure.lever.stand import Readings
from benchrig.signals.rests import find_rests

ARM = (0.06, -0.03, 0.02)
CLOCKWISE = prompt("turntable clockwise")


def found(even, *, prompts=(CLOCKWISE,), turntable=None):
    stillness = find_rests(even)
    rate = even.angular_rate - stillness.bias.value
    return find_spins(Readings(even, rate, even.acceleration, stillness, "bench.toml"), turntable, prompts)


def only_remark(even, **more):
    stands, remarks = found(even, **more)
    assert stands == ()
    (remark,) = remarks
    return remark


def test_a_spin_is_found_with_the_rests_beside_it():
    (stand,), remarks = found(spun(ARM, errors=CONSUMER), turntable=table((0.0, 0.01, 0.0), 33.0))
    assert remarks == ()
    assert stand.pose == "level"
    assert stand.turns == pytest.approx(10 * 200 / 360, abs=0.4)
    assert stand.still.sum() * stand.where.length > 4
    assert (~stand.still).sum() * stand.where.length > 8
    np.testing.assert_array_equal(stand.pivot, [0.0, 0.01, 0.0])
    assert stand.table_rate == pytest.approx(33 * np.pi / 30)
    # every moving window turns at full speed: the ramps are left out
    speed = np.linalg.norm(stand.where.means(stand.rate)[~stand.still], axis=1)
    np.testing.assert_allclose(speed, np.radians(200), rtol=0.02)


@pytest.mark.parametrize("pose", ["level", "on tail", "on right side"])
def test_the_pose_is_told_from_gravity(pose):
    (stand,), _ = found(spun(ARM, pose=pose, errors=CONSUMER))
    assert stand.pose == pose


def test_an_airframe_that_stands_in_no_named_way_is_leaning():
    (stand,), _ = found(spun(ARM, pose=Rotation.from_euler("y", 40, degrees=True), errors=CONSUMER))
    assert stand.pose == "leaning"
    assert pose_of(np.array([0.0, -1.0, 0.0])) == "on left side"


def test_a_spin_on_a_table_needs_no_prompt():
    (stand,), remarks = found(spun(ARM, errors=CONSUMER), prompts=(), turntable=table(pivot=None))
    assert stand.place == "bench.toml"
    assert remarks == ()


def test_a_steady_turn_without_table_or_prompt_is_no_spin():
    assert found(spun(ARM, errors=CONSUMER), prompts=()) == ((), ())


def test_a_table_too_slow_is_named_with_its_speed():
    remark = only_remark(spun(ARM, rpm=10.0, seconds=15, errors=CONSUMER))
    assert remark.code == "spin-too-slow"
    assert "10.0 rpm, and 13.3 rpm or more are needed" in remark.reason


def test_a_spin_of_too_few_turns_is_named_with_their_number():
    remark = only_remark(spun(ARM, seconds=3.0, errors=CONSUMER))
    assert remark.code == "spin-too-short"
    assert "1.5 turns long" in remark.reason or "1.4 turns long" in remark.reason


def test_a_spin_without_a_rest_beside_it_is_refused():
    even = spun(ARM, rest=12.0, errors=CONSUMER)
    late = even.time > 11.5
    cut = replace(even, segment=late.astype(np.int64) + (even.time > 23.8))
    remark = only_remark(cut, prompts=(prompt("turntable clockwise", 12.0, 23.0),))
    assert remark.code == "spin-without-rest"


def test_a_prompt_with_nothing_turning_is_named():
    remark = only_remark(spun(ARM, rpm=0.5, errors=CONSUMER))
    assert remark.code == "spin-not-found"
    assert "no steady turning at the time of turntable clockwise" in remark.reason


def test_the_other_sense_than_written_is_refused():
    remark = only_remark(spun(ARM, rpm=-100 / 3, errors=CONSUMER))
    assert remark.code == "spin-sense"
    assert "counter-clockwise seen from above, where turntable clockwise is written" in remark.reason
    (stand,), _ = found(spun(ARM, rpm=-100 / 3, errors=CONSUMER), prompts=(prompt("turntable counter-clockwise"),))
    assert stand.turning[2] < 0


def test_clockwise_upside_down_is_still_clockwise_seen_from_above():
    (stand,), _ = found(spun(ARM, pose=Rotation.from_rotvec([np.pi, 0, 0]), errors=CONSUMER))
    assert stand.pose == "inverted"
    assert stand.turning[2] < 0


def test_an_axis_off_the_plumb_line_is_refused():
    remark = only_remark(spun(ARM, tilt_deg=14.0, errors=CONSUMER))
    assert remark.code == "spin-askew"
    assert "off the plumb line" in remark.reason


def test_an_accelerometer_that_reads_no_g_at_rest_is_refused():
    remark = only_remark(spun(ARM, errors=replace(CONSUMER, accelerometer_gain=1.1 * np.eye(3))))
    assert remark.code == "spin-size"
    assert "reads 1.10 g at rest" in remark.reason


def test_clipped_samples_are_left_out_and_too_many_refuse_the_spin():
    even = spun(ARM, errors=CONSUMER)
    (whole,), _ = found(even)
    some = (even.time > 6) & (even.time < 8)
    (stand,), _ = found(replace(even, accelerometer_clipped=some))
    lost = len(whole.where.start) - len(stand.where.start)
    assert lost * stand.where.length == pytest.approx(2, abs=0.6)
    remark = only_remark(replace(even, gyro_clipped=(even.time > 4) & (even.time < 12)))
    assert remark.code == "spin-clipped"


def test_two_spins_share_the_rest_between_them_without_counting_it_twice():
    first, second = spun(ARM, errors=CONSUMER), spun(ARM, rpm=45.0, errors=replace(CONSUMER, seed=1))
    count = len(first.time)
    both = replace(
        first,
        time=np.arange(count + len(second.time)) * first.step,
        segment=np.zeros(count + len(second.time), dtype=np.int64),
        angular_rate=np.vstack([first.angular_rate, second.angular_rate]),
        acceleration=np.vstack([first.acceleration, second.acceleration]),
        gyro_clipped=np.zeros(count + len(second.time), dtype=np.bool_),
        accelerometer_clipped=np.zeros(count + len(second.time), dtype=np.bool_),
    )
    (slow, fast), _ = found(both, prompts=(), turntable=table())
    ends = slow.start + len(slow.rate) * slow.step
    assert ends <= fast.start
    assert np.linalg.norm(fast.turning) == pytest.approx(45 * np.pi / 30, rel=0.01)


@pytest.mark.parametrize("rpm", [33.0, 33.5, 34.0, 34.5, 35.0])
def test_a_table_that_leans_too_much_is_refused_wherever_it_stops(rpm):
    """Of two rests that face opposite ways the mean stands upright."""
    assert only_remark(spun(ARM, tilt_deg=12.0, rpm=rpm, errors=CONSUMER)).code == "spin-askew"


def test_a_gyro_in_radians_taken_for_degrees_is_named():
    slow = replace(CONSUMER, gyro_gain=np.pi / 180 * np.eye(3), gyro_noise=1e-4, gyro_bias=(0.0, 0.0, 0.0))
    remark = only_remark(spun(ARM, errors=slow), turntable=table(rpm=100 / 3))
    assert remark.code == "spin-not-found"
    assert remark.reason.endswith("its numbers are rad/s, taken for deg/s")
