"""Properties of a unit's calibration: order, heading, mounting and unit of measure do not matter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from still_benches import consumer_unit

from benchrig.geometry.gravity import STANDARD_GRAVITY
from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.measure.sensor.accelerometer import fit_accelerometer
from benchrig.measure.sensor.counting import one_count
from benchrig.measure.sensor.gyro_fit import fit_gyro
from benchrig.measure.sensor.gyro_turns import Carry
from benchrig.measure.sensor.poses import Pose
from benchrig.measure.sensor.stream_clock import stream_clock

SEEDS = st.integers(0, 2**31 - 1)
MOUNTINGS = st.integers(0, 23).map(lambda k: SIGNED_PERMUTATIONS[k])


def poses_of(seed, count=14):
    rng = np.random.default_rng(seed)
    unit = consumer_unit(rng)
    ways = np.vstack([np.eye(3), -np.eye(3), Rotation.random(count - 6, random_state=seed).apply([0.0, 0.0, 1.0])])
    readings = STANDARD_GRAVITY * ways @ unit.accelerometer_gain.T + unit.accelerometer_bias
    readings = readings + rng.normal(0, 1e-3, readings.shape)
    return [Pose(float(k), k + 0.9, r, 1e-3, by_hand=False, rate=np.zeros(3)) for k, r in enumerate(readings)]


def carries_of(seed, count=8):
    """Turn at a steady rate from pose to pose: what a gyro reads, and gravity before and after."""
    rng = np.random.default_rng(seed)
    unit = consumer_unit(rng)
    made = []
    for turn in rng.normal(0, 1.0, (count, 3)):
        before = Rotation.random(random_state=rng.integers(1 << 31)).apply([0.0, 0.0, STANDARD_GRAVITY])
        after = Rotation.from_rotvec(turn).inv().apply(before)
        made.append(Carry(np.tile(unit.gyro_gain @ turn, (101, 1)), 0.01, before, after, 1e-3))
    return made


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.randoms(use_true_random=False))
def test_the_order_of_the_poses_does_not_matter(seed, shuffler):
    poses = poses_of(seed)
    other = poses.copy()
    shuffler.shuffle(other)
    one, two = fit_accelerometer(poses), fit_accelerometer(other)
    assert two.bias == pytest.approx(one.bias, abs=1e-6)
    assert two.matrix == pytest.approx(one.matrix, abs=1e-7)


@settings(max_examples=25, deadline=None)
@given(SEEDS, MOUNTINGS)
def test_a_unit_read_along_other_axes_has_the_same_errors_along_those(seed, mounting):
    poses = poses_of(seed)
    one = fit_accelerometer(poses)
    two = fit_accelerometer([replace(p, reading=mounting @ p.reading) for p in poses])
    assert two.bias == pytest.approx(mounting @ one.bias, abs=1e-5)
    assert two.matrix == pytest.approx(mounting @ one.matrix @ mounting.T, abs=1e-6)
    assert two.bias_uncertainty == pytest.approx(np.abs(mounting) @ one.bias_uncertainty, rel=1e-3)


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_a_unit_that_reads_gravity_has_the_opposite_bias_and_the_same_scale(seed):
    poses = poses_of(seed)
    one, two = fit_accelerometer(poses), fit_accelerometer([replace(p, reading=-p.reading) for p in poses])
    assert two.bias == pytest.approx(-one.bias, abs=1e-5)
    assert two.scale == pytest.approx(one.scale, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.sampled_from([1 / 9.80665, 9.80665, 2.0, 0.5]))
def test_readings_in_another_unit_have_their_errors_in_it(seed, factor):
    poses = poses_of(seed)
    one = fit_accelerometer(poses)
    two = fit_accelerometer([replace(p, reading=factor * p.reading, uncertainty=factor * p.uncertainty) for p in poses])
    assert two.scale / factor == pytest.approx(one.scale, abs=1e-3)
    assert two.bias / factor == pytest.approx(one.bias, abs=5e-3)


@settings(max_examples=15, deadline=None)
@given(SEEDS, MOUNTINGS)
def test_a_gyro_read_along_other_axes_has_the_same_scale_along_those(seed, mounting):
    carries = carries_of(seed)
    turned = [
        replace(c, rate=c.rate @ mounting.T, before=mounting @ c.before, after=mounting @ c.after) for c in carries
    ]
    one, two = fit_gyro(carries, (), None), fit_gyro(turned, (), None)
    assert two.scale == pytest.approx(np.abs(mounting) @ one.scale, rel=1e-4)


@settings(max_examples=15, deadline=None)
@given(SEEDS, st.sampled_from([180 / np.pi, np.pi / 180, 2.0, 0.5]))
def test_a_gyro_in_another_unit_has_its_scale_in_it(seed, factor):
    carries = carries_of(seed)
    one = fit_gyro(carries, (), None)
    two = fit_gyro([replace(c, rate=factor * c.rate) for c in carries], (), None)
    assert two.scale * factor == pytest.approx(one.scale, rel=0.005)


@settings(max_examples=15, deadline=None)
@given(SEEDS)
def test_a_turn_played_backwards_tells_the_same_scale(seed):
    carries = carries_of(seed)
    back = [replace(c, rate=-c.rate[::-1], before=c.after, after=c.before) for c in carries]
    assert fit_gyro(back, (), None).scale == pytest.approx(fit_gyro(carries, (), None).scale, rel=1e-3)


@settings(max_examples=50, deadline=None)
@given(st.floats(1e-6, 1e3), st.integers(-1000, 1000), SEEDS)
def test_a_raster_is_found_in_any_unit_and_wherever_zero_lies(count, zero, seed):
    counts = np.round(np.cumsum(np.random.default_rng(seed).normal(0, 8, 3000)))
    assert one_count((counts + zero) * count) == pytest.approx(count, rel=1e-5)


@settings(max_examples=50, deadline=None)
@given(st.floats(2.0, 8000.0), st.integers(0, 40), SEEDS)
def test_as_many_samples_are_missed_as_were_taken_out(rate, missing, seed):
    rng = np.random.default_rng(seed)
    kept = np.ones(2000, dtype=bool)
    kept[rng.choice(np.arange(5, 1995), missing, replace=False)] = False
    clock = stream_clock((np.arange(2000) / rate)[kept])
    assert clock.lost == missing
    assert clock.rate == pytest.approx(rate, rel=1e-6)
