"""From sensor axes to body axes: mounting, bias, what the unit reads, and what the lever arm adds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.declaration.airframe import Sensor
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.signals.rests import Bias
from benchrig.signals.to_body import specific_force, to_body

LEGS = [((0, 0, 0), 1.0), ((20, 40, -30), 1.5), ((0, 0, 0), 1.0)]
NOWHERE = np.zeros(3)
NO_BIAS = Bias(np.zeros(3), np.zeros(3))


def sensor(mounting=None, lever=NOWHERE, reads="specific force"):
    return Sensor(np.eye(3) if mounting is None else mounting, np.asarray(lever), None, reads, None, None)


@given(st.integers(0, 23))
def test_the_mounting_is_undone_whichever_it_is(exact_stream, index):
    mounting = SIGNED_PERMUTATIONS[index]
    plain = to_body(exact_stream(LEGS), NO_BIAS, sensor())
    mounted = to_body(exact_stream(LEGS, gyro=mounting, accelerometer=mounting), NO_BIAS, sensor(mounting))
    assert mounted.angular_rate == pytest.approx(plain.angular_rate, abs=1e-12)
    assert mounted.specific_force == pytest.approx(plain.specific_force, abs=1e-12)


def test_level_at_rest_reads_minus_g_down(exact_stream):
    body = to_body(exact_stream([((0, 0, 0), 1.0)]), NO_BIAS, sensor())
    assert body.specific_force[0] == pytest.approx([0, 0, -9.80665])


def test_the_bias_is_taken_off_in_sensor_axes_before_the_mounting(exact_stream):
    mounting, bias = SIGNED_PERMUTATIONS[5], np.array([0.01, -0.02, 0.03])
    even = exact_stream(LEGS, gyro=mounting, accelerometer=mounting, bias=bias)
    found = to_body(even, Bias(bias, np.zeros(3)), sensor(mounting))
    assert found.angular_rate == pytest.approx(to_body(exact_stream(LEGS), NO_BIAS, sensor()).angular_rate, abs=1e-12)
    assert to_body(even, None, sensor(mounting)).angular_rate[0] == pytest.approx(mounting @ bias)


def test_a_unit_that_reads_gravity_gives_the_same_specific_force(exact_stream):
    even = exact_stream(LEGS)
    reversed_ = replace(even, acceleration=-even.acceleration)
    as_gravity = to_body(reversed_, NO_BIAS, sensor(reads="gravity"))
    assert np.array_equal(as_gravity.specific_force, to_body(even, NO_BIAS, sensor()).specific_force)
    assert specific_force(np.array([1.0, -2.0, 3.0]), sensor(reads="gravity")).tolist() == [-1.0, 2.0, -3.0]


def test_without_a_lever_arm_the_force_at_the_cg_is_the_force_at_the_sensor(exact_stream):
    body = to_body(exact_stream(LEGS), NO_BIAS, sensor())
    assert np.array_equal(body.specific_force_at_cg, body.specific_force)


def test_a_steady_spin_pulls_the_sensor_inwards_by_the_square_of_the_rate(exact_stream):
    # arithmetic: 33⅓ rpm is 3.4907 rad/s; 0.20 m ahead of the axis the centripetal part is 2.4369 m/s², aftwards
    even = exact_stream([((0, 0, 0), 4.0)])
    rate = 100 / 3 * 2 * np.pi / 60
    spun = replace(
        even,
        angular_rate=np.tile([0.0, 0.0, rate], (400, 1)),
        acceleration=even.acceleration + np.array([-(rate**2) * 0.20, 0.0, 0.0]),
    )
    body = to_body(spun, NO_BIAS, sensor(lever=[0.20, 0, 0]))
    assert (body.specific_force - body.specific_force_at_cg)[200] == pytest.approx([-2.4369, 0, 0], abs=1e-4)
    assert body.specific_force_at_cg[200] == pytest.approx([0, 0, -9.80665], abs=1e-9)


def test_a_turn_that_quickens_pushes_the_sensor_sideways(exact_stream):
    # α × r with α = (0, 0, 2) rad/s² and r = (0.5, 0, 0) m is (0, 1, 0) m/s²
    even = exact_stream([((0, 0, 0), 4.0)])
    rate = np.outer(2.0 * even.time, [0.0, 0.0, 1.0])
    body = to_body(replace(even, angular_rate=rate), NO_BIAS, sensor(lever=[0.5, 0, 0]))
    taken = (body.specific_force - body.specific_force_at_cg)[50:350]
    assert taken[:, 1] == pytest.approx(np.ones(300), abs=1e-6)
    assert taken[:, 0] == pytest.approx(-((2.0 * even.time[50:350]) ** 2) * 0.5, abs=0.02)


def test_the_rate_is_not_differentiated_across_a_gap(exact_stream):
    even = exact_stream([((0, 0, 0), 2.0)])
    rate = np.where(even.time[:, None] < 1.0, [0.0, 0.0, 0.0], [0.0, 0.0, 3.0])
    whole = replace(even, angular_rate=rate)
    broken = replace(whole, segment=(even.time >= 1.0).astype(np.int64))
    place = sensor(lever=[0.5, 0, 0])
    sideways = [
        np.abs((b.specific_force - b.specific_force_at_cg)[:, 1]).max()
        for b in (to_body(whole, NO_BIAS, place), to_body(broken, NO_BIAS, place))
    ]
    assert sideways[0] > 10
    assert sideways[1] < 1e-9


@pytest.mark.parametrize("samples", [1, 2, 4])
def test_a_segment_too_short_to_smooth_is_left_as_it_is(exact_stream, samples):
    even = exact_stream([((0, 0, 0), 2.0)])
    segment = (even.time >= even.time[-samples]).astype(np.int64)
    rate = np.tile([0.0, 0.0, 1.0], (200, 1))
    body = to_body(replace(even, angular_rate=rate, segment=segment), NO_BIAS, sensor(lever=[0.5, 0, 0]))
    assert (body.specific_force - body.specific_force_at_cg)[-1] == pytest.approx([-0.5, 0, 0])
