"""What is told of the place, what is not, and why."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from turning_bodies import CONSUMER, measured, prompt, rig, spun, swung, table

from benchrig.measure.lever.arm import EXPECTED_WITHIN, estimate

ARM = np.array([0.062, -0.034, 0.021])
SWING = (prompt("swing", 3.0, 14.8),)


def codes(place):
    return [remark.code for remark in place.remarks]


def joined(airframe, *places):
    stands = [s for p in places for s in (*p.stands, *(s for s, _ in p.about_pivot))]
    return estimate(airframe, stands, [r for p in places for r in p.remarks])


@pytest.mark.parametrize(
    ("pose", "untold", "other"), [("level", 2, "on its tail"), ("on tail", 0, "level"), ("on right side", 1, "level")]
)
def test_a_spin_shows_nothing_along_its_axis(pose, untold, other):
    place = measured(spun(ARM, pose=pose, errors=CONSUMER), rig(ARM), turntable=table())
    told = [axis for axis in range(3) if axis != untold]
    assert np.isnan(place.value[untold])
    assert np.isnan(place.uncertainty[untold])
    assert place.reason[untold] == f"a spin shows nothing along its axis; one with the airframe {other} would show it"
    np.testing.assert_allclose(place.value[told], ARM[told], atol=2e-3)
    assert [place.reason[axis] for axis in told] == ["", ""]


def test_two_poses_show_all_three_axes():
    airframe = rig(ARM)
    parts = [measured(spun(ARM, pose=p, errors=CONSUMER), airframe, turntable=table()) for p in ("level", "on tail")]
    place = joined(airframe, *parts)
    np.testing.assert_allclose(place.value, ARM, atol=1e-3)
    assert place.reason == ("", "", "")


def test_the_order_of_the_recordings_does_not_matter():
    airframe = rig(ARM)
    parts = [measured(spun(ARM, pose=p, errors=CONSUMER), airframe, turntable=table()) for p in ("level", "on tail")]
    there, back = joined(airframe, *parts), joined(airframe, *reversed(parts))
    np.testing.assert_allclose(there.value, back.value, atol=1e-8)


@pytest.mark.parametrize("lean_deg", [3.0, 6.0])
def test_a_lean_on_the_table_is_uncertain_by_what_lies_along_the_axis(lean_deg):
    """On its tail the airframe leans: a declared place that is wrong along the axis must not make a wrong number."""
    arm = np.array([-0.18, 0.03, -0.025])
    leaning = Rotation.from_rotvec([0.0, np.pi / 2 + np.radians(lean_deg), 0.0])
    even = spun(arm, pose=leaning, errors=CONSUMER)
    place = measured(even, rig(arm + np.array([0.1, 0.0, 0.0])), turntable=table())
    for axis in (1, 2):
        if np.isfinite(place.value[axis]):
            assert abs(place.value[axis] - arm[axis]) < 3 * place.uncertainty[axis]
    if not np.isfinite(place.value[2]):
        assert "leaned on the table" in place.reason[2]


def test_a_place_from_a_point_that_is_not_known_is_told_from_that_point():
    place = measured(spun(ARM, errors=CONSUMER), rig(ARM), turntable=table(pivot=None))
    assert np.isnan(place.value).all()
    assert "does not say where the point that it turned about lies from the CG" in place.reason[0]
    ((stand, about),) = place.about_pivot
    assert stand.pivot is None
    np.testing.assert_allclose(about.value[:2], ARM[:2], atol=1e-3)


def test_the_pivot_is_added():
    pivot = np.array([-0.12, 0.03, 0.0])
    place = measured(spun(ARM, errors=CONSUMER), rig(ARM + pivot), turntable=table(pivot))
    np.testing.assert_allclose(place.value[:2], (ARM + pivot)[:2], atol=1e-3)


def test_a_spin_and_a_swing_are_joined():
    airframe, pivot = rig(ARM), np.array([0.0, 0.0, -0.1])
    spin = measured(spun(ARM, errors=CONSUMER), airframe, turntable=table())
    swing = measured(swung(ARM - pivot, errors=CONSUMER), airframe, pivot=pivot, prompts=SWING)
    both = joined(airframe, spin, swing)
    np.testing.assert_allclose(both.value, ARM, atol=2e-3)
    assert (both.uncertainty <= swing.uncertainty * 1.01).all()


def test_nothing_to_measure_by_is_said():
    place = measured(swung(ARM), rig(ARM))
    assert np.isnan(place.value).all()
    assert place.stands == place.remarks == ()
    assert "hand motions do not show the sensor's place" in place.reason[0]


def test_a_recording_that_is_never_still_is_refused():
    even = spun(ARM)
    shaking = np.random.default_rng(0).normal(size=even.acceleration.shape)
    place = measured(replace(even, acceleration=even.acceleration + shaking), rig(ARM), turntable=table())
    assert codes(place) == ["lever-never-still"]


def test_a_stated_speed_that_is_wrong_is_doubted_and_not_used():
    place = measured(spun(ARM, errors=CONSUMER), rig(ARM), turntable=table(rpm=45.0))
    (remark,) = place.remarks
    assert remark.code == "turntable-speed-differs"
    assert not remark.refused
    assert "stated to turn at 45.00 rpm, and turned at 33." in remark.reason
    np.testing.assert_allclose(place.value[:2], ARM[:2], atol=1e-3)


def test_a_right_speed_on_a_nearly_level_table_is_not_doubted():
    for seed in range(12):
        even = spun(ARM, tilt_deg=0.03, errors=replace(CONSUMER, seed=seed))
        assert measured(even, rig(ARM), turntable=table(rpm=100 / 3)).remarks == ()


@pytest.mark.parametrize("gain", [0.5, 1.3, 2.0, -1.0])
def test_a_gyro_whose_turns_are_not_gravitys_is_refused(gain):
    even = spun(ARM, errors=replace(CONSUMER, gyro_gain=gain * np.eye(3)))
    place = measured(even, rig(ARM), turntable=table())
    assert codes(place) == ["spin-miscounted"]
    assert np.isnan(place.value).all()


def test_an_airframe_that_slips_on_the_table_is_refused():
    even = spun(ARM, errors=CONSUMER)
    slipped = even.acceleration.copy()
    slipped[even.time > 8] += [0.15, -0.1, 0.0]
    place = measured(replace(even, acceleration=slipped), rig(ARM), turntable=table())
    assert codes(place) == ["spin-unsteady"]
    assert np.isnan(place.value).all()


def test_a_swing_by_a_hand_that_moves_gives_no_number():
    place = measured(swung(ARM, hand=0.02, errors=CONSUMER), rig(ARM), pivot=(0, 0, 0), prompts=SWING)
    assert codes(place) == ["swing-pivot-moved"]
    assert np.isnan(place.value).all()


def test_a_swing_about_one_axis_tells_what_it_shows_and_no_more():
    even = swung(ARM, size_deg=(0.0, 25.0, 0.0), errors=CONSUMER)
    place = measured(even, rig(ARM), pivot=(0, 0, 0), prompts=SWING)
    assert np.isnan(place.value[1])
    assert "turned too little" in place.reason[1]
    np.testing.assert_allclose(place.value[[0, 2]], ARM[[0, 2]], atol=4e-3)


def test_two_spins_about_points_that_do_not_agree_give_no_number():
    airframe = rig(ARM)
    level = measured(spun(ARM, errors=CONSUMER), airframe, turntable=table())
    tail = measured(spun(ARM, pose="on tail", errors=CONSUMER), airframe, turntable=table((0.0, 0.03, 0.0)))
    place = joined(airframe, level, tail)
    assert codes(place) == ["lever-stands-disagree"]
    assert "29 mm apart, right to left" in place.reason[0]
    assert np.isnan(place.value).all()


@pytest.mark.parametrize("height", [0.0, 0.2])
def test_what_a_spin_does_not_show_is_held_more_loosely_the_farther_the_unit_lies_from_the_point(height):
    found = measured(spun(ARM, errors=CONSUMER), rig(ARM), turntable=table((0.0, 0.0, -height)))
    loose = EXPECTED_WITHIN + abs(ARM[2] + height)
    assert np.sqrt(found.fit.covariance[2, 2]) == pytest.approx(loose, rel=0.01)


@pytest.mark.parametrize("gain", [0.92, 0.97, 1.03, 1.08])
def test_on_a_level_table_of_unknown_speed_a_wrong_gyro_lies_within_what_is_left_open(gain):
    even = spun(ARM, tilt_deg=0.0, errors=replace(CONSUMER, gyro_gain=gain * np.eye(3)))
    place = measured(even, rig(ARM), turntable=table())
    assert codes(place) == ["spin-rests-on-gyro"]
    assert "rests on the gyro's scale" in place.remarks[0].reason
    assert "shim" in place.remarks[0].fix
    off = np.abs(place.value - ARM)[:2]
    assert (off < 3 * place.uncertainty[:2]).all()


def test_a_stated_speed_or_a_leaning_table_bears_the_gyro_out():
    level, leaning = spun(ARM, tilt_deg=0.0, errors=CONSUMER), spun(ARM, tilt_deg=1.0, errors=CONSUMER)
    alone = measured(level, rig(ARM), turntable=table())
    for place in (
        measured(level, rig(ARM), turntable=table(rpm=100 / 3)),
        measured(leaning, rig(ARM), turntable=table()),
    ):
        assert codes(place) == []
        assert place.uncertainty[0] < 0.5 * alone.uncertainty[0]


def test_a_stated_speed_that_the_gyro_alone_contradicts_widens_the_place():
    even = spun(ARM, tilt_deg=0.0, errors=replace(CONSUMER, gyro_gain=1.08 * np.eye(3)))
    place = measured(even, rig(ARM), turntable=table(rpm=100 / 3))
    assert codes(place) == ["turntable-speed-differs", "spin-rests-on-gyro"]
    assert place.stands[0].gyro_doubt == pytest.approx(0.08, abs=0.005)
    alone = measured(even, rig(ARM), turntable=table())
    assert (place.uncertainty[:2] > 1.5 * alone.uncertainty[:2]).all()
    assert (np.abs(place.value - ARM)[:2] < 2 * place.uncertainty[:2]).all()


@pytest.mark.parametrize(
    ("gain", "unit"), [(180 / np.pi, "its numbers are deg/s, taken for rad/s"), (1.2, "1.2 times")]
)
@pytest.mark.parametrize("tilt_deg", [0.0, 0.1])
def test_a_gyro_far_off_the_stated_speed_is_refused_with_its_unit(gain, unit, tilt_deg):
    even = spun(ARM, tilt_deg=tilt_deg, errors=replace(CONSUMER, gyro_gain=gain * np.eye(3)))
    place = measured(even, rig(ARM), turntable=table(rpm=100 / 3))
    assert "spin-speed" in codes(place)
    assert unit in place.remarks[0].reason
    assert np.isnan(place.value).all()


def test_a_table_faster_than_any_is_refused_without_a_stated_speed():
    even = spun(ARM, tilt_deg=0.1, errors=replace(CONSUMER, gyro_gain=180 / np.pi * np.eye(3)))
    airframe = rig(ARM)
    loose = replace(airframe, sensor=replace(airframe.sensor, gyro_range=None))
    place = measured(even, loose, turntable=table())
    assert codes(place) == ["spin-too-fast"]
    assert "100 rpm at most" in place.remarks[0].reason
    assert np.isnan(place.value).all()


def test_a_wrong_stated_speed_does_no_harm_where_gravity_counts_the_turns():
    place = measured(spun(ARM, tilt_deg=1.0, errors=CONSUMER), rig(ARM), turntable=table(rpm=45))
    assert codes(place) == ["turntable-speed-differs"]
    np.testing.assert_allclose(place.value[:2], ARM[:2], atol=2e-3)


def test_one_row_beyond_the_declared_range_is_named():
    even = spun(ARM, errors=CONSUMER)
    rate = even.angular_rate.copy()
    rate[800, 2] = np.radians(5000)
    place = measured(replace(even, angular_rate=rate), rig(ARM), turntable=table(rpm=100 / 3))
    remark = place.remarks[-1]
    assert remark.code == "gyro-beyond-range"
    assert remark.reason.startswith("one row of the gyro, at 8.00 s, reads up to 5000 °/s")
    assert np.isnan(place.value).all()
