"""Pulses by a second clock give the verdict that one clock gives; a wrong offset is told, and never passes."""

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.job import judge
from benchrig.verdict.correction import TWO_CLOCKS


@pytest.fixture(scope="module")
def of_one_clock(captures, demo_airframe):
    airframe = demo_airframe("dunlin")
    return judge(airframe, read_capture(captures / "dunlin-ok.toml", airframe))


def judged(demo_airframe, manifest):
    airframe = demo_airframe(manifest.stem.partition("-")[0])
    return judge(airframe, read_capture(manifest, airframe))


def test_two_clocks_give_the_verdict_of_one_and_a_latency_that_owns_its_doubt(
    in_two_streams, of_one_clock, demo_airframe
):
    record = judged(demo_airframe, in_two_streams("dunlin-ok", 0.85))
    assert record.verdict == of_one_clock.verdict == "pass"
    outcomes = [(c.motion, c.check, c.outcome) for c in record.matrix]
    assert outcomes == [(c.motion, c.check, c.outcome) for c in of_one_clock.matrix]
    for one, other in zip(of_one_clock.actuators, record.actuators, strict=True):
        assert other.latency_ms == pytest.approx(one.latency_ms, abs=1.0)
        assert other.latency_uncertainty_ms == pytest.approx(np.hypot(one.latency_uncertainty_ms, 4.0), rel=0.05)


def test_an_offset_off_by_two_standard_deviations_moves_the_latency_and_not_the_verdict(
    in_two_streams, of_one_clock, demo_airframe
):
    record = judged(demo_airframe, in_two_streams("dunlin-ok", 0.0, told=-0.016, uncertainty=0.008))
    assert record.verdict == "pass"
    for one, other in zip(of_one_clock.actuators, record.actuators, strict=True):
        assert other.latency_ms == pytest.approx(one.latency_ms - 16.0, abs=1.5)


def test_clocks_that_are_hardly_joined_say_nothing_of_a_latency(in_two_streams, demo_airframe):
    record = judged(demo_airframe, in_two_streams("dunlin-ok", 0.3, uncertainty=0.1))
    assert record.verdict == "pass"
    assert [a.latency_ms for a in record.actuators] == [None] * 4


def test_an_offset_with_its_sign_turned_is_told_and_never_passes(in_two_streams, demo_airframe):
    # the second stream begins 0.3 s after the first, and is said to begin 0.3 s before it: its pulses come early
    early = judged(demo_airframe, in_two_streams("dunlin-ok", 0.3, told=-0.3))
    assert early.verdict == "not shown"
    assert {f.code for f in early.findings} == {"pulses-clock-off"}
    assert all(c.reason == TWO_CLOCKS for c in early.matrix if c.check.startswith("actuator"))
    (finding,) = early.findings
    assert finding.fix == "Correct offset_s of [pulses] in the manifest, its sign first; or record both sources again."


def test_an_offset_that_is_too_large_makes_the_answers_late_and_says_by_which_clock(in_two_streams, demo_airframe):
    late = judged(demo_airframe, in_two_streams("dunlin-ok", 0.1, told=0.25))
    assert late.verdict == "fail"
    assert {f.code for f in late.findings} == {"actuator-late"}
    assert all("by the second stream's offset_s" in f.text for f in late.findings)


def test_a_reversed_servo_is_found_by_a_second_clock_too(in_two_streams, demo_airframe):
    record = judged(demo_airframe, in_two_streams("teal-elevator-reversed", 0.4))
    assert record.verdict == "fail"
    assert {f.code for f in record.findings} == {"actuator-reversed", "perhaps-not-square"}
