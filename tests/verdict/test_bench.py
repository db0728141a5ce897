"""What is taken from a recording before it is judged: the level rest, the size of gravity, and mended turns."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.recording import Prompt
from benchrig.verdict.bench import measure_bench


def test_the_level_rest_is_the_one_that_was_prompted(demo_airframe, simulated_recording):
    airframe, recording = demo_airframe("knot"), simulated_recording("knot")
    last = [p for p in recording.prompts if p.name == "level"][-1]
    turning = tuple(p for p in recording.prompts if p.name not in ("level", "free"))
    bench = measure_bench(airframe, replace(recording, prompts=(*turning, last)))
    assert bench.even.time[bench.level.stop - 1] > last.start


def test_without_a_level_prompt_the_first_rest_counts(demo_airframe, simulated_recording):
    recording = simulated_recording("knot")
    bench = measure_bench(
        demo_airframe("knot"), replace(recording, prompts=tuple(p for p in recording.prompts if p.name != "level"))
    )
    assert bench.level is bench.stillness.rests[0]


def test_a_level_prompt_that_points_at_no_rest_is_not_replaced_by_a_guess(demo_airframe, simulated_recording):
    recording = simulated_recording("knot")
    middle = next(p for p in recording.prompts if p.name == "free")
    prompts = (Prompt("level", middle.start + 2.0, middle.start + 2.5, ""),)
    assert measure_bench(demo_airframe("knot"), replace(recording, prompts=prompts)).level is None


def test_a_unit_that_reads_gravity_is_measured_as_specific_force(demo_airframe, simulated_recording):
    airframe, recording = demo_airframe("knot"), simulated_recording("knot")
    plain = measure_bench(airframe, recording)
    reads = replace(airframe, sensor=replace(airframe.sensor, reads="gravity"))
    turned = measure_bench(reads, replace(recording, acceleration=-recording.acceleration))
    assert np.array_equal(turned.even.acceleration, plain.even.acceleration)
    assert np.array_equal(turned.wirings.log_probability, plain.wirings.log_probability)
    assert np.array_equal(turned.body.specific_force, plain.body.specific_force)


@pytest.mark.parametrize(("fault", "size"), [("accelerometer-scale=1.2", 1.2), ("accelerometer-m-s2", 9.80665)])
def test_the_size_of_gravity_is_that_of_the_numbers(measured, fault, size):
    assert measured("knot", fault).size == pytest.approx(size, rel=0.06)


@pytest.mark.parametrize("fault", ["gyro-scale=2", "gyro-radians", "gyro-scale=0.5"])
def test_a_wrong_scale_is_mended_so_that_the_wiring_can_still_be_named(measured, fault):
    bench = measured("knot", fault)
    assert int(np.argmax(bench.wirings.gyro)) == 0
    assert bench.wirings.gyro[0] > 0.999
    angles = [np.degrees(m.move.angle) for m in bench.motions if m.move is not None]
    assert 20 < min(angles) <= max(angles) < 60
