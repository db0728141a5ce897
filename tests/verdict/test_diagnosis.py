"""Whether what was found wrong is never excused, is said once, and whether every doubt is explained."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe import Airframe
from benchrig.declaration.airframe_file import read_airframe
from benchrig.job import judge
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.verdict.record import Outcome

PLUGS = "Exchange the plugs of"


@pytest.fixture(scope="module")
def bare(demo_airframe) -> Airframe:
    """Give the demo helicopter with its sensor alone, of which only a level rest is required."""
    return replace(demo_airframe("dunlin"), actuators=(), required_motions=("level",))


@pytest.mark.parametrize("fault", ["gyro-sign=z", "unit-attitude-sign=pitch", "accelerometer-sign=x"])
def test_no_choice_of_required_motions_excuses_what_was_found_wrong(simulated_recording, bare, fault):
    record = judge(bare, simulated_recording("dunlin", fault, seed=0))
    assert record.verdict is Outcome.FAIL
    assert record.wrong_pass_bound is None


def test_an_actuator_that_is_wrong_in_a_motion_not_required_fails(simulated_recording, demo_airframe):
    airframe = replace(demo_airframe("dunlin"), required_motions=("nose up", "roll left"))
    record = judge(airframe, simulated_recording("dunlin", "servo-reversed=tail", seed=0))
    assert record.correction is Outcome.FAIL
    assert [a.finding for a in record.actuators if a.name == "tail"] == ["reversed"]


def test_an_exchange_of_plugs_is_asked_for_once_since_twice_would_undo_it(simulated_recording, demo_airframe):
    record = judge(demo_airframe("dunlin"), simulated_recording("dunlin", "servos-swapped=front,tail", seed=0))
    asked = [f.fix for f in record.findings if f.code == "actuators-swapped"]
    assert asked == [f"{PLUGS} front and tail."]


WING = """
[airframe]
name = "Tern"
kind = "aeroplane"
[sensor]
axes = { x = "forward", y = "right" }
[[actuator]]
name = "left"
drives = "left elevon"
longer_pulse = "trailing edge up"
[[actuator]]
name = "right"
drives = "right elevon"
longer_pulse = "trailing edge down"
"""


@pytest.mark.parametrize("fault", ["servos-swapped=left,right", "axis-reversed=pitch"])
def test_two_causes_that_look_alike_are_offered_as_a_choice(tmp_path, fault):
    file = tmp_path / "tern.toml"
    file.write_text(WING)
    wing = read_airframe(file)
    written = write_capture(simulate(wing, seed=0, faults=parse_faults([fault], wing)), tmp_path / "bench")
    findings = judge(wing, read_capture(written.manifest, wing)).findings
    assert [f.code for f in findings] == ["axis-reversed", "actuators-swapped"]
    assert "Do one of the two, not both" in findings[0].fix


def test_a_doubt_about_a_sensor_is_never_left_without_a_word(simulated_recording, demo_airframe):
    recording = simulated_recording("dunlin", seed=0)
    frozen = np.zeros_like(recording.unit_attitude)
    record = judge(demo_airframe("dunlin"), replace(recording, unit_attitude=frozen))
    assert record.sensing is Outcome.NOT_SHOWN
    assert [f.code for f in record.findings] == ["sensing-not-shown"]
    assert record.findings[0].text.startswith("unit attitude, nose up, nose down, roll right, roll left, yaw right")
