"""`measure lever` from the files a logger leaves to the measurement a person reads."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe import Calibration
from benchrig.measure.lever.measure import CAUTIONS, measure_lever
from benchrig.outcome import Outcome
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

SPIN = ("level", "turntable clockwise", "level")
ON_TAIL = {"motions": ("on tail", "turntable clockwise", "on tail"), "posture": "on tail"}


@pytest.fixture
def bench(demo_airframe, tmp_path):
    """Simulate a bench and read it back from its files."""

    def make(name, *faults, seed=3, airframe="teal", **options):
        declared = demo_airframe(airframe)
        chosen = Options(**{"motions": SPIN, "pulses": False, "unit_attitude": False, **options})
        simulated = simulate(declared, seed=seed, faults=parse_faults(faults, declared), options=chosen)
        return read_capture(write_capture(simulated, tmp_path / name).manifest, declared)

    return make


def by_name(measurement):
    return {q.name: q for q in measurement.quantities}


def test_a_spin_measures_two_axes_and_says_why_not_the_third(demo_airframe, bench):
    measurement = measure_lever(demo_airframe("teal"), [bench("spin")])
    told = by_name(measurement)
    forward, down = told["sensor from CG, forward"], told["sensor from CG, down"]
    assert forward.value == pytest.approx(35, abs=1.5)
    assert forward.uncertainty < 0.6
    assert forward.outcome is Outcome.PASS
    assert down.value is None
    assert "a spin shows nothing along its axis" in down.reason
    assert measurement.outcome is Outcome.NOT_SHOWN
    assert measurement.findings == ()
    assert any("pivot_mm" in line for line in measurement.unknown)
    assert any(line.startswith("How far down or up: a spin shows nothing") for line in measurement.unknown)
    assert measurement.cautions == CAUTIONS
    (evidence,) = measurement.evidence
    assert evidence.file.name == "spin.toml"


def test_a_second_spin_on_the_tail_completes_a_pass(demo_airframe, bench):
    measurement = measure_lever(demo_airframe("teal"), [bench("level"), bench("tail", seed=4, **ON_TAIL)])
    assert [q.outcome for q in measurement.quantities[:3]] == [Outcome.PASS] * 3
    assert measurement.outcome is Outcome.PASS
    (entry,) = measurement.entries
    assert entry.value.keys() == {"forward", "down"} | (entry.value.keys() & {"left", "right"})
    assert len(measurement.figures) == 4  # from above, from the right, and each spin's readings


def test_a_swing_about_a_fixed_point_measures_all_three(demo_airframe, bench):
    measurement = measure_lever(demo_airframe("teal"), [bench("swing", motions=("level", "swing", "level"))])
    values = np.array([q.value for q in measurement.quantities[:3]])
    np.testing.assert_allclose(np.abs(values), [35, 0, 12], atol=6)
    assert all(q.uncertainty < 5 for q in measurement.quantities[:3])


def test_without_a_pivot_the_place_is_told_from_the_tables_axis(demo_airframe, bench):
    measurement = measure_lever(demo_airframe("teal"), [bench("spin", turntable_pivot_declared=False)])
    told = by_name(measurement)
    assert told["sensor from CG, forward"].value is None
    assert "does not say where the point" in told["sensor from CG, forward"].reason
    name = next(n for n in told if re.fullmatch(r"sensor from the turntable axis of spin\.toml:\d+, forward", n))
    assert told[name].value == pytest.approx(35, abs=1.5)
    assert [f.code for f in measurement.findings] == ["lever-pivot-unknown"]
    assert measurement.entries == ()


def test_the_tables_speed_is_told_whether_it_was_stated_or_not(demo_airframe, bench):
    for stated in (True, False):
        spin = bench("spin", turntable_rpm_declared=stated)
        measurement = measure_lever(demo_airframe("teal"), [spin])
        speed = next(q for q in measurement.quantities if q.unit == "rpm")
        assert speed.value == pytest.approx(33.33, abs=4 * speed.uncertainty)
        assert speed.declared == (pytest.approx(33.333, abs=0.001) if stated else None)


def test_a_calibration_of_the_file_is_applied_and_said(demo_airframe, bench):
    declared = demo_airframe("teal")
    spin = bench("spin")
    doubled = replace(declared, calibration=Calibration(None, None, 1.03 * np.eye(3), None, None))
    plain, scaled = measure_lever(declared, [spin]), measure_lever(doubled, [spin])
    assert scaled.quantities[0].value == pytest.approx(1.03 * plain.quantities[0].value, abs=0.8)
    assert any("calibration of the airframe file is applied" in line for line in scaled.method)


def test_a_place_that_rests_on_the_gyros_scale_is_not_written_and_says_what_nothing_shows(demo_airframe, bench):
    level = {"turntable_rpm_declared": False, "turntable_tilt_deg": 0.0}
    alone = measure_lever(demo_airframe("teal"), [bench("alone", **level)])
    stated = measure_lever(demo_airframe("teal"), [bench("stated", turntable_tilt_deg=0.0)])
    assert "spin-rests-on-gyro" in [f.code for f in alone.findings]
    assert any("a gyro that is 10 % wrong" in line for line in alone.unknown)
    assert alone.entries == ()
    assert stated.entries
    assert not any("a gyro that is 10 % wrong" in line for line in stated.unknown)


def test_a_speed_that_is_not_believed_still_stands_beside_the_measured_one(demo_airframe, bench):
    spin = bench("spin", "table-fast=5", turntable_tilt_deg=1.0)
    measurement = measure_lever(demo_airframe("teal"), [spin])
    speed = next(q for q in measurement.quantities if q.unit == "rpm")
    assert speed.value == pytest.approx(35, abs=0.1)
    assert speed.declared == pytest.approx(33.333, abs=0.001)
    assert speed.reason.endswith("by the gyro, by gravity's once-a-turn and not as stated")
    assert "turned at 35.0 rpm" in next(f.text for f in measurement.findings if f.code == "turntable-speed-differs")


def test_a_swing_speaks_of_no_table(demo_airframe, bench):
    measurement = measure_lever(demo_airframe("teal"), [bench("swing", motions=("level", "swing", "level"))])
    told = [*measurement.method, *measurement.unknown, *(q.reason for q in measurement.quantities)]
    told += [f"{f.text} {f.fix}" for f in measurement.findings]
    assert not [line for line in told if re.search(r"\b(table|spins?)\b", line)]


def test_a_gyro_in_the_wrong_unit_gives_no_place(demo_airframe, bench):
    spin = bench("spin", "lever=60", turntable_tilt_deg=0.1)
    wrong = replace(spin, angular_rate=spin.angular_rate * 180 / np.pi)
    measurement = measure_lever(demo_airframe("teal"), [wrong])
    assert measurement.outcome is Outcome.NOT_SHOWN
    assert measurement.quantities[0].value is None
    text = next(f.text for f in measurement.findings if f.code == "spin-speed")
    assert "its numbers are deg/s, taken for rad/s" in text
