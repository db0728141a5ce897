"""What people do wrong when they measure the sensor's place: a clear word, and no wrong number."""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.measure.lever.measure import measure_lever
from benchrig.outcome import Outcome
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

SPIN = ("level", "turntable clockwise", "level")
ON_TAIL = {"motions": ("on tail", "turntable clockwise", "on tail"), "posture": "on tail"}
SWING = {"motions": ("level", "swing", "level")}
SEEDS = range(3)


@pytest.fixture
def bench(demo_airframe):
    """Simulate a bench with one mistake and read it back from its files; `real` is where the unit really sits, m."""

    def make(*faults, seed=0, name="dunlin", real=None, **options):
        declared = demo_airframe(name)
        built = declared if real is None else replace(declared, sensor=replace(declared.sensor, lever_arm=real))
        chosen = Options(**{"motions": SPIN, "pulses": False, "unit_attitude": False, **options})
        simulated = simulate(built, seed=seed, faults=parse_faults(faults, declared), options=chosen)
        with tempfile.TemporaryDirectory() as folder:
            return read_capture(write_capture(simulated, Path(folder) / "bench").manifest, declared)

    return make


@pytest.fixture
def measure(demo_airframe):
    def run(*recordings, name="dunlin"):
        return measure_lever(demo_airframe(name), recordings)

    return run


def codes(measurement, severity=None):
    return [f.code for f in measurement.findings if severity in (None, f.severity)]


def values(measurement):
    return [q.value for q in measurement.quantities[:3]]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_place_measured_from_the_nose_and_not_from_the_cg_fails(bench, measure, seed):
    """The wrong point of reference: everything is declared 60 mm further aft than it is from the CG."""
    recording = bench(seed=seed, real=np.array([-0.120, 0.0, -0.025]))
    measurement = measure(recording)
    assert codes(measurement) == ["lever-differs"]
    assert measurement.outcome is Outcome.FAIL
    assert values(measurement)[0] == pytest.approx(120, abs=8)


@pytest.mark.parametrize("seed", SEEDS)
def test_forward_and_aft_exchanged_fails_and_writes_nothing(bench, measure, seed):
    measurement = measure(bench(seed=seed, real=np.array([0.180, 0.0, -0.025])))
    assert codes(measurement) == ["lever-other-side"]
    assert measurement.quantities[0].name == "sensor from CG, forward"
    assert values(measurement)[0] == pytest.approx(180, abs=8)
    assert measurement.entries == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_a_unit_turned_by_half_a_turn_is_not_taken_for_a_place_without_a_word(bench, measure, seed):
    measurement = measure(bench("mounting=forward,right", seed=seed))
    (finding,) = measurement.findings
    assert finding.code == "lever-other-side"
    assert "A unit that is turned in its place looks the same" in finding.text


@pytest.mark.parametrize("seed", SEEDS)
def test_a_table_that_turned_the_other_way_is_no_evidence(bench, measure, seed):
    measurement = measure(bench("spin-reversed", seed=seed))
    assert codes(measurement) == ["spin-sense"]
    assert values(measurement) == [None] * 3
    assert measurement.outcome is Outcome.NOT_SHOWN


@pytest.mark.parametrize("seed", SEEDS)
def test_a_pivot_written_down_wrong_fails_against_the_declared_place(bench, measure, seed):
    measurement = measure(bench("pivot-wrong=40", seed=seed))
    assert codes(measurement) == ["lever-differs"]
    assert "measure pivot_mm from the CG again" in measurement.findings[0].fix


@pytest.mark.parametrize("seed", SEEDS)
def test_a_pivot_wrong_in_one_of_two_poses_gives_no_number(bench, measure, seed):
    """Level and on its right side both show forward, and do not agree."""
    on_side = {"motions": ("on right side", "turntable clockwise", "on right side"), "posture": "on right side"}
    measurement = measure(bench(seed=seed), bench("pivot-wrong=60", seed=seed + 50, **on_side))
    assert codes(measurement) == ["lever-stands-disagree"]
    assert values(measurement) == [None] * 3
    assert measurement.entries == ()


def test_a_table_that_is_too_slow_is_named(bench, measure):
    measurement = measure(bench(turntable_rpm=8.0, spin_s=20.0))
    assert codes(measurement) == ["spin-too-slow"]
    assert re.search(r"turned at 8\.\d rpm, and 13\.3 rpm or more are needed", measurement.findings[0].text)
    assert values(measurement) == [None] * 3


def test_a_spin_that_is_too_short_is_named(bench, measure):
    measurement = measure(bench(spin_s=2.5))
    assert codes(measurement) == ["spin-too-short"]
    assert values(measurement) == [None] * 3


def test_no_pivot_gives_the_place_from_the_table_and_not_from_the_cg(bench, measure):
    measurement = measure(bench(turntable_pivot_declared=False))
    assert codes(measurement) == ["lever-pivot-unknown"]
    assert values(measurement) == [None] * 3
    assert measurement.entries == ()


@pytest.mark.parametrize("seed", SEEDS)
def test_a_hand_that_moves_is_no_fixed_point(bench, measure, seed):
    measurement = measure(bench("pivot-moves=30", seed=seed, **SWING))
    assert codes(measurement) == ["swing-pivot-moved"]
    assert values(measurement) == [None] * 3


@pytest.mark.parametrize(
    ("fault", "code"),
    [
        ("gyro-scale=1.3", "spin-speed"),
        ("gyro-scale=2", "spin-speed"),
        ("gyro-sign=z", "spin-sense"),
        ("accelerometer-sign=x", "spin-miscounted"),
        ("both-sign=y", "spin-miscounted"),
        ("accelerometer-scale=2", "spin-size"),
        ("gyro-radians", "spin-not-found"),
        ("gyro-clip=150", None),
    ],
)
def test_a_unit_with_a_fault_gives_no_number(bench, measure, fault, code):
    measurement = measure(bench(fault))
    assert values(measurement) == [None] * 3
    assert measurement.outcome is Outcome.NOT_SHOWN
    assert code is None or codes(measurement) == [code]


def test_a_stated_speed_that_was_not_turned_is_told_and_changes_nothing(bench, measure):
    right, fast = measure(bench()), measure(bench("table-fast=4"))
    assert codes(fast) == ["turntable-speed-differs", "lever-too-coarse"]
    assert codes(fast, "advice") == codes(fast)
    assert fast.quantities[0].value == pytest.approx(right.quantities[0].value, abs=2)


def test_a_right_bench_draws_no_remark_but_on_how_to_measure_finer(bench, measure):
    """The dunlin declares ± 5 mm: a table's own errors alone can be larger than half of that."""
    for seed in range(6):
        measurement = measure(bench(seed=seed), bench(seed=seed + 50, **ON_TAIL))
        assert set(codes(measurement)) <= {"lever-too-coarse"}
        assert measurement.outcome is not Outcome.FAIL
