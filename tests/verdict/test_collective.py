"""The stick that lifts tells a turned plate layout from reversed servos, which answer every tilt alike."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.job import judge
from benchrig.outcome import Outcome

LIFT = 200.0
DUNLIN_UP = {"front": LIFT, "right rear": -LIFT, "left rear": LIFT}
"""As captures/dunlin.toml declares: the right rear servo lifts with a shorter pulse."""

PLATE_REVERSED = tuple(f"servo-reversed={name}" for name in DUNLIN_UP)


def down(changes):
    return {name: -change for name, change in changes.items()}


@pytest.fixture(scope="module")
def judged_with_stick(simulated_recording, demo_airframe, with_stick):
    def run(airframe, changes, *faults, looks=1, **options):
        recording = with_stick(simulated_recording(airframe, *faults, **options), changes, looks)
        return judge(demo_airframe(airframe), recording)

    return run


def codes(record):
    return [f.code for f in record.findings if f.severity != "advice"]


def test_a_half_turned_layout_and_reversed_servos_look_alike_without_the_stick(judged):
    turned, reversed_ = judged("dunlin", "plate-turned=180"), judged("dunlin", *PLATE_REVERSED)
    assert codes(turned) == codes(reversed_)
    assert "record it as the motion `collective up`" in turned.findings[0].fix


def test_a_plate_that_rises_with_the_stick_has_a_turned_layout(judged_with_stick):
    record = judged_with_stick("dunlin", DUNLIN_UP, "plate-turned=180")
    (finding,) = [f for f in record.findings if f.code == "plate-layout-differs"]
    assert "by about 180°" in finding.text
    assert "the plate rises at collective up" in finding.fix
    assert "would look the same" not in finding.fix
    assert {a.finding for a in record.actuators if a.name in DUNLIN_UP} == {"wrong axis"}
    assert codes(record) == ["plate-layout-differs"]


def test_a_plate_that_goes_down_with_the_stick_has_reversed_servos(judged_with_stick):
    record = judged_with_stick("dunlin", down(DUNLIN_UP), *PLATE_REVERSED)
    assert codes(record) == ["plate-reversed"]
    assert {a.finding for a in record.actuators if a.name in DUNLIN_UP} == {"reversed"}
    assert record.verdict is Outcome.FAIL


def test_reversed_servos_and_a_turned_layout_together_are_both_named(judged_with_stick):
    record = judged_with_stick("dunlin", down(DUNLIN_UP), "plate-turned=-90", *PLATE_REVERSED)
    texts = {f.code: f.text for f in record.findings}
    assert "turned counter-clockwise by about 90°" in texts["plate-layout-differs"]
    assert "plate-reversed" in texts


@pytest.mark.parametrize("airframe", ["dunlin", "knot"])
def test_a_right_rig_passes_with_the_stick_as_without_it(judged, judged_with_stick, demo_airframe, airframe):
    names = [a.name for a in demo_airframe(airframe).actuators]
    changes = DUNLIN_UP if airframe == "dunlin" else dict.fromkeys(names, LIFT)
    bare, record = judged(airframe), judged_with_stick(airframe, changes)
    assert record.verdict is Outcome.PASS
    told = {a.name for a in record.actuators if "at collective up it goes the way that lifts, by one look" in a.reason}
    assert told == set(changes)
    for one, other in zip(bare.actuators, record.actuators, strict=True):
        # the stick's own pulses are no answer to the airframe
        assert list(other.response.values()) == pytest.approx(list(one.response.values()), abs=0.05)


@pytest.mark.parametrize("airframe", ["dunlin", "knot"])
def test_a_stick_that_takes_lift_away_never_passes_and_two_looks_fail(judged_with_stick, demo_airframe, airframe):
    names = [a.name for a in demo_airframe(airframe).actuators]
    changes = down(DUNLIN_UP if airframe == "dunlin" else dict.fromkeys(names, LIFT))
    once, twice = (judged_with_stick(airframe, changes, looks=looks) for looks in (1, 2))
    assert (once.verdict, twice.verdict) == (Outcome.NOT_SHOWN, Outcome.FAIL)
    assert (codes(once), codes(twice)) == (["collective-reversed"], ["collective-reversed"])
    assert {a.trouble for a in twice.actuators if a.name in changes} == {"collective"}
    assert "Do it again, the stick the way that lifts" in once.findings[0].fix


def test_one_servo_that_goes_down_alone_is_named_alone(judged_with_stick):
    record = judged_with_stick("dunlin", DUNLIN_UP | {"front": -LIFT})
    (finding,) = [f for f in record.findings if f.code == "collective-reversed"]
    assert finding.text.startswith("front: ")
    assert "reverse the direction of front for collective in the unit's mixing" in finding.fix
    assert "Leave the collective channel as it is: it moves right rear, left rear the right way." in finding.fix


def test_one_reversed_servo_is_named_so_with_the_stick_too(judged_with_stick):
    record = judged_with_stick("dunlin", DUNLIN_UP | {"front": -LIFT}, "servo-reversed=front")
    assert {a.name: a.finding for a in record.actuators if a.outcome is Outcome.FAIL} == {"front": "reversed"}


def test_looks_that_contradict_each_other_are_a_doubt(simulated_recording, demo_airframe, with_stick):
    recording = with_stick(simulated_recording("dunlin"), DUNLIN_UP)
    again = with_stick(recording, down(DUNLIN_UP))
    assert np.isfinite(again.time).all()
    record = judge(demo_airframe("dunlin"), again)
    assert record.verdict is Outcome.NOT_SHOWN
    assert codes(record) == ["collective-not-shown"]
    assert record.findings[0].text.startswith(
        "front, right rear, left rear: at collective up it went one way in one look"
    )


def test_a_routine_without_times_shows_no_stick(simulated_recording, demo_airframe, with_stick):

    recording = with_stick(simulated_recording("dunlin", routine=True), down(DUNLIN_UP))
    untimed = tuple(replace(p, start=None, end=None) for p in recording.prompts)
    record = judge(demo_airframe("dunlin"), replace(recording, prompts=untimed))
    assert "collective-reversed" not in codes(record)
