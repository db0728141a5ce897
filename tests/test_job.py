"""The whole verdict: the worst of its parts, never from nothing, and as sure as its weakest witness."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrig.cautions import CAUTIONS
from benchrig.geometry.turns import REQUIRED_TURNS
from benchrig.job import judge
from benchrig.outcome import Outcome, worst
from benchrig.verdict.limits import COHERENT_OPERATOR, WRONG
from benchrig.verdict.wirings import UPSIDE_DOWN

OUTCOMES = st.lists(st.sampled_from(list(Outcome)), max_size=6)


@pytest.fixture(scope="session")
def judged(simulated_recording, demo_airframe):
    """Judge a simulated recording of a demo airframe."""

    @functools.cache
    def make(airframe, *faults, **options):
        return judge(demo_airframe(airframe), simulated_recording(airframe, *faults, **options))

    return make


@pytest.mark.parametrize("outcomes", [[], [Outcome.NOT_APPLICABLE], [Outcome.NOT_APPLICABLE] * 3])
def test_no_evidence_at_all_is_never_a_pass(outcomes):
    assert worst(outcomes) is Outcome.NOT_SHOWN


@given(OUTCOMES, OUTCOMES)
def test_more_evidence_never_mends_a_fail_and_a_doubt_never_becomes_a_pass(some, more):
    joined = worst([*some, *more])
    if Outcome.FAIL in some:
        assert joined is Outcome.FAIL
    elif Outcome.NOT_SHOWN in some:
        assert joined in {Outcome.FAIL, Outcome.NOT_SHOWN}
    assert worst(iter([*more, *some])) is joined


@given(OUTCOMES)
def test_a_pass_needs_a_pass_and_nothing_worse(outcomes):
    passes = worst(outcomes) is Outcome.PASS
    assert passes == (Outcome.PASS in outcomes and not {Outcome.FAIL, Outcome.NOT_SHOWN} & set(outcomes))


@pytest.mark.parametrize(
    ("airframe", "faults", "sensing", "correction"),
    [
        ("dunlin", (), Outcome.PASS, Outcome.PASS),
        ("teal", ("servo-reversed=elevator",), Outcome.PASS, Outcome.FAIL),
        ("knot", ("gyro-sign=x",), Outcome.FAIL, Outcome.FAIL),
        ("knot", ("motion-missing=yaw left",), Outcome.NOT_SHOWN, Outcome.NOT_SHOWN),
    ],
)
def test_the_verdict_is_the_worse_of_its_parts(judged, airframe, faults, sensing, correction):
    record = judged(airframe, *faults)
    assert record.sensing is sensing
    assert record.correction is correction or record.correction is Outcome.NOT_SHOWN is not correction
    assert record.verdict is worst([record.sensing, record.correction])


@pytest.mark.parametrize("faults", [(), ("gyro-sign=x",), ("motion-missing=yaw left",), ("gyro-clip=40",)])
def test_the_verdict_passes_only_where_every_required_cell_and_check_does(judged, faults):
    record = judged("knot", *faults)
    weighed = [c.outcome for c in record.matrix if c.required] + [h.outcome for h in record.health]
    assert (record.verdict is Outcome.PASS) == (not {Outcome.FAIL, Outcome.NOT_SHOWN} & set(weighed))


@pytest.mark.parametrize("motions", [("level",), ("level", "free"), ("free",)])
def test_a_capture_without_any_asked_motion_never_passes(judged, motions):
    record = judged("knot", motions=motions)
    assert record.verdict is Outcome.NOT_SHOWN
    assert record.wrong_pass_bound is None
    assert not any(c.outcome is Outcome.PASS for c in record.matrix if c.motion != "level")


def test_a_stream_with_all_its_prompts_taken_out_never_passes(demo_airframe, simulated_recording):
    airframe, recording = demo_airframe("knot"), simulated_recording("knot")
    assert judge(airframe, recording).verdict is Outcome.PASS
    record = judge(airframe, replace(recording, prompts=()))
    assert (record.verdict, record.sensing) == (Outcome.NOT_SHOWN, Outcome.NOT_SHOWN)


def test_an_airframe_that_requires_no_motion_still_needs_some_evidence(demo_airframe, simulated_recording):
    lax = replace(demo_airframe("knot"), required_motions=())
    assert judge(lax, replace(simulated_recording("knot"), prompts=())).verdict is Outcome.NOT_SHOWN


@pytest.mark.parametrize("missing", REQUIRED_TURNS)
def test_each_required_motion_is_missed_when_it_is_not_made(judged, missing):
    record = judged("knot", f"motion-missing={missing}")
    assert record.verdict is Outcome.NOT_SHOWN
    assert {c.outcome for c in record.matrix if c.motion == missing and c.required} == {Outcome.NOT_SHOWN}
    assert record.next_motion == missing


def test_a_motion_that_is_not_required_may_be_missing(demo_airframe, simulated_recording):
    recording = simulated_recording("knot", "motion-missing=yaw left")
    required = tuple(name for name in REQUIRED_TURNS if name != "yaw left")
    assert judge(replace(demo_airframe("knot"), required_motions=required), recording).verdict is Outcome.PASS


def test_the_bound_of_a_pass_holds_what_no_recording_can_lower(judged):
    for airframe in ("dunlin", "teal", "knot"):
        record = judged(airframe)
        assert record.verdict is Outcome.PASS
        assert COHERENT_OPERATOR + UPSIDE_DOWN < record.wrong_pass_bound < 10 * WRONG
        cells = [c.wrong_pass_bound for c in record.matrix if c.required and c.check != "attitude"]
        assert record.wrong_pass_bound >= max(cells)


def test_only_a_pass_has_a_bound(judged):
    record = judged("knot", "gyro-sign=x")
    assert record.wrong_pass_bound is None
    assert all(c.wrong_pass_bound is None for c in record.matrix if c.outcome in {Outcome.FAIL, Outcome.NOT_SHOWN})


def test_with_no_actuator_declared_the_verdict_is_about_the_sensor_alone_and_says_so(
    demo_airframe, simulated_recording
):
    record = judge(replace(demo_airframe("knot"), actuators=()), simulated_recording("knot"))
    assert record.scope == "sensor"
    assert (record.verdict, record.correction) == (Outcome.PASS, Outcome.NOT_APPLICABLE)
    assert judge(demo_airframe("knot"), simulated_recording("knot")).scope == "sensor and actuators"


def test_every_record_carries_the_cautions_the_limits_and_what_made_it(judged):
    record = judged("knot")
    assert record.cautions == CAUTIONS
    assert {"rest", "turn", "wrong-cell probability", "operator"} <= set(record.limits)
    assert "1e-06" in record.limits["wrong-cell probability"]
    assert {"benchrig", "ahrs", "reference_filter"} <= set(record.software)


def test_the_matrix_begins_with_the_level_rest_and_has_each_motion_together(judged):
    motions = [c.motion for c in judged("dunlin").matrix]
    assert list(dict.fromkeys(motions)) == ["level", *REQUIRED_TURNS]
    assert motions == sorted(motions, key=["level", *REQUIRED_TURNS].index)


def test_the_traces_are_of_the_stream_and_its_spans_lie_in_it(judged):
    traces = judged("dunlin").traces
    count = len(traces.time)
    assert traces.angular_rate.shape == traces.specific_force.shape == traces.attitude.shape == (count, 3)
    assert [m.label for m in traces.motions] == list(REQUIRED_TURNS)
    for span in (*traces.rests, *traces.motions):
        assert traces.time[0] <= span.start < span.end <= traces.time[-1]
    assert np.isfinite(traces.attitude).all()


def test_the_same_recording_gives_the_same_verdict_twice(demo_airframe, simulated_recording):
    first, second = (judge(demo_airframe("knot"), simulated_recording("knot")) for _ in range(2))
    assert first.matrix == second.matrix
    assert first.findings == second.findings
    assert first.wrong_pass_bound == second.wrong_pass_bound
