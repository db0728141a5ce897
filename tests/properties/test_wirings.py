"""For every one of the 2304 wirings: a simulated rig wired so is found to be wired so, mirrored ones too."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchrig.geometry.rotations import SIGNED_PERMUTATIONS
from benchrig.signals.motions import match_motions
from benchrig.signals.moves import find_moves
from benchrig.signals.rests import find_rests
from benchrig.signals.time_base import uniform
from benchrig.verdict.wirings import weigh_level, weigh_prompts, weigh_wirings

MAPS = st.integers(0, 47)
ROTATIONS = st.integers(0, 23)
TURNS = {"nose up": (4, 35, -6), "roll left": (-30, 5, 7), "yaw right": (-5, 8, 40)}


@pytest.fixture(scope="module")
def rig(simulated_recording, demo_airframe):
    """Give a right rig's even recording in body axes, with its prompts."""
    sensor = demo_airframe("knot").sensor
    assert np.array_equal(sensor.body_from_sensor, np.eye(3))
    recording = simulated_recording("knot", seed=4)
    return uniform(recording, sensor), recording.prompts


def rewired(even, gyro, accelerometer, declared):
    """Read the same bench through other wires: body = declared @ map @ reading."""
    by_gyro, by_accelerometer = declared @ SIGNED_PERMUTATIONS[gyro], declared @ SIGNED_PERMUTATIONS[accelerometer]
    return replace(even, angular_rate=even.angular_rate @ by_gyro, acceleration=even.acceleration @ by_accelerometer)


def posterior_of(even, prompts, declared):
    stillness = find_rests(even)
    moves = find_moves(even, stillness.rests, stillness.bias)
    motions = match_motions(even, moves, prompts).motions
    first = stillness.rests[0]
    level = even.acceleration[first.start : first.stop].mean(axis=0)
    return motions, moves, level, weigh_wirings(motions, moves, level, declared)


@settings(max_examples=60, deadline=None)
@given(MAPS, MAPS, ROTATIONS)
def test_whatever_the_wiring_the_posterior_names_it(rig, gyro, accelerometer, mounting):
    even, prompts = rig
    declared = SIGNED_PERMUTATIONS[mounting]
    *_, posterior = posterior_of(rewired(even, gyro, accelerometer, declared), prompts, declared)
    assert np.unravel_index(np.argmax(posterior.log_probability), (48, 48)) == (gyro, accelerometer)
    assert np.exp(posterior.log_probability[gyro, accelerometer]) > 1 - 1e-5


@settings(max_examples=30, deadline=None)
@given(MAPS, MAPS)
def test_a_wrong_wiring_never_leaves_the_declared_one_more_than_a_millionth(rig, gyro, accelerometer):
    even, prompts = rig
    *_, posterior = posterior_of(rewired(even, gyro, accelerometer, np.eye(3)), prompts, np.eye(3))
    if (gyro, accelerometer) == (0, 0):
        assert posterior.gyro[0] > 1 - 1e-5
    else:
        assert np.exp(posterior.log_probability[0, 0]) < 1e-6


@settings(max_examples=24, deadline=None)
@given(ROTATIONS, MAPS)
def test_prompts_and_level_weigh_alike_when_unit_and_declaration_are_turned_together(rig, mounting, wiring):
    even, prompts = rig
    plain = rewired(even, wiring, wiring, np.eye(3))
    motions, _, level, _ = posterior_of(plain, prompts, np.eye(3))
    declared = SIGNED_PERMUTATIONS[mounting]
    turned = replace(plain, angular_rate=plain.angular_rate @ declared, acceleration=plain.acceleration @ declared)
    turned_motions, _, turned_level, _ = posterior_of(turned, prompts, declared)
    # map k of the turned unit is D⁻¹ P D of the plain one: the same wirings in another order
    order = [
        int(np.argmin([np.abs(declared @ m @ declared.T - known).max() for known in SIGNED_PERMUTATIONS]))
        for m in SIGNED_PERMUTATIONS
    ]
    assert weigh_prompts(turned_motions, declared) == pytest.approx(weigh_prompts(motions, np.eye(3))[order], abs=1e-6)
    assert weigh_level(turned_level, declared) == pytest.approx(weigh_level(level, np.eye(3))[order], abs=1e-6)
