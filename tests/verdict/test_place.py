"""A capture with a turntable judges the declared place of the unit; one without says nothing of it."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest

from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.job import judge
from benchrig.outcome import Outcome
from benchrig.verdict.bench import measure_bench
from benchrig.verdict.place import judge_place

MOTIONS = ("level", *REQUIRED_TURNS, "level", "turntable clockwise", "level")


@pytest.fixture(scope="module")
def judged(simulated_recording, demo_airframe):
    """Judge six hand moves and one spin of the dunlin, whose unit is declared 180 mm aft and 25 mm up."""

    @functools.cache
    def make(*faults, **options):
        recording = simulated_recording("dunlin", *faults, motions=MOTIONS, **options)
        return judge(demo_airframe("dunlin"), recording)

    return make


@pytest.fixture(scope="module")
def spin_bench(simulated_recording, demo_airframe):
    """Measure a spin of the dunlin, whose unit is declared this far to the right, m, with this tolerance."""
    recording, declared = simulated_recording("dunlin", motions=MOTIONS), demo_airframe("dunlin")

    def make(right=0.0, tolerance=0.050):
        place = np.array([-0.180, right, -0.025])
        sensor = replace(declared.sensor, lever_arm=place, position_tolerance=tolerance)
        return measure_bench(replace(declared, sensor=sensor), recording)

    return make


def codes(record):
    return {f.code for f in record.findings}


def test_a_spin_shows_the_place_across_its_axis_and_nothing_along_it(judged):
    record = judged()
    arm = record.lever_arm
    assert record.verdict is arm.outcome is Outcome.PASS
    assert arm.declared_mm.tolist() == [-180.0, 0.0, -25.0]
    forward, right, down = arm.measured_mm
    spread = arm.uncertainty_mm
    assert abs(forward + 180.0) < 3 * spread[0] < 10.0
    assert abs(right) < 3 * spread[1] < 15.0
    assert down is spread[2] is None
    assert "a spin shows nothing along its axis" in arm.reason
    assert "180" not in record.limits["place of the unit"]


def test_a_unit_on_the_other_side_of_the_centre_of_gravity_fails_the_bench(judged):
    record = judged("lever=360")
    assert record.verdict is record.sensing is record.lever_arm.outcome is Outcome.FAIL
    assert record.lever_arm.measured_mm[0] == pytest.approx(180.0, abs=10.0)
    assert "lever-other-side" in codes(record)


@pytest.mark.parametrize("off", [-40, 40])
def test_a_place_that_is_surely_outside_its_tolerance_fails(judged, off):
    record = judged(f"lever={off}")
    assert record.verdict is Outcome.FAIL
    assert "lever-differs" in codes(record)


def test_a_table_that_turned_the_other_way_than_written_leaves_a_doubt(judged):
    record = judged("spin-reversed")
    assert record.lever_arm.outcome is Outcome.NOT_SHOWN
    assert record.verdict is Outcome.NOT_SHOWN
    assert record.lever_arm.measured_mm == (None, None, None)
    assert "spin-sense" in codes(record)


def test_without_the_pivot_nothing_is_judged_and_the_reason_is_given(judged):
    record = judged(turntable_pivot_declared=False)
    assert record.lever_arm.outcome is Outcome.NOT_APPLICABLE
    assert "pivot_mm" in record.lever_arm.reason
    assert "place of the unit" not in record.limits


def test_a_unit_whose_axes_are_wrong_has_no_place_yet(judged):
    record = judged("mounting=left,forward,down")
    assert record.verdict is Outcome.FAIL
    assert record.lever_arm.outcome is Outcome.NOT_SHOWN
    assert "turned axes turn the measured place too" in record.lever_arm.reason
    assert not {code for code in codes(record) if code.startswith("lever")}


def test_hand_moves_alone_say_nothing_of_the_place(simulated_recording, demo_airframe):
    arm = judge(demo_airframe("dunlin"), simulated_recording("dunlin")).lever_arm
    assert arm.outcome is Outcome.NOT_APPLICABLE
    assert arm.measured_mm == arm.uncertainty_mm == (None, None, None)


def test_a_pivot_written_on_the_wrong_side_is_found(simulated_recording, demo_airframe):
    recording = simulated_recording("dunlin", motions=MOTIONS, turntable_pivot=(-0.09, 0.0, 0.0))
    exchanged = replace(recording, turntable=replace(recording.turntable, pivot=np.array([0.09, 0.0, 0.0])))
    assert judge(demo_airframe("dunlin"), recording).lever_arm.outcome is Outcome.PASS
    record = judge(demo_airframe("dunlin"), exchanged)
    assert record.lever_arm.outcome is Outcome.FAIL
    assert record.lever_arm.measured_mm[0] == pytest.approx(0.0, abs=8.0)


def test_the_unit_s_own_attitude_is_counted_through_whole_turns(judged):
    cell = next(c for c in judged().matrix if (c.motion, c.check) == ("turntable clockwise", "unit attitude"))
    assert cell.outcome is Outcome.PASS
    assert cell.size == pytest.approx(2000.0, abs=60.0)


@pytest.mark.parametrize(("spin", "sign"), [("turntable clockwise", 1), ("turntable counter-clockwise", -1)])
def test_the_filter_s_attitude_is_counted_through_whole_turns_by_the_gyro(
    simulated_recording, demo_airframe, spin, sign
):
    recording = simulated_recording("dunlin", motions=(*MOTIONS[:-2], spin, "level"))
    cells = {c.check: c for c in judge(demo_airframe("dunlin"), recording).matrix if c.motion == spin}
    cell = cells["attitude"]
    assert (cell.outcome, cell.observed) == (Outcome.PASS, "+yaw" if sign > 0 else "-yaw")
    assert cell.size == pytest.approx(cells["gyro"].size, rel=1e-3)
    assert cell.size == pytest.approx(2000.0, abs=60.0)


@pytest.mark.parametrize("wired", [Outcome.NOT_SHOWN, Outcome.NOT_APPLICABLE])
def test_axes_that_are_not_shown_leave_the_place_open_too(spin_bench, wired):
    place, told = judge_place(spin_bench(), wired)
    assert (place.outcome, told) == (Outcome.NOT_SHOWN, ())
    assert place.measured_mm == (None, None, None)


@pytest.mark.parametrize("tolerance", [None, 0.050])
def test_a_declared_side_that_the_spin_does_not_show_is_no_pass(spin_bench, tolerance):
    """The unit sits in the middle, and is declared 30 mm to the right."""
    assert judge_place(spin_bench(tolerance=tolerance), Outcome.PASS)[0].outcome is Outcome.PASS
    place, _ = judge_place(spin_bench(right=0.030, tolerance=tolerance), Outcome.PASS)
    assert abs(place.measured_mm[1]) < 3 * place.uncertainty_mm[1]
    assert place.outcome is Outcome.NOT_SHOWN


def test_a_doubt_about_a_spin_without_a_pivot_is_advice(judged):
    record = judged("spin-reversed", turntable_pivot_declared=False)
    assert record.lever_arm.outcome is Outcome.NOT_APPLICABLE
    assert {f.code: f.severity for f in record.findings}["spin-sense"] == "advice"


def test_a_place_that_passes_on_its_side_alone_says_so(spin_bench):
    fine, _ = judge_place(spin_bench(tolerance=0.050), Outcome.PASS)
    coarse, _ = judge_place(spin_bench(tolerance=0.002), Outcome.PASS)
    assert fine.outcome is coarse.outcome is Outcome.PASS
    assert not fine.is_side_alone
    assert coarse.is_side_alone
    assert coarse.reason.startswith("its side is as declared; its size is not known finely enough for the tolerance")
    assert "along its axis" in coarse.reason
