"""The measured place against the declared one, and the line for the airframe file."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from turning_bodies import CONSUMER, measured, rig, spun, table

from benchrig.measure.lever.arm import LeverEstimate
from benchrig.measure.lever.judgement import distances, entries, findings, judged, quantities, rounded
from benchrig.measure.lever.stand import Remark
from benchrig.outcome import Outcome

NAN = np.nan


def found(value, spread=(0.0005, 0.0005, 0.0005), remarks=()):
    told = np.isfinite(value)
    reason = tuple("" if t else "a spin shows nothing along its axis" for t in told)
    return LeverEstimate(np.array(value), np.where(told, spread, NAN), reason, (), tuple(remarks))


@pytest.mark.parametrize(
    ("value", "spread", "declared", "tolerance", "outcome"),
    [
        (0.1782, 0.0005, 0.180, 0.005, Outcome.PASS),
        (0.1782, 0.0015, 0.180, 0.005, Outcome.PASS),
        (0.1782, 0.0017, 0.180, 0.005, Outcome.NOT_SHOWN),  # 1.8 + 2 × 1.7 mm
        (0.1730, 0.0005, 0.180, 0.005, Outcome.FAIL),
        (0.1730, 0.0015, 0.180, 0.005, Outcome.NOT_SHOWN),  # 7 - 2 × 1.5 mm
        (-0.1782, 0.0005, 0.180, 1.0, Outcome.FAIL),  # on the other side, whatever the tolerance
        (0.1782, 0.0005, 0.180, None, Outcome.PASS),
        (-0.1782, 0.0005, 0.180, None, Outcome.FAIL),
        (-0.0040, 0.0020, 0.180, None, Outcome.NOT_SHOWN),  # two standard deviations from the CG: no side at all
        (-0.1782, 0.0005, 0.010, None, Outcome.NOT_APPLICABLE),  # declared so near that it has no side
        (0.0010, 0.0005, 0.0, 0.005, Outcome.PASS),
    ],
)
def test_a_distance_is_judged_by_tolerance_and_side(value, spread, declared, tolerance, outcome):
    assert judged(value, spread, declared, tolerance)[0] is outcome


def test_distances_are_told_along_the_words_they_were_declared_with():
    aft, right, up = quantities(found((-0.1782, 0.001, -0.024)), rig((-0.180, 0.0, -0.025), 0.005).sensor)
    assert (aft.name, aft.value, aft.declared) == ("sensor from CG, aft", pytest.approx(178.2), 180.0)
    assert (right.name, right.value, right.declared) == ("sensor from CG, right", pytest.approx(1.0), 0.0)
    assert (up.name, up.outcome) == ("sensor from CG, up", Outcome.PASS)
    assert aft.limit == "within 5 mm of the declared place, by 2 standard deviations"


def test_the_other_side_is_told_along_the_word_on_which_it_was_found():
    forward, *_ = quantities(found((0.178, 0.0, NAN)), rig((-0.180, 0.0, 0.0), 0.005).sensor)
    assert (forward.name, forward.value) == ("sensor from CG, forward", pytest.approx(178))
    assert forward.declared == pytest.approx(-180)
    assert "on the other side of the CG than declared, declared 180.0 mm aft" in forward.reason
    assert forward.outcome is Outcome.FAIL


def test_a_distance_declared_as_zero_has_no_other_side():
    estimate = found((-0.100, 0.0103, NAN))
    other, apart = findings(estimate, rig((0.100, 0.0, 0.0), 0.005).sensor)
    assert (other.code, apart.code) == ("lever-other-side", "lever-differs")
    assert "right" not in other.text
    assert apart.text == "The sensor sits 10.3 mm right, declared 0.0 mm right."


def test_a_tolerance_finer_than_the_measurement_is_told_with_what_helps():
    estimate = found((-0.178, 0.001, NAN), spread=(0.003, 0.0005, NAN))
    (advice,) = findings(estimate, rig((-0.180, 0.0, -0.025), 0.005).sensor)
    assert (advice.code, advice.severity) == ("lever-too-coarse", "advice")
    assert "aft (± 3.0 mm)" in advice.text
    assert "near the table's axis" in advice.fix


def test_a_place_that_is_wrong_is_not_called_too_coarse_beside():
    estimate = found((0.178, 0.001, NAN), spread=(0.003, 0.0025, NAN))
    assert [f.code for f in findings(estimate, rig((-0.180, 0.0, -0.025), 0.005).sensor)] == ["lever-other-side"]


def test_an_axis_that_is_not_told_is_not_shown_with_its_reason():
    *_, down = quantities(found((-0.178, 0.0, NAN)), rig((-0.180, 0.0, 0.025), 0.005).sensor)
    assert (down.value, down.uncertainty, down.outcome) == (None, None, Outcome.NOT_SHOWN)
    assert down.declared == 25.0
    assert down.reason == "a spin shows nothing along its axis"


def test_nothing_is_judged_where_no_place_is_declared():
    forward, right, down = quantities(found((-0.178, 0.02, NAN)), rig().sensor)
    assert [q.outcome for q in (forward, right, down)] == [Outcome.NOT_APPLICABLE] * 3
    assert [q.name for q in (forward, right)] == ["sensor from CG, aft", "sensor from CG, right"]
    assert forward.declared is None


def test_a_sensor_declared_at_the_cg_is_judged():
    forward, *_ = quantities(found((-0.178, 0.0, NAN)), rig((0, 0, 0), 0.005).sensor)
    assert forward.outcome is Outcome.FAIL


def test_distances_from_a_point_of_unknown_place_are_not_judged():
    forward, *_ = distances(found((0.06, -0.03, NAN)), "the turntable axis of x.toml:4")
    assert forward.name == "sensor from the turntable axis of x.toml:4, forward"
    assert forward.outcome is Outcome.NOT_APPLICABLE


def test_the_uncertainty_names_what_it_is_made_of_largest_first():
    place = measured(spun((0.12, 0.0, 0.0), errors=CONSUMER), rig(), turntable=table())
    forward, right, _ = quantities(place, rig().sensor)
    assert forward.reason.startswith("uncertain by the accelerometer's scale and cross-axis errors (1.")
    assert right.reason.startswith("uncertain by the unit's squareness to the airframe (2.1 mm)")


def test_a_place_out_of_tolerance_is_one_finding_for_all_its_axes():
    declared = rig((-0.180, 0.030, -0.025), 0.005).sensor
    (finding,) = findings(found((-0.150, 0.045, -0.025)), declared)
    assert (finding.code, finding.severity) == ("lever-differs", "fail")
    said = "The sensor sits 150.0 mm aft, declared 180.0 mm aft and 45.0 mm right, declared 30.0 mm right."
    assert finding.text == said


def test_the_other_side_of_the_cg_is_a_finding_that_names_both_ways_it_can_come_about():
    (finding,) = findings(found((0.180, 0.0, NAN)), rig((-0.180, 0.0, 0.0)).sensor)
    assert (finding.code, finding.severity) == ("lever-other-side", "fail")
    assert "180.0 mm forward, declared 180.0 mm aft" in finding.text
    assert "A unit that is turned in its place looks the same" in finding.text
    assert "benchrig check" in finding.fix


def test_a_refused_spin_is_advice_where_another_gave_the_place():
    slow = Remark("spin-too-slow", "x.toml:4", "the table turned at 10.0 rpm", "turn faster")
    assert [f.severity for f in findings(found((0.1, 0.0, NAN), remarks=(slow,)), rig().sensor)] == ["advice"]
    (alone,) = findings(found((NAN, NAN, NAN), remarks=(slow,)), rig().sensor)
    assert (alone.severity, alone.text) == ("not shown", "The table turned at 10.0 rpm (x.toml:4).")
    assert alone.fix == "Turn faster."


@pytest.mark.parametrize("code", ["spin-sense", "spin-miscounted", "lever-stands-disagree"])
def test_a_doubt_about_the_unit_stays_a_doubt_and_gives_no_line(code):
    estimate = found((0.1, 0.0, NAN), remarks=(Remark(code, "x.toml:4", "because", "do"),))
    judgement = findings(estimate, rig().sensor)
    assert [f.severity for f in judgement] == ["not shown"]
    assert entries(estimate, rig().sensor, judgement) == ()


def test_nothing_measured_is_a_finding():
    (finding,) = findings(found((NAN, NAN, NAN)), rig().sensor)
    assert (finding.code, finding.severity) == ("lever-not-measured", "not shown")


def test_the_line_holds_what_was_measured_and_leaves_the_rest_as_it_was():
    declared = rig((-0.180, 0.0, -0.025), 0.005).sensor
    (entry,) = entries(found((-0.17823, 0.00312, NAN), (0.0004, 0.0021, NAN)), declared, ())
    assert (entry.table, entry.key) == (("sensor",), "position_mm")
    assert entry.value == {"aft": 178.2, "right": 3, "up": 25}
    assert entry.comment == "measured: aft ± 0.40, right ± 2.1 mm; along down as it was"


def test_a_place_at_the_cg_is_still_a_line():
    (entry,) = entries(found((0.0, 0.0, 0.0)), rig().sensor, ())
    assert entry.value == {"forward": 0}


def test_an_uncertain_place_is_no_line():
    assert entries(found((-0.17, 0.0, NAN), (0.006, 0.001, NAN)), rig().sensor, ()) == ()


def test_a_place_on_the_other_side_is_no_line():
    declared = rig((-0.180, 0.0, 0.0)).sensor
    estimate = found((0.180, 0.0, NAN))
    assert entries(estimate, declared, findings(estimate, declared)) == ()


@pytest.mark.parametrize(
    ("value", "spread", "shown"), [(178.234, 0.04, 178.2), (178.234, 0.4, 178.2), (178.234, 2.4, 178), (0.04, 0.4, 0.0)]
)
def test_a_value_is_rounded_to_what_its_uncertainty_deserves(value, spread, shown):
    assert rounded(value, spread) == shown


def test_a_place_that_was_found_is_drawn_with_where_it_may_lie():
    from benchrig.measure.lever.pictures import figures  # noqa: PLC0415 - beside its only test

    declared = rig((0.06, -0.03, 0.02), 0.005)
    place = measured(spun((0.06, -0.03, 0.02), errors=CONSUMER), declared, turntable=table())
    plan, readings = figures(place, declared.sensor)
    curves = {c.label: c for c in plan.curves}
    assert list(curves) == [
        "centre of gravity",
        "point it turned about",
        "measured",
        "where it lies with 95 % probability",
        "declared",
    ]
    assert plan.scale == "equal"
    assert (curves["declared"].x[0], curves["declared"].y[0]) == (pytest.approx(-30), pytest.approx(60))
    edge = curves["where it lies with 95 % probability"].x
    assert edge.min() < curves["measured"].x[0] < edge.max()
    assert len(readings.curves) == 4
    assert figures(replace(place, value=np.full(3, NAN)), declared.sensor)[0].title.startswith("What the accelerometer")
