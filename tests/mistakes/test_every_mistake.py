"""One build mistake a bench: never a pass, and a finding that names the mistake.

Every fault the simulation knows stands in exactly one of the tables below. Each is tried on a dozen benches, spread
over the three demo airframes and over every axis, motion and actuator. The benches go through files, as a logger's
would.
"""

from __future__ import annotations

import pytest

from benchrig.errors import CaptureError
from benchrig.outcome import Outcome
from benchrig.simulation.faults import FAULTS

BENCHES = 12

NAMED = {
    # how the sensor sits and is wired
    "mounting": {"mounting-differs"},
    "gyro-sign": {"gyro-axis-sign"},
    "gyro-swap": {"gyro-axes-swapped"},
    "accelerometer-sign": {"accelerometer-axis-sign"},
    "accelerometer-swap": {"accelerometer-axes-swapped"},
    "accelerometer-gravity": {"accelerometer-reads-the-other"},
    "both-sign": {"left-handed-sensor"},
    "both-swap": {"left-handed-sensor"},
    "magnetometer-sign": {"compass-axes-differ"},
    "magnetometer-mounting": {"compass-axes-differ"},
    # size, units and channels
    "gyro-scale": {"gyro-size"},
    "gyro-radians": {"gyro-size"},
    "gyro-degrees": {"gyro-size"},
    "gyro-bias": {"gyro-bias-large"},
    "accelerometer-scale": {"accelerometer-size"},
    "accelerometer-m-s2": {"accelerometer-size"},
    "accelerometer-bias": {"accelerometer-size"},
    "gyro-dead": {"channel-frozen"},
    "gyro-frozen": {"channel-frozen"},
    "accelerometer-dead": {"channel-frozen"},
    "accelerometer-frozen": {"channel-frozen"},
    "frozen-stream": {"stream-frozen"},
    "gyro-clip": {"clipping"},
    "accelerometer-clip": {"clipping"},
    # ten times a consumer sensor's noise reads as an airframe that never lies still
    "noise": {"gyro-noise", "never-still"},
    "vibration": {"never-still", "no-level-rest"},
    # time
    "gaps": {"gaps"},
    "accelerometer-late": {"sensor-delay"},
    # a clock at 0.8 of the true speed makes every angle 0.8 of gravity's
    "clock": {"gyro-size"},
    # the operator
    "operator-wrong": {"operator-other-motion"},
    "operator-wrong-pair": {"operator-other-motion"},
    "operator-other": {"operator-other-motion"},
    # every tilt reversed is what a unit turned by 180° would show: both are said
    "operator-reversed": {"mounting-differs"},
    "motion-missing": {"motion-missing"},
    "no-rest": {"motion-missing", "never-still", "no-level-rest"},
    "short-tilts": {"motion-missing"},
    "too-slow": {"motion-missing"},
    "shaky": {"motion-missing", "never-still"},
    # what answers
    "servo-reversed": {"actuator-reversed"},
    "servo-still": {"actuator-still"},
    "servo-weak": {"actuator-still", "actuator-travel"},
    "servos-swapped": {"actuators-swapped", "actuator-wrong-axis"},
    "servos-late": {"actuator-late"},
    # half of a narrow pulse is what no servo takes
    "narrow-pulses": {"pulse-kind-differs", "pulse-length-wrong"},
    "servo-stops": {"actuator-travel"},
    # an axis that one actuator alone serves is reversed by that actuator
    "axis-reversed": {"axis-reversed", "actuator-reversed"},
    "hold-reversed": {"axis-reversed", "actuator-part-reversed"},
    "plate-turned": {"plate-layout-differs"},
    "linkage-reversed": {"actuator-reversed"},
    "unit-attitude-sign": {"unit-attitude-differs"},
}
"""Fault → finding codes, one of which must be there."""

DOUBTS = {
    "gyro-bias", "gyro-clip", "accelerometer-clip", "noise", "gaps", "accelerometer-late",
    "operator-wrong", "operator-wrong-pair", "operator-other", "motion-missing", "no-rest", "short-tilts", "too-slow",
    "shaky", "vibration",
}  # fmt: skip
"""These leave evidence out, which need not be a fail, and must not be called a wrong wiring. All others must fail."""

BEARABLE = {
    "lever": "hand motions do not show the sensor's place: the hand itself moves",
    "unlevel-start": "8° is the stance of a tail-dragger",
    "hand-rests": "the holds in the hand serve, as long as the airframe lies still at the start",
    "prompts-late": "half a second of sloppiness is what people do",
    "plate-binds": "a quarter less from one servo still corrects; `benchrig measure actuators` judges the plate",
    "stuck-bits": "the two lowest bits are below what a hand motion is judged by",
    "accelerometer-cross": "a tenth of another axis turns no direction round",
    "iron": "its field turns with the airframe, and only changes of the compass count",
    "iron-soft": "a seventh more along one line turns no axis into another",
}
"""Fault → why a bench with its usual size may rightly pass."""

UNDECIDED = {
    "misaligned": "15° lie within a hand's own spread about the asked axis",
    "operator-nose": "25° of a wrong nose are the same to the sensors as 25° of misalignment",
}
"""Fault → why a bench may pass or be doubted; but it must not be called a wrong wiring."""

REFUSED = {"time-backwards": r"bench\.csv:\d+ column t_us: time goes back by 0\.0\d+ s"}
"""Fault → the words of the error with which the capture is not even read."""

MEASURED = {fault for fault, kind in FAULTS.items() if kind.needs}
"""Mistakes at a bench measurement, whose motions `check` does not ask for."""

WIRING = {
    "mounting-differs", "left-handed-sensor", "accelerometer-reads-the-other",
    "gyro-axis-sign", "gyro-axes-swapped", "gyro-axes-differ",
    "accelerometer-axis-sign", "accelerometer-axes-swapped", "accelerometer-axes-differ",
}  # fmt: skip


def options_for(fault: str) -> dict[str, bool]:
    # what a linkage turns round shows in no pulse: somebody must have looked
    return {"seen": True} if fault == "linkage-reversed" else {}


def codes(record) -> set[str]:
    return {finding.code for finding in record.findings}


def test_every_fault_of_the_simulation_stands_in_exactly_one_table():
    tables = [*NAMED, *BEARABLE, *UNDECIDED, *REFUSED, *MEASURED]
    assert sorted(tables) == sorted(FAULTS)


@pytest.mark.parametrize("fault", NAMED)
def test_a_mistake_never_passes_and_is_named(fault, mistakes_of, judged):
    for mistake in mistakes_of(fault, BENCHES):
        record = judged(mistake.airframe, mistake.fault, seed=mistake.seed, **options_for(fault))
        assert record.wrong_pass_bound is None, str(mistake)
        assert codes(record) & NAMED[fault], f"{mistake} gives {codes(record)}"
        assert all(finding.text and finding.fix for finding in record.findings), str(mistake)
        if fault in DOUBTS:
            assert record.verdict is not Outcome.PASS, str(mistake)
            assert not codes(record) & WIRING, f"{mistake} gives {codes(record)}"
        else:
            assert record.verdict is Outcome.FAIL, str(mistake)


@pytest.mark.parametrize("fault", BEARABLE)
def test_what_may_be_borne_passes(fault, mistakes_of, judged):
    for mistake in mistakes_of(fault, BENCHES // 2):
        record = judged(mistake.airframe, mistake.fault, seed=mistake.seed)
        assert record.verdict is Outcome.PASS, f"{mistake} gives {codes(record)}"


@pytest.mark.parametrize("fault", UNDECIDED)
def test_a_small_turn_of_sensor_or_nose_is_never_called_a_wrong_wiring(fault, mistakes_of, judged):
    for mistake in mistakes_of(fault, BENCHES):
        record = judged(mistake.airframe, mistake.fault, seed=mistake.seed)
        assert not codes(record) & WIRING, f"{mistake} gives {codes(record)}"
        assert record.sensing is not Outcome.FAIL, str(mistake)


@pytest.mark.parametrize("fault", REFUSED)
def test_a_stream_that_cannot_be_trusted_is_refused_with_its_place(fault, mistakes_of, judged):
    for mistake in mistakes_of(fault, 3):
        with pytest.raises(CaptureError, match=REFUSED[fault]):
            judged(mistake.airframe, mistake.fault, seed=mistake.seed)


@pytest.mark.parametrize("fault", NAMED)
def test_the_dozen_meets_every_airframe_and_every_value(fault, mistakes_of, demo_airframe):
    mistakes = mistakes_of(fault, BENCHES)
    assert len({m.seed for m in mistakes}) == BENCHES
    kind = FAULTS[fault].value
    if kind in {"axes", "two axes", "body axis", "actuator"}:
        for name in {m.airframe for m in mistakes}:
            met = {m.fault for m in mistakes if m.airframe == name}
            assert len(met) >= (len(demo_airframe(name).actuators) if kind == "actuator" else 3), name
    elif kind == "motion":
        assert len({m.fault for m in mistakes}) == 6
    elif kind == "words":
        assert len({m.fault for m in mistakes}) >= 4


def test_a_nose_taken_for_the_tail_is_offered_beside_the_turned_unit(mistakes_of, judged):
    for mistake in mistakes_of("operator-reversed", 3):
        record = judged(mistake.airframe, mistake.fault, seed=mistake.seed)
        fix = next(finding.fix for finding in record.findings if finding.code == "mounting-differs")
        assert "mark the nose" in fix, str(mistake)
