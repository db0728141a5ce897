"""What each sensor, the filter and the unit say of each motion, cell by cell."""

from __future__ import annotations

import numpy as np
import pytest

from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.outcome import Outcome
from benchrig.verdict.limits import WRONG

GYRO = {"nose up": "+q", "nose down": "-q", "roll right": "+p", "roll left": "-p", "yaw right": "+r", "yaw left": "-r"}
FORCE = {"nose up": "+fx", "nose down": "-fx", "roll right": "-fy", "roll left": "+fy"}


def cell(record, motion, check):
    (found,) = [c for c in record.matrix if c.motion == motion and c.check == check]
    return found


@pytest.mark.parametrize("airframe", ["dunlin", "teal", "knot"])
def test_on_a_right_rig_every_cell_reads_what_it_should(judged, airframe):
    record = judged(airframe)
    for motion in REQUIRED_TURNS:
        gyro, force = cell(record, motion, "gyro"), cell(record, motion, "accelerometer")
        assert (gyro.outcome, gyro.expected, gyro.observed) == (Outcome.PASS, GYRO[motion], GYRO[motion])
        assert 20 < gyro.size < 60
        assert gyro.wrong_pass_bound < 2 * WRONG
        if motion in FORCE:
            assert (force.outcome, force.expected, force.observed) == (Outcome.PASS, FORCE[motion], FORCE[motion])
        else:
            assert force.outcome is Outcome.NOT_APPLICABLE
        assert cell(record, motion, "attitude").outcome is Outcome.PASS
        assert cell(record, motion, "unit attitude").outcome is Outcome.PASS


def test_gravity_at_rest_reads_up(judged):
    found = cell(judged("knot"), "level", "accelerometer")
    assert (found.outcome, found.expected, found.observed, found.unit) == (Outcome.PASS, "-fz", "-fz", "g")
    reversed_ = cell(judged("knot", "accelerometer-sign=z"), "level", "accelerometer")
    assert (reversed_.outcome, reversed_.observed) == (Outcome.FAIL, "+fz")


@pytest.mark.parametrize(
    ("fault", "reads"),
    [
        ("gyro-sign=x", {"roll right": "-p", "roll left": "+p"}),
        ("gyro-sign=z", {"yaw right": "-r", "yaw left": "+r"}),
        ("gyro-swap=xy", {"nose up": "+p", "nose down": "-p", "roll right": "+q", "roll left": "-q"}),
    ],
)
def test_a_gyro_fault_fails_the_motions_it_touches_and_no_others(judged, fault, reads):
    record = judged("knot", fault)
    for motion in REQUIRED_TURNS:
        found = cell(record, motion, "gyro")
        wrong = motion in reads
        assert found.outcome is (Outcome.FAIL if wrong else Outcome.PASS)
        assert found.observed == reads.get(motion, GYRO[motion])
        if motion in FORCE:
            assert cell(record, motion, "accelerometer").outcome is Outcome.PASS


def test_the_filter_passes_nothing_that_its_inputs_do_not(judged):
    # the filter's attitude recovers from a reversed gyro axis within seconds: it must not vouch for it
    record = judged("knot", "gyro-sign=x")
    for motion in ("roll right", "roll left"):
        assert cell(record, motion, "attitude").outcome is not Outcome.PASS


@pytest.mark.parametrize(
    ("axis", "motions"), [("roll", ("roll right", "roll left")), ("yaw", ("yaw right", "yaw left"))]
)
def test_a_unit_that_reports_its_own_attitude_with_a_wrong_sign_fails_in_those_motions(judged, axis, motions):
    record = judged("knot", f"unit-attitude-sign={axis}")
    assert {c.motion for c in record.matrix if c.check == "unit attitude" and c.outcome is Outcome.FAIL} == {*motions}
    assert {c.outcome for c in record.matrix if c.check == "gyro"} == {Outcome.PASS}


def test_without_the_units_own_attitude_there_is_no_such_cell(judged):
    assert not [c for c in judged("knot", unit_attitude=False).matrix if c.check == "unit attitude"]


def test_a_missing_motion_leaves_its_cells_open_and_names_the_reason(judged):
    record = judged("knot", "motion-missing=nose up")
    found = cell(record, "nose up", "gyro")
    assert (found.outcome, found.observed, found.size) == (Outcome.NOT_SHOWN, None, None)
    assert found.reason == "it is not among the motions of this capture"
    assert cell(record, "nose down", "gyro").outcome is Outcome.PASS


def test_small_tilts_are_no_evidence(judged):
    record = judged("knot", "short-tilts=12")
    assert not [c for c in record.matrix if c.outcome is Outcome.PASS and c.motion != "level"]


@pytest.mark.parametrize("fault", ["gyro-scale=2", "gyro-scale=0.5"])
def test_a_right_axis_of_the_wrong_size_fails_in_every_motion_and_keeps_its_axis(judged, fault):
    record = judged("knot", fault)
    for motion in REQUIRED_TURNS:
        found = cell(record, motion, "gyro")
        assert (found.outcome, found.observed) == (Outcome.FAIL, GYRO[motion])
        assert "right axis, wrong size" in found.reason
        assert 20 < found.size < 60  # what the airframe did, not what the gyro made of it


def test_the_found_wirings_share_is_a_probability_and_the_others_are_named(judged):
    certain, open_ = judged("knot").gyro, judged("knot", motions=("level", "nose up")).gyro
    assert certain.also_possible == ()
    assert 1 - 1e-5 < certain.probability <= 1
    assert open_.outcome is Outcome.NOT_SHOWN
    assert len(open_.also_possible) >= 1
    assert all(np.abs(np.linalg.det(m)) == pytest.approx(1) for m in open_.also_possible)
