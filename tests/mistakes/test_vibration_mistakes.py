"""What people do wrong when they record noise and vibration: a clear word each, and no number."""

from __future__ import annotations

import pytest

from benchrig.measure.noise.measure import measure_noise
from benchrig.measure.rotor.measure import measure_rotor
from benchrig.outcome import Outcome


@pytest.fixture(scope="module")
def dunlin(demo_airframe):
    return demo_airframe("dunlin")


def texts(measurement):
    return {finding.code: f"{finding.text} {finding.fix}" for finding in measurement.findings}


def test_a_capture_of_hand_moves_is_no_run(simulated_recording, dunlin):
    measurement = measure_rotor(dunlin, simulated_recording("dunlin"))
    assert measurement.outcome is Outcome.NOT_SHOWN
    assert "a hand turns the airframe in" in texts(measurement)["vibration-not-told"]
    assert [quantity.value for quantity in measurement.quantities] == [None]


def test_a_run_in_the_hand_is_told_to_be_bound(simulated_recording, dunlin):
    recorded = simulated_recording("dunlin", motions=("level",) * 6 + ("nose up",) + ("level",) * 6)
    said = texts(measure_rotor(dunlin, recorded))
    assert "A hand turned the airframe in" in said["vibration-handled"]
    assert "Bind the airframe" in said["vibration-handled"]


def test_a_range_too_small_for_the_shaking_is_named(simulated_recording, dunlin):
    recorded = simulated_recording(
        "dunlin", "vibration=31,3", "accelerometer-clip=2", motions=("level",) * 5, rate_hz=200.0
    )
    measurement = measure_rotor(dunlin, recorded)
    assert measurement.outcome is Outcome.NOT_SHOWN
    assert "stand at the end of a range" in texts(measurement)["vibration-not-told"]


def test_a_recording_too_slow_for_vibration_is_named(simulated_recording, dunlin):
    recorded = simulated_recording("dunlin", motions=("level",) * 5, rate_hz=20.0)
    said = texts(measure_rotor(dunlin, recorded))
    assert "vibration-not-told" not in said or "samples a second" in said["vibration-not-told"]


def test_a_motor_left_running_spoils_no_noise_in_silence(simulated_recording, dunlin):
    gently = simulated_recording("dunlin", "vibration=23,0.008", motions=("level",) * 8)
    noise = measure_noise(gently, dunlin.sensor)
    assert [finding.code for finding in noise.findings] == ["vibration-at-rest"]
    assert "23.0 Hz" in noise.findings[0].text
    hard = measure_noise(simulated_recording("dunlin", "vibration=23,0.05", motions=("level",) * 8), dunlin.sensor)
    assert {quantity.value for quantity in hard.quantities} == {None}


def test_noise_taken_from_a_capture_of_moves_comes_from_its_rests_alone(simulated_recording, dunlin):
    moved = measure_noise(simulated_recording("dunlin"), dunlin.sensor)
    still = measure_noise(simulated_recording("dunlin", motions=("level",) * 10), dunlin.sensor)
    for one, other in zip(moved.quantities, still.quantities, strict=True):
        if "density" in one.name and one.value is not None:
            spread = (one.uncertainty**2 + other.uncertainty**2) ** 0.5
            assert one.value == pytest.approx(other.value, abs=4 * spread)
