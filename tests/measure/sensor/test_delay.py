"""The delay between gyro and accelerometer, from moves of a simulated hand."""

from dataclasses import replace

import numpy as np
import pytest
from still_benches import Unit, bench, six_poses

from benchrig.measure.sensor.delay import FEWEST, sensor_delay
from benchrig.signals.rests import find_rests
from benchrig.signals.time_base import uniform


def delay_of(even):
    stillness = find_rests(even)
    return sensor_delay(even, stillness.rests, np.eye(3), even.acceleration, stillness.bias.value)


def late(even, samples):
    return replace(even, acceleration=np.roll(even.acceleration, samples, axis=0))


@pytest.mark.parametrize("samples", [-7, 0, 3, 8])
def test_a_delay_of_whole_samples_is_found_without_a_hand_to_a_tenth_of_one(samples):
    even = late(bench(six_poses(np.random.default_rng(0)), Unit()), samples)
    found = delay_of(even)
    assert found.value == pytest.approx(samples * even.step, abs=0.1 * even.step)
    assert found.stretches == 5


@pytest.mark.parametrize("late_ms", [0, 7, -15, 40])
def test_the_delay_of_a_hand_held_bench_is_found_within_its_uncertainty(late_ms, simulated_recording, demo_airframe):
    fault = (f"accelerometer-late={late_ms}",) if late_ms else ()
    recording = simulated_recording("dunlin", *fault, seed=3, rate_hz=200.0)
    found = delay_of(uniform(recording, demo_airframe("dunlin").sensor))
    assert abs(found.value - late_ms * 1e-3) < 3 * found.uncertainty
    assert found.uncertainty < 2.5e-3


def test_a_whole_shift_between_two_rests_is_not_taken_for_one_that_is_too_long():
    assert delay_of(late(bench(six_poses(np.random.default_rng(0)), Unit()), 14)) is None


def test_too_few_turns_tell_no_delay():
    assert delay_of(bench(six_poses(np.random.default_rng(0))[:FEWEST], Unit())) is None
    assert delay_of(bench(six_poses(np.random.default_rng(0))[: FEWEST + 1], Unit())) is not None
