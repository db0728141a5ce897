"""Spins on a table whose speed is stated or counted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from turning_bodies import CONSUMER, measured, rig, spun, table

from benchrig.capture.recording import Recording, Turntable
from benchrig.declaration.airframe import Sensor
from benchrig.measure.sensor.table_turns import STATED, Spin, both_senses, known_spins, once_a_turn
from benchrig.signals.rests import find_rests

SQUARE = Sensor(np.eye(3), np.zeros(3), None, "specific force", None, None)
SPEED = 200 / 6 * np.pi / 30


def recording_of(even, speed) -> Recording:
    table = Turntable(speed, None)
    return Recording(
        even.time, even.angular_rate, even.acceleration, None, None, None, {}, {}, (), (), table, None, None, None,
        None, None, None, None, None, "", (),
    )  # fmt: skip


def spins_of(even, speed=None):
    return known_spins(recording_of(even, speed), even, find_rests(even), SQUARE, "spin.toml")


def bench(tilt_deg, gain=1.0, seed=0):
    errors = replace(CONSUMER, seed=seed, gyro_gain=gain * np.eye(3))
    return spun((0.03, 0.02, 0.0), tilt_deg=tilt_deg, errors=errors)


@pytest.fixture(scope="module")
def spin_stand():
    return measured(spun((0.03, 0.02, 0.0), tilt_deg=2.0), rig(), turntable=table()).stands[0]


def test_a_tilted_table_counts_its_own_turns_better_than_it_states_its_speed():
    (spin,), _ = spins_of(bench(2.0, gain=1.02), SPEED)
    assert spin.by == "counted"
    assert spin.speed_uncertainty < STATED
    assert np.linalg.norm(spin.rate) / spin.speed == pytest.approx(1.02, abs=4 * spin.uncertainty)


def test_turns_are_counted_to_a_thirtieth_of_a_percent_and_the_pulls_have_a_spread_near_one():
    pulls = []
    for seed in range(12):
        (spin,), _ = spins_of(bench(2.0, gain=0.99, seed=seed))
        assert spin.speed_uncertainty < 5e-4
        pulls.append((spin.speed / SPEED - 1) / spin.speed_uncertainty)
    assert 0.4 < np.std(pulls) < 1.5
    assert np.abs(pulls).max() < 4


def test_a_level_table_is_believed_its_stated_speed():
    (spin,), _ = spins_of(bench(0.0), SPEED)
    assert spin.by == "stated"
    assert spin.speed == SPEED
    assert spin.speed_uncertainty == pytest.approx(0.0029, abs=1e-4)


def test_a_level_table_of_unknown_speed_tells_nothing():
    assert spins_of(bench(0.0)) == ((), ())


def test_two_spins_of_opposite_senses_leave_no_bias():
    bias = np.radians([0.1, 0.0, 2.0])
    there = Spin(np.array([0.0, 0.0, 1.01 * SPEED]) + bias, SPEED, STATED, 0.01, "stated")
    back = Spin(np.array([0.0, 0.0, -1.01 * SPEED]) + bias, SPEED, STATED, 0.01, "stated")
    spin, found = both_senses(there, back)
    assert found == pytest.approx(bias)
    assert spin.rate[2] / spin.speed == pytest.approx(1.01)
    assert spin.uncertainty == pytest.approx(STATED, rel=1e-3)  # the table's error is the same both ways


def test_a_table_that_jumps_between_two_speeds_counts_nothing(spin_stand):
    fast = np.linalg.norm(spin_stand.rate, axis=1) > 0.99 * np.linalg.norm(spin_stand.turning)
    jumping = spin_stand.rate * (fast * np.where(np.arange(len(fast)) % 2, 1.04, 0.96))[:, None]
    assert once_a_turn(spin_stand, 1.0) is not None
    assert once_a_turn(replace(spin_stand, rate=jumping), 1.0) is None
